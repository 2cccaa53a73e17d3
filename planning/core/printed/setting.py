"""The setting sheet on paper: a round's logs in the order of lifting, in the crew's units."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from inventory.core.crew_units import CrewUnits, counted
from inventory.core.printed.press import Paper, print_sheet
from planning.core.lying_words import hanging_words, lying_lines

_TEMPLATE = Path(__file__).with_name("setting.typ")
Row = Mapping[str, Any]


def print_setting_sheet(
    sheet: Row, *, ends: Mapping[str, tuple[str, str]], units: CrewUnits, as_of: str, paper: Paper
) -> bytes:
    """A setting sheet (as `planning.sheets.queries.setting_sheet` gives it) as PDF.

    `ends`: the corners at a wall's start and end, by wall.
    """
    return print_sheet(_TEMPLATE, setting_data(sheet, ends=ends, units=units, as_of=as_of), paper=paper)


def setting_data(
    sheet: Row, *, ends: Mapping[str, tuple[str, str]], units: CrewUnits, as_of: str
) -> dict[str, Any]:
    """What the template sets: texts only, every figure in the crew's units."""
    left = len(sheet["rows"])
    data = {
        "title": f"{sheet['cabin_name']}: setting sheet, round {sheet['round']}",
        "subtitle": f"{counted(left, 'log')} to set in this order, {sheet['already_set']} set already; "
        "heights above the deck",
        "as_of": as_of,
        "rows": [_row(row, ends[row["wall"]], units) for row in sheet["rows"]],
        "lost": [one["detail"] for one in sheet["lost"]],
        "cautions": list(sheet["cautions"]),
    }
    return dict(units.told(data))


def _row(row: Row, ends: tuple[str, str], units: CrewUnits) -> dict[str, Any]:
    lift = row["lift"]
    towards = ends[0] if row["butt_at"] == "start" else ends[1]
    along = units.along
    return {
        "order": str(row["order"]),
        "log": row["log_number"],
        "lies": ", ".join(part for part in (row["yard_name"], row["rack_name"]) if part),
        "place": f"wall {row['wall']}" + (f", {row['position']}" if row["position"] else ""),
        "openings": [*(cut["words"] for cut in row["opening_cuts"]), *row["at_jambs"]],
        "way": f"Butt towards {towards} ({row['butt_at']} of wall {row['wall']})",
        "cuts": f"{along(row['cut_near_butt_mm'])} and {along(row['cut_near_tip_mm'])}",
        "length": along(row["length_mm"]),
        "crown": units.crown(row["crown_mm"], row["crown_side"]),
        "gap": "none: flat side down" if row["round"] == 0 else _gap(row["gap_mm"], units),
        "gap_more": "" if row["round"] == 0 else "each corner has its own",
        "rip": _rip(row["rip"], units),
        "lift": _weight(lift["weight_high_kg"], units),
        "hanging": hanging_words(lift),
        "weight": _weight(lift["weight_kg"], units),
        "range": _range(lift, units),
        "balance": along(lift["balance_from_butt_mm"]),
        "balance_range": f"{along(lift['balance_low_mm'])} to {along(lift['balance_high_mm'])}",
        "corners": [_corner(one, units) for one in row["corners"]],
        "advice": list(row["advice"]),
        "lying": lying_lines(row, units),
        "hazards": hazard_words(row["hazards"], units),
        "cautions": list(row["cautions"]),
    }


def _rip(rip: Row | None, units: CrewUnits) -> str:
    """How a half log is ripped; empty for a whole one."""
    if rip is None:
        return ""
    return (
        f"Rip along the middle; leave {units.across(rip['leave_near_butt_mm'])} at the butt cut and "
        f"{units.across(rip['leave_near_tip_mm'])} at the tip cut (saw cut {units.across(rip['kerf_mm'])})."
    )


def _corner(one: Row, units: CrewUnits) -> dict[str, str]:
    notch = "on the deck"
    if one["notch_mm"] is not None:
        notch = f"{units.across(one['notch_mm'])} ({one['notch_share']:.0%})"
    if one["notch_state"] == "beyond":
        notch += " beyond limit"
    return {
        "corner": one["crossing"],
        "from_butt": units.along(one["from_butt_mm"]),
        "diameter": units.across(one["diameter_mm"]),
        "notch": notch,
        "gap": _gap(one["gap_mm"], units),
        "top": units.along(one["top_mm"]),
        "error": f"± {units.error(one['top_error_mm'])}",
    }


def _gap(gap_mm: float, units: CrewUnits) -> str:
    """Logs of a scribed wall overlap."""
    return units.across(gap_mm) if gap_mm >= 0 else f"overlap {units.across(-gap_mm)}"


def hazard_words(hazards: Sequence[Row], units: CrewUnits) -> list[str]:
    """Each danger of a log in words, with its distance from the butt."""
    found = []
    for one in hazards:
        words = f"{one['kind']} at {units.along(one['from_butt_mm'])} from the butt end"
        if one.get("extent_mm"):
            words += f", {units.along(one['extent_mm'])} long"
        found.append(words.upper() if one["kind"] == "metal" else words)
    return found


def _range(lift: Row, units: CrewUnits) -> str:
    if lift["why_no_weight"]:
        return str(lift["why_no_weight"])
    return f"{units.weight(lift['weight_low_kg'])} to {units.weight(lift['weight_high_kg'])}"


def _weight(kg: float | None, units: CrewUnits) -> str:
    return "not known" if kg is None else units.weight(kg)
