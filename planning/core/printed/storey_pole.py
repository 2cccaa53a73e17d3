"""Marks for a storey pole at each corner: the top that every round should reach, from the deck."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from cabins.core.corner_sheet import return_advice
from cabins.core.gable_words import CAUTIONS as GABLE_CAUTIONS
from cabins.core.gables import GableSheet
from cabins.core.next_log import ON_THE_LINE_MM
from cabins.core.opening_sheet import OpeningSheet
from cabins.core.places import CornerCrossing, column_at, columns_of, crossings_of
from cabins.core.stack import PiledTop, Stack
from inventory.core.crew_units import CrewUnits
from inventory.core.printed.press import Paper, print_sheet
from planning.core.printed.gables import gable_rows

_TEMPLATE = Path(__file__).with_name("storey_pole.typ")
CAUTION = (
    "Heights are measured from one level line all round. A wall on green logs comes down as it dries: see "
    "its settling sheet before openings are framed."
)


def print_storey_pole(
    cabin: str,
    stack: Stack,
    openings: Sequence[OpeningSheet],
    *,
    gables: GableSheet | None = None,
    log_numbers: Mapping[str, str] | None = None,
    units: CrewUnits,
    as_of: str,
    paper: Paper,
) -> bytes:
    """The marks of every corner and tee, of every opening, and of both gables, as PDF.

    `log_numbers`: of the logs made or planned for gable logs, purlins and ridge, by the member's name.
    """
    data = storey_pole_data(
        cabin, stack, openings, gables=gables, log_numbers=log_numbers, units=units, as_of=as_of
    )
    return print_sheet(_TEMPLATE, data, paper=paper)


def storey_pole_data(
    cabin: str,
    stack: Stack,
    openings: Sequence[OpeningSheet],
    *,
    gables: GableSheet | None = None,
    log_numbers: Mapping[str, str] | None = None,
    units: CrewUnits,
    as_of: str,
) -> dict[str, Any]:
    """What the template sets: for each crossing the tops of both walls, the last round first; openings,
    gables."""
    return {
        "title": f"{cabin}: storey-pole marks",
        "subtitle": "tops of the rounds above the deck, at the centre of each corner",
        "as_of": as_of,
        "corners": [_corner(stack, crossing, units) for crossing in crossings_of(stack.layout)],
        "openings": [_opening(sheet, units) for sheet in openings],
        "gables": []
        if gables is None
        else gable_rows(gables, stack.layout.cut_share, log_numbers or {}, units),
        "cautions": [CAUTION, *(GABLE_CAUTIONS if gables is not None else ())],
    }


def _opening(sheet: OpeningSheet, units: CrewUnits) -> dict[str, Any]:
    """Where an opening's lines lie on the pole, and what is cut to them."""
    return {
        "name": sheet.opening,
        "wall": sheet.wall,
        "sill": units.along(sheet.sill_mm),
        "head": units.along(sheet.head_mm),
        "top": units.along(sheet.hole_top_mm),
        "cuts": " ".join(cut.words for cut in (sheet.sill, sheet.header) if cut is not None),
    }


def _corner(stack: Stack, crossing: CornerCrossing, units: CrewUnits) -> dict[str, Any]:
    columns = columns_of(stack.layout)
    low, high = (
        {
            top.round: top
            for top in stack.tops
            if (top.wall, top.column) == (wall, column_at(columns[wall], crossing.id))
        }
        for wall in (crossing.low_wall, crossing.high_wall)
    )
    return {
        "name": crossing.id,
        "walls": f"wall {crossing.low_wall} starts low, wall {crossing.high_wall} high",
        "heads": [
            "round",
            f"wall {crossing.low_wall}",
            f"wall {crossing.high_wall}",
            f"{crossing.low_wall} as built",
            f"{crossing.high_wall} as built",
        ],
        "marks": [
            {
                "round": "start" if number == 0 else str(number),
                "low": units.along(low[number].top_mm),
                "low_told": _told(low[number], units),
                "high": units.along(high[number].top_mm),
                "high_told": _told(high[number], units),
            }
            for number in range(stack.layout.round_count, -1, -1)
        ],
        "advice": list(return_advice(stack, crossing=crossing.id, units=units)),
    }


def _told(top: PiledTop, units: CrewUnits) -> str:
    if top.round == 0 and not top.is_measured:
        return ""
    sure = "measured" if top.is_measured else f"± {units.error(top.error_mm)}"
    off = top.stands_off_mm or 0.0
    if abs(off) <= ON_THE_LINE_MM:
        return sure
    return f"{sure}, {units.across(abs(off))} {'above' if off > 0 else 'below'} its plan"
