"""The wall stack: heights, notches, level and corner mismatch, from diameters and what was measured.

One geometry for plans, setting sheets, as-built record and forecast. Heights in mm above the deck.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import add

from cabins.core.layout_parts import Layout, LogWall, Start
from cabins.core.notching import (
    NOTCH_GOOD,
    NOTCH_LIMIT,
    Notch,
    NotchState,
    notch_depth_mm,
    notch_state,
    notches_of,
)
from cabins.core.places import Column, Spot, column_at, columns_of, crossings_of
from inventory.core.profile import READING_SD_MM

__all__ = [
    "NOTCH_GOOD",
    "NOTCH_LIMIT",
    "Level",
    "Mismatch",
    "Notch",
    "NotchState",
    "Spot",
    "Stack",
    "StackError",
    "Top",
    "notch_depth_mm",
    "notch_state",
    "stack_up",
    "top_error_mm",
]

# Heights are read to 2-3 mm (common practice, no source); taken as one standard deviation.
HEIGHT_ERROR_MM = 2.5


class StackError(ValueError):
    """A diameter or a measured height that the wall stack cannot take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Top:
    """The top of a wall at one column after one round.

    `computed_mm` is what the round below, the diameter and the gap give; `top_mm` is the measured height
    where there is one. `error_mm`: expected error (one standard deviation) of `top_mm`, gathered since the
    last measured height below. `is_assumed`: no log is known here, the nominal diameter stands in.
    """

    wall: str
    round: int
    column: int
    at_mm: float
    diameter_mm: float
    rise_mm: float
    computed_mm: float
    top_mm: float
    error_mm: float
    is_measured: bool
    is_assumed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """How far a wall is out of level after a round: end top minus start top.

    `error_mm`: expected error (one standard deviation) of that difference; a wall level on paper is level to
    within it.
    """

    wall: str
    round: int
    start_mm: float
    end_mm: float
    out_of_level_mm: float
    error_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mismatch:
    """How far the high wall at a crossing is from lying half a log above the low one."""

    crossing: str
    round: int
    low_mm: float
    high_mm: float
    half_rise_mm: float
    mismatch_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """All heights of a cabin, round by round, and what follows of them."""

    layout: Layout
    tops: tuple[Top, ...]
    notches: tuple[Notch, ...]
    levels: tuple[Level, ...]
    mismatches: tuple[Mismatch, ...]
    heights_mm: Mapping[Spot, float]
    diameters_mm: Mapping[Spot, float]

    def plate_spread_mm(self, start: Start) -> float:
        """Highest minus lowest final top among the ends of the low, or of the high, walls."""
        tops = [
            self.heights_mm[wall.id, self.layout.round_count, column.column]
            for wall, column in _ends(self.layout)
            if wall.start is start
        ]
        return max(tops) - min(tops)


def top_error_mm(
    *,
    rounds_since_measured: int,
    diameter_error_mm: float = READING_SD_MM,
    height_error_mm: float = HEIGHT_ERROR_MM,
) -> float:
    """Expected error of a computed top: one reading of height, and one of a diameter per round above it.

    One standard deviation; readings are taken as independent (assumption), so their squares add.
    """
    return math.sqrt(height_error_mm**2 + rounds_since_measured * diameter_error_mm**2)


def stack_up(
    layout: Layout,
    *,
    diameters_mm: Mapping[Spot, float],
    measured_mm: Mapping[Spot, float] | None = None,
    notch_good: tuple[float, float] = NOTCH_GOOD,
    notch_limit: tuple[float, float] = NOTCH_LIMIT,
) -> Stack:
    """The wall stack of `layout`.

    `diameters_mm`: the log's diameter at each column of each round; where one is missing the layout's
    middle diameter stands in. `measured_mm`: as-built tops, sparse, round 0 being what a wall starts on;
    each replaces the computed one, and the rounds above go on from it. A partition is a wall in every
    formula; means are taken over wall ends, tees only get heights of their own. Raises StackError.
    """
    measured = dict(measured_mm or {})
    columns = columns_of(layout)
    _check_spots(layout, columns, diameters_mm, measured)
    diameters = {
        (wall, number, column.column): diameters_mm.get((wall, number, column.column), layout.log_middle_mm)
        for wall, row in columns.items()
        for number in range(1, layout.round_count + 1)
        for column in row
    }
    start_mm = _high_start_mm(layout, diameters)
    tops: list[Top] = []
    for wall in layout.log_walls:
        base = start_mm if wall.start is Start.HIGH else 0.0
        for column in columns[wall.id]:
            tops += _column_tops(layout, column, base, diameters, diameters_mm, measured)
    heights = {(top.wall, top.round, top.column): top.top_mm for top in tops}
    return Stack(
        layout=layout,
        tops=tuple(tops),
        notches=notches_of(
            layout,
            heights_mm=heights,
            diameters_mm=diameters,
            notch_good=notch_good,
            notch_limit=notch_limit,
        ),
        levels=_levels(layout, tops),
        mismatches=_mismatches(layout, heights, diameters),
        heights_mm=heights,
        diameters_mm=diameters,
    )


def _check_spots(
    layout: Layout,
    columns: Mapping[str, Sequence[Column]],
    diameters_mm: Mapping[Spot, float],
    measured_mm: Mapping[Spot, float],
) -> None:
    for least, what, values in ((1, "diameter", diameters_mm), (0, "height", measured_mm)):
        for (wall, number, column), value in values.items():
            spot = f"wall {wall}, round {number}, column {column}"
            known = wall in columns and least <= number <= layout.round_count
            if not known or not 0 <= column < len(columns[wall]):
                raise StackError(f"there is no place for a {what} at {spot}")
            # Only what a wall starts on may lie level with the deck or below it.
            if not math.isfinite(value) or (number > 0 and value <= 0):
                raise StackError(f"{value} is no {what}, at {spot}")


def _ends(layout: Layout) -> list[tuple[LogWall, Column]]:
    columns = columns_of(layout)
    return [(wall, columns[wall.id][end]) for wall in layout.log_walls for end in (0, -1)]


def _mean_rise_mm(
    layout: Layout, diameters: Mapping[Spot, float], round_number: int, start: Start | None = None
) -> float:
    # Over wall ends, as every mean of the wall model: a tee halfway would count a log twice.
    rises = [
        diameters[wall.id, round_number, column.column] + layout.gap.target_mm
        for wall, column in _ends(layout)
        if start is None or wall.start is start
    ]
    # One after the other: `sum` is more exact from Python 3.12 on, and no figure may hang on that.
    return reduce(add, rises) / len(rises)


def _high_start_mm(layout: Layout, diameters: Mapping[Spot, float]) -> float:
    return 0.5 * _mean_rise_mm(layout, diameters, 1, Start.LOW)


def _column_tops(
    layout: Layout,
    column: Column,
    base_mm: float,
    diameters: Mapping[Spot, float],
    known: Mapping[Spot, float],
    measured: Mapping[Spot, float],
) -> list[Top]:
    tops = []
    below, since = base_mm, 0
    for number in range(layout.round_count + 1):
        spot = (column.wall, number, column.column)
        diameter = diameters[spot] if number else 0.0
        rise = diameter + layout.gap.target_mm if number else 0.0
        since = 0 if spot in measured or number == 0 else since + 1
        top = Top(
            wall=column.wall,
            round=number,
            column=column.column,
            at_mm=column.at_mm,
            diameter_mm=diameter,
            rise_mm=rise,
            computed_mm=below + rise,
            top_mm=measured.get(spot, below + rise),
            error_mm=top_error_mm(rounds_since_measured=since),
            is_measured=spot in measured,
            is_assumed=number > 0 and spot not in known,
        )
        tops.append(top)
        below = top.top_mm
    return tops


def _levels(layout: Layout, tops: Sequence[Top]) -> tuple[Level, ...]:
    columns = columns_of(layout)
    at = {(top.wall, top.round, top.column): top for top in tops}
    levels = []
    for wall in layout.log_walls:
        for number in range(1, layout.round_count + 1):
            start, end = (at[wall.id, number, columns[wall.id][side].column] for side in (0, -1))
            levels.append(
                Level(
                    wall=wall.id,
                    round=number,
                    start_mm=start.top_mm,
                    end_mm=end.top_mm,
                    out_of_level_mm=end.top_mm - start.top_mm,
                    error_mm=math.hypot(start.error_mm, end.error_mm),
                )
            )
    return tuple(levels)


def _mismatches(
    layout: Layout, heights: Mapping[Spot, float], diameters: Mapping[Spot, float]
) -> tuple[Mismatch, ...]:
    columns = columns_of(layout)
    mismatches = []
    for number in range(1, layout.round_count + 1):
        half = 0.5 * _mean_rise_mm(layout, diameters, number)
        for crossing in crossings_of(layout):
            low, high = (
                heights[wall, number, column_at(columns[wall], crossing.id)]
                for wall in (crossing.low_wall, crossing.high_wall)
            )
            mismatches.append(
                Mismatch(
                    crossing=crossing.id,
                    round=number,
                    low_mm=low,
                    high_mm=high,
                    half_rise_mm=half,
                    mismatch_mm=high - low - half,
                )
            )
    return tuple(mismatches)
