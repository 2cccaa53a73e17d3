"""Sheets of the yard: the chart as it is known, a blank one to fill in by hand, labels for the logs."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from inventory.core.crew_units import CrewUnits, counted
from inventory.core.printed.codes import code_of
from inventory.core.printed.press import Paper, print_sheet

_HERE = Path(__file__).parent
Row = Mapping[str, Any]
CHART_CAUTION = (
    "Only dangers that were charted are listed: go over a log with a metal detector before a saw or a chisel "
    "meets it."
)
# Of crown and grain, where nobody looked yet.
UNKNOWN = "?"
_HOW_TO_CHART = (
    "Diameters over bark-free wood: butt and tip a foot (30 cm) in from the ends and beside knots, middle at "
    "half the length. Sides as seen from the butt. Crown: largest gap to a string from end to end."
)
_BLANK_ROWS = {Paper.A4: 13, Paper.LETTER: 14}
# A length and a diameter as the crew would write them, over the columns of a blank chart.
_EXAMPLE_MM = (5905.5, 295.275)


def print_yard_chart(yard: str, logs: Sequence[Row], *, units: CrewUnits, as_of: str, paper: Paper) -> bytes:
    """The yard's logs (rows of `inventory.logs.queries.logs_of`) as a table, as PDF."""
    data = {
        "title": f"{yard}: yard chart",
        "subtitle": f"{counted(len(logs), 'log')}; end diameters at the shoulder, a foot in from the end "
        "unless charted otherwise",
        "as_of": as_of,
        "logs": [_charted(row, units) for row in logs],
        "cautions": [CHART_CAUTION, *_unknown(logs)],
    }
    return print_sheet(_HERE / "yard_chart.typ", data, paper=paper)


def _unknown(logs: Sequence[Row]) -> list[str]:
    is_unknown = any(row["crown_mm"] is None or row["grain_hand"] is None for row in logs)
    return [f"{UNKNOWN} under crown or grain: nobody looked at it yet."] * is_unknown


def _charted(row: Row, units: CrewUnits) -> dict[str, Any]:
    return {
        "number": row["number"],
        "rack": row["rack_name"] or "",
        "species": row["species_name"] or "",
        "length": units.along(row["length_mm"]),
        "butt": units.across(row["butt_mm"]),
        "middle": units.across(row["middle_mm"]),
        "tip": units.across(row["tip_mm"]),
        "crown": UNKNOWN if row["crown_mm"] is None else units.crown(row["crown_mm"], row["crown_side"]),
        "grain": row["grain_hand"] or UNKNOWN,
        "mill_tag": row["mill_tag"],
        "state": row["state"].replace("_", " ") + (", cull" if row["culled"] else ""),
        "dangers": "; ".join(_danger(one, units) for one in row["hazards"]),
        "has_metal": _has_metal(row),
        "remarks": row["remarks"],
    }


def _danger(one: Row, units: CrewUnits) -> str:
    words = f"{one['kind']} at {units.along(one['from_butt_mm'])}"
    return f"{words}, {one['face']}" if one.get("face") else words


def _has_metal(row: Row) -> bool:
    return any(one["kind"] == "metal" for one in row["hazards"])


def print_blank_chart(*, units: CrewUnits, as_of: str, paper: Paper) -> bytes:
    """A chart to fill in by hand, one page, as PDF."""
    along, across = units.along(_EXAMPLE_MM[0]), units.across(_EXAMPLE_MM[1])
    heads = [
        ("log", "paint or tag"),
        ("length", along),
        ("butt", across),
        ("middle", across),
        ("tip", across),
        ("crown, side, where", "top right bottom left"),
        ("cull?", "why: remarks"),
        ("dangers", "what, how far from the butt end, which side"),
        ("remarks", "grain, crook, further diameters"),
    ]
    data = {
        "title": "Chart of logs",
        "subtitle": "one line for each log; write lengths with their unit",
        "as_of": as_of,
        "count": _BLANK_ROWS[paper],
        "heads": [{"name": name, "how": how} for name, how in heads],
        "how": _HOW_TO_CHART,
        "cautions": ["Metal: write it down, mark it on the log in paint, and tell the others."],
    }
    return print_sheet(_HERE / "blank_chart.typ", data, paper=paper)


def print_labels(
    yard: str,
    logs: Sequence[Row],
    *,
    address_of: Callable[[Row], str],
    units: CrewUnits,
    as_of: str,
    paper: Paper,
) -> bytes:
    """A label for each log, with a code that leads to `address_of` it, as PDF."""
    data = {
        "title": f"{yard}: labels",
        "as_of": as_of,
        "logs": [
            {
                "number": row["number"],
                "size": f"{units.along(row['length_mm'])}, middle {units.across(row['middle_mm'])}",
                "mill_tag": f"mill's tag {row['mill_tag']}" if row["mill_tag"] else "",
                "crown": f"crown {units.crown(row['crown_mm'], row['crown_side'])}",
                "lies": ", ".join(part for part in (yard, row["rack_name"], row["species_name"]) if part),
                "metal": _metal(row, units),
                "code": code_of(address_of(row)),
            }
            for row in logs
        ],
    }
    return print_sheet(_HERE / "labels.typ", data, paper=paper)


def _metal(row: Row, units: CrewUnits) -> str:
    found = [units.along(one["from_butt_mm"]) for one in row["hazards"] if one["kind"] == "metal"]
    return f"METAL at {', '.join(found)}" if found else ""
