"""Sheets told in a crew's own unit: a text beside each figure that a person reads off and works to."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from cabins.core.opening_sheet import OpeningSheet
from inventory.core.crew_units import CrewUnits

Row = dict[str, Any]
Told = Mapping[str, Any]


def steering_told(units: CrewUnits, steering: Told | None) -> Row | None:
    """A steering (of `steer_next_log`) with its heights, gaps and notches as texts."""
    if steering is None:
        return None
    turned = steering["turned"]
    return {
        **steering,
        "ends": _ends(units, steering["ends"]),
        "turned": None if turned is None else _ends(units, turned),
    }


def _ends(units: CrewUnits, ends: Iterable[Told]) -> list[Row]:
    return [units.beside(end, along=["reach", "top"], across=["gap", "notch", "off"]) for end in ends]


def sheet_told(units: CrewUnits, sheet: Told) -> Row:
    """What SheetOut describes, from the answer of `next_sheet`."""
    told = units.beside(sheet, along=["near_butt", "near_tip", "length"])
    return {**told, "steering": steering_told(units, sheet["steering"])}


def corner_told(units: CrewUnits, sheet: Told) -> Row:
    """What CornerSheetOut describes, from the answer of `corner_answer`."""
    rows = [
        {
            **units.beside(row, along=["top", "seat"], across=["takes"]),
            "cut": units.beside(row["cut"], across=["depth", "remains", "scriber"]),
        }
        for row in sheet["rows"]
    ]
    return {**units.beside(sheet, along=["sum", "height"]), "rows": rows}


def settling_told(units: CrewUnits, answer: Told) -> Row:
    """What SettlingSheetOut describes, from the answer of `settling_answer`."""
    return {
        **answer,
        "openings": [units.beside(_both(units, one), along=["beside"]) for one in answer["openings"]],
        "posts": [units.beside(_both(units, one), along=["height"]) for one in answer["posts"]],
        "rounds": [units.beside(one, along=["now", "later_low", "later_high"]) for one in answer["rounds"]],
    }


def _both(units: CrewUnits, member: Told) -> Row:
    """Allowance and prediction of an opening or post, each with its texts."""
    return {
        **member,
        "allowance": units.beside(member["allowance"], across=["low", "high", "leave"]),
        "prediction": units.beside(member["prediction"], across=["low", "high"]),
    }


def heights_told(units: CrewUnits, rows: Iterable[Told]) -> list[Row]:
    """Measured heights, each with its text."""
    return [units.beside(row, along=["height"]) for row in rows]


_ALONG = ["near", "far", "width", "height", "sill", "head", "hole_asked", "hole_top", "hole_near", "hole_far"]


def opening_told(units: CrewUnits, sheet: OpeningSheet) -> Row:
    """What OpeningSheetOut describes."""
    told = asdict(sheet)
    return {
        **units.beside(told, along=_ALONG, across=["space"]),
        "sill": cut_told(units, told["sill"]),
        "header": None if told["header"] is None else cut_told(units, told["header"]),
        "jambs": [units.beside(jamb, along=["jamb"], across=["run_wild"]) for jamb in told["jambs"]],
    }


def cut_told(units: CrewUnits, cut: Told) -> Row:
    """What OpeningCutOut describes, from an OpeningCut as a dictionary."""
    return units.beside(
        cut,
        along=["from", "to", "log_from", "log_to"],
        across=["depth_near", "depth_far", "infill_near", "infill_far"],
    )
