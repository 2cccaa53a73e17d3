"""A plan's sheets told in a crew's own unit: a text beside each figure that is read off and worked to."""

from collections.abc import Mapping
from typing import Any

from cabins.sheets.texts import steering_told
from inventory.core.crew_units import CrewUnits
from planning.core.lying_words import hanging_words, lying_lines

Told = Mapping[str, Any]


def setting_sheet_told(units: CrewUnits, sheet: Told) -> dict[str, Any]:
    """What SettingSheetOut describes, from the answer of `setting_sheet`."""
    return {
        **sheet,
        "rows": [_row(units, row) for row in sheet["rows"]],
        "levels": [_level(units, level) for level in sheet["levels"]],
    }


def next_log_told(units: CrewUnits, answer: Told) -> dict[str, Any]:
    """What NextLogOut describes, from the answer of `next_log`."""
    row = answer["row"]
    return {
        **answer,
        "row": None if row is None else _row(units, row),
        "steering": steering_told(units, answer["steering"]),
    }


def plan_heights_told(units: CrewUnits, answer: Told) -> dict[str, Any]:
    """What PlanHeightsOut describes, from the answer of `plan_heights`."""
    return {
        **answer,
        "tops": [units.beside(top, along=["top"]) for top in answer["tops"]],
        "notches": [units.beside(notch, across=["depth"]) for notch in answer["notches"]],
        "levels": [_level(units, level) for level in answer["levels"]],
        "outside_band": [_gap_along(units, row) for row in answer["outside_band"]],
    }


def _row(units: CrewUnits, row: Told) -> dict[str, Any]:
    return {
        **units.beside(row, along=["cut_near_butt", "cut_near_tip", "length"], across=["gap"]),
        "crown_text": units.crown(row["crown_mm"], row["crown_side"]),
        "corners": [
            units.beside(corner, along=["from_butt", "top"], across=["notch", "gap"])
            for corner in row["corners"]
        ],
        "lift": units.beside(row["lift"], along=["balance_from_butt"])
        | {"hangs_text": hanging_words(row["lift"])},
        "rip": None
        if row["rip"] is None
        else units.beside(row["rip"], across=["kerf", "leave_near_butt", "leave_near_tip"]),
        "lying": _lying(units, row["lying"]) | {"lines": lying_lines(row, units)},
    }


def _lying(units: CrewUnits, lying: Told) -> dict[str, Any]:
    gap, scribing = lying["gap_along"], lying["scribing"]
    return {
        **lying,
        "gap_along": gap and _gap_along(units, gap),
        "scribing": scribing
        and {
            **units.beside(scribing, across=["overlap", "below_plan"]),
            "first": _scribe(units, scribing["first"]),
            "final": _scribe(units, scribing["final"]),
            "grooves": [
                units.beside(groove, along=["at"], across=["overlap", "width"])
                for groove in scribing["grooves"]
            ],
        },
    }


def _gap_along(units: CrewUnits, gap: Told) -> dict[str, Any]:
    return units.beside(gap, along=["smallest_at", "largest_at"], across=["smallest", "largest"])


def _scribe(units: CrewUnits, scribe: Told) -> dict[str, Any]:
    return {
        **units.beside(scribe, along=["widest_at"], across=["widest", "setting", "groove_setting"]),
        "rests": [units.beside(rest, along=["at", "top"], across=["rough_cut"]) for rest in scribe["rests"]],
        "tops_text": [units.along(top) for top in scribe["tops_mm"]],
    }


def _level(units: CrewUnits, level: Told) -> dict[str, Any]:
    return units.beside(level, along=["start", "end"], across=["out_of_level"])
