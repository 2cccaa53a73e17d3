"""A cabin's record on paper: what was built by whom, how high it stands and how far it will settle."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inventory.core.crew_units import CrewUnits
from inventory.core.printed.press import Paper, print_sheet

_TEMPLATE = Path(__file__).with_name("record.typ")
CAUTION = (
    "Structure, settling and energy are decided by local code and licensed practice. Openings, posts, stairs "
    "and chimneys need room for the wall to come down for years: keep this record with the building."
)
METAL = "Metal was charted in logs of this cabin: {}. Whoever cuts or drills there is told before."

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class CabinRecord:
    """What the record tells; rows as the cabin's queries give them.

    `logs`: wall, round, piece, number, butt_at, set_at, set_by_name, checked_by_name, gap_mm, notch_start_mm,
    notch_end_mm, hazards, remarks. `heights`: wall, round, end, height_mm, times_read, measured_at,
    measured_by_name.
    `settling`: a settling sheet, or None with `why_no_settling`.
    """

    cabin: str
    crew: str
    remarks: str
    progress: Row
    floor_plan: str
    wholes: tuple[str, ...]
    elevations: tuple[str, ...]
    logs: Sequence[Row]
    heights: Sequence[Row]
    settling: Row | None
    why_no_settling: str


def print_record(record: CabinRecord, *, units: CrewUnits, as_of: str, paper: Paper) -> bytes:
    """The record as PDF."""
    return print_sheet(_TEMPLATE, record_data(record, units=units, as_of=as_of), paper=paper)


def record_data(record: CabinRecord, *, units: CrewUnits, as_of: str) -> dict[str, Any]:
    """What the template sets: texts and drawings only."""
    metal = sorted({row["number"] for row in record.logs if _has_metal(row)})
    data = {
        "title": f"{record.cabin}: record",
        "subtitle": f"built by {record.crew}; as built, who set what, heights and settling",
        "as_of": as_of,
        "facts": _facts(record, units),
        "cautions": [CAUTION, *([METAL.format(", ".join(metal))] if metal else [])],
        "floor_plan": record.floor_plan,
        "wholes": list(record.wholes),
        "elevations": list(record.elevations),
        "logs": [_log(row, units) for row in record.logs],
        "heights": [_height(row, units) for row in record.heights],
        "settling": _settling(record, units),
    }
    return dict(units.told(data))


def _has_metal(row: Row) -> bool:
    return any(hazard["kind"] == "metal" for hazard in row["hazards"])


def _facts(record: CabinRecord, units: CrewUnits) -> list[dict[str, str]]:
    progress = record.progress
    told = {
        "rounds complete": f"{progress['rounds_complete']} of {progress['rounds']}",
        "logs set": f"{progress['logs_set']} of {progress['places']}",
        "height reached": units.along(progress["height_mm"]),
        "wall height wanted": units.along(progress["wall_height_mm"]),
        "last log set on": "" if progress["last_set_at"] is None else f"{progress['last_set_at']:%Y-%m-%d}",
        "remarks": record.remarks,
    }
    return [{"name": name, "told": words} for name, words in told.items() if words]


def _log(row: Row, units: CrewUnits) -> dict[str, str]:
    notches = [row["notch_start_mm"], row["notch_end_mm"]]
    dangers = [f"{one['kind']} {units.along(one['from_butt_mm'])} from the butt" for one in row["hazards"]]
    return {
        "wall": row["wall"],
        "round": str(row["round"]),
        "piece": str(row["piece"]),
        "number": row["number"],
        "butt_at": row["butt_at"],
        "set_on": f"{row['set_at']:%Y-%m-%d}",
        "set_by": row["set_by_name"],
        "checked_by": row["checked_by_name"] or "",
        "gap": "" if row["gap_mm"] is None else units.across(row["gap_mm"]),
        "notches": ", ".join("-" if mm is None else units.across(mm) for mm in notches)
        if any(mm is not None for mm in notches)
        else "",
        "remarks": "; ".join([*dangers, *([row["remarks"]] if row["remarks"] else [])]),
    }


def _of_readings(row: Row) -> str:
    return f" (mean of {row['times_read']})" if row["times_read"] > 1 else ""


def _height(row: Row, units: CrewUnits) -> dict[str, str]:
    return {
        "wall": row["wall"],
        "round": str(row["round"]),
        "end": row["end"],
        "height": units.along(row["height_mm"]) + _of_readings(row),
        "on": f"{row['measured_at']:%Y-%m-%d}",
        "by": row["measured_by_name"],
    }


def _settling(record: CabinRecord, units: CrewUnits) -> dict[str, Any]:
    sheet = record.settling
    if sheet is None:
        return {"told": f"Not reckoned: {record.why_no_settling}", "rows": [], "cautions": []}
    members = [("opening", "wall", "beside_mm", one) for one in sheet["openings"]]
    members += [("post", "post", "height_mm", one) for one in sheet["posts"]]
    rows = [
        {
            "what": one[name],
            "wall": one[wall] if name == "opening" else "",
            "height": units.along(one[height]),
            "leave": units.across(one["allowance"]["leave_mm"]),
            "expected": f"{units.across(one['prediction']['low_mm'])} to "
            f"{units.across(one['prediction']['high_mm'])}",
        }
        for name, wall, height, one in members
    ]
    words = [
        caution for _, _, _, one in members for caution in (*one["cautions"], *one["prediction"]["cautions"])
    ]
    species = ", ".join(one["name"] for one in sheet["species"])
    return {
        "told": f"{species}, {_moisture(sheet)}. What to leave follows the rule "
        f"{sheet['rule']['id']} ({sheet['rule']['source']}); what is expected is a prediction with "
        "its range.",
        "rows": rows,
        "cautions": list(dict.fromkeys(words)),
    }


def _moisture(sheet: Row) -> str:
    now = sheet["moisture_now_pct"]
    before = "green" if now is None else f"{now:g} % moisture"
    return f"from {before} to {sheet['moisture_expected_pct']:g} %"
