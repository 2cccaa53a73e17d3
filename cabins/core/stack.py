"""The wall stack: heights, notches, level and corner mismatch, from diameters and what was measured.

One geometry for plans, setting sheets, as-built record and forecast. Heights in mm above the deck.
"""

import math
from collections.abc import Container, Mapping, Sequence
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
from cabins.core.pile import (
    Pile,
    PiledTop,
    between_columns_mm,
    crossing_under,
    half_ends,
    half_log_mm,
    half_tops,
    rise_mm,
)
from cabins.core.places import Spot, WallColumn, column_at, columns_of, crossings_of
from inventory.core.crew_errors import USUAL_ERRORS, CrewErrors

__all__ = [
    "NOTCH_GOOD",
    "NOTCH_LIMIT",
    "Level",
    "Mismatch",
    "Notch",
    "NotchState",
    "PiledTop",
    "Spot",
    "Stack",
    "StackError",
    "notch_depth_mm",
    "notch_state",
    "stack_up",
]


class StackError(ValueError):
    """A diameter or a measured height that the wall stack cannot take."""


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
    """All heights of a cabin, round by round, and what follows of them.

    `half_tops`: the two ends of each low wall over its half logs, where the layout has its walls end level.
    """

    layout: Layout
    tops: tuple[PiledTop, ...]
    half_tops: tuple[PiledTop, ...]
    notches: tuple[Notch, ...]
    levels: tuple[Level, ...]
    mismatches: tuple[Mismatch, ...]
    heights_mm: Mapping[Spot, float]
    diameters_mm: Mapping[Spot, float]
    is_planned: bool
    errors: CrewErrors

    def plate_spread_mm(self, start: Start) -> float:
        """Highest minus lowest final top among the ends of the low, or of the high, walls."""
        tops = [
            self.heights_mm[wall.id, self.layout.round_count, column.column]
            for wall, column in _ends(self.layout)
            if wall.start is start
        ]
        return max(tops) - min(tops)


def stack_up(
    layout: Layout,
    *,
    diameters_mm: Mapping[Spot, float],
    measured_mm: Mapping[Spot, float] | None = None,
    times_read: Mapping[Spot, int] | None = None,
    planned_mm: Mapping[Spot, float] | None = None,
    lying: Container[Spot] | None = None,
    notch_good: tuple[float, float] = NOTCH_GOOD,
    notch_limit: tuple[float, float] = NOTCH_LIMIT,
    errors: CrewErrors = USUAL_ERRORS,
) -> Stack:
    """The wall stack of `layout`.

    `diameters_mm`: the log's diameter at each column of each round, and of the log ripped for a half log at
    round 0, or at a low wall's ends in the round over the last; where one is missing the layout's middle
    diameter stands in. `measured_mm`: as-built tops, sparse, round 0 being what a wall starts on; each
    replaces the computed one, and the rounds above go on from it; `times_read`: of how many readings each is
    the mean, where of more than one. `planned_mm`: the plan's own tops, to which
    each log is steered within the gap's band and the notch's limits; without them each log lies at the target
    gap. `lying`: where a log lies already, so that a tee nobody measured follows the measured ends of its
    round (None: wherever one was measured). A partition is a wall in every formula; means are taken over wall
    ends, tees only get heights of their own.
    `errors`: how far the crew's readings and cuts may be off. Raises StackError.
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
    bases = {
        (wall.id, 0, column.column): _base_mm(layout, wall, column.column, diameters, diameters_mm)
        for wall in layout.log_walls
        for column in columns[wall.id]
    }
    pile = Pile(
        layout=layout,
        columns=columns,
        under=crossing_under(layout, columns),
        diameters=diameters,
        known=diameters_mm,
        measured=measured,
        times_read=times_read or {},
        planned=planned_mm or {},
        lying=lying,
        notch_limit=notch_limit,
        errors=errors,
    )
    tops = pile.tops(bases)
    heights = {spot: top.top_mm for spot, top in tops.items()}
    in_order = [
        tops[wall.id, number, column.column]
        for wall in layout.log_walls
        for column in columns[wall.id]
        for number in range(layout.round_count + 1)
    ]
    return Stack(
        layout=layout,
        tops=tuple(in_order),
        half_tops=half_tops(pile, tops),
        notches=notches_of(
            layout,
            heights_mm=heights,
            diameters_mm=diameters,
            notch_good=notch_good,
            notch_limit=notch_limit,
        ),
        levels=_levels(layout, in_order),
        mismatches=_mismatches(layout, heights, diameters),
        heights_mm=heights,
        diameters_mm=diameters,
        is_planned=bool(planned_mm),
        errors=errors,
    )


def _check_spots(
    layout: Layout,
    columns: Mapping[str, Sequence[WallColumn]],
    diameters_mm: Mapping[Spot, float],
    measured_mm: Mapping[Spot, float],
) -> None:
    halved = {wall.id for wall in layout.log_walls if layout.half_logs and wall.start is Start.HIGH}
    at_the_top = {(wall, layout.round_count + 1, end.column) for wall, end, _ in half_ends(layout, columns)}
    for what, values in (("diameter", diameters_mm), ("height", measured_mm)):
        for (wall, number, column), value in values.items():
            least = 0 if what == "height" or wall in halved else 1
            spot = f"wall {wall}, round {number}, column {column}"
            known = wall in columns and least <= number <= layout.round_count
            known = known and 0 <= column < len(columns[wall])
            if not known and (wall, number, column) not in at_the_top:
                raise StackError(f"there is no place for a {what} at {spot}")
            # Only what a wall starts on may lie level with the deck or below it.
            if not math.isfinite(value) or ((number > 0 or what == "diameter") and value <= 0):
                raise StackError(f"{value} is no {what}, at {spot}")


def _ends(layout: Layout) -> list[tuple[LogWall, WallColumn]]:
    columns = columns_of(layout)
    return [(wall, columns[wall.id][end]) for wall in layout.log_walls for end in (0, -1)]


def _mean_rise_mm(
    layout: Layout, diameters: Mapping[Spot, float], round_number: int, start: Start | None = None
) -> float:
    # Over wall ends, as every mean of the wall model: a tee halfway would count a log twice.
    rises = [
        rise_mm(layout, wall.start, round_number, diameters[wall.id, round_number, column.column])
        for wall, column in _ends(layout)
        if start is None or wall.start is start
    ]
    # One after the other: `sum` is more exact from Python 3.12 on, and no figure may hang on that.
    return reduce(add, rises) / len(rises)


def _base_mm(
    layout: Layout,
    wall: LogWall,
    column: int,
    diameters: Mapping[Spot, float],
    known: Mapping[Spot, float],
) -> float:
    """What a wall starts on at one column, where nobody measured it."""
    if wall.start is Start.LOW:
        return 0.0
    if layout.half_logs:
        diameter = known.get((wall.id, 0, column), layout.log_middle_mm)
        return half_log_mm(diameter_mm=diameter, kerf_mm=layout.rip_kerf_mm)
    if layout.deck_raise_mm is not None:
        return layout.deck_raise_mm
    return 0.5 * _mean_rise_mm(layout, diameters, 1, Start.LOW)


def top_at_mm(stack: Stack, *, wall: str, round_number: int, at_mm: float) -> float:
    """Top of a round at a position between two columns, on the straight line between them."""
    columns = columns_of(stack.layout)[wall]
    return between_columns_mm(columns, stack.heights_mm, wall, round_number, at_mm)


def _levels(layout: Layout, tops: Sequence[PiledTop]) -> tuple[Level, ...]:
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
