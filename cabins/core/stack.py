"""The wall stack: heights, notches, level and corner mismatch, from diameters and what was measured.

One geometry for plans, setting sheets, as-built record and forecast. Heights in mm above the deck.
"""

import math
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from itertools import pairwise
from operator import add

from cabins.core.layout_parts import Layout, LogWall, Start, WallTop
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
from cabins.core.seating import Seat, height_to_reach_mm, seat_log, seat_on_deck
from inventory.core.crew_errors import USUAL_ERRORS, CrewErrors

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
]

NO_LIMIT = (-math.inf, math.inf)


class StackError(ValueError):
    """A diameter or a measured height that the wall stack cannot take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Top:
    """The top of a wall at one column after one round.

    `planned_mm` is the plan's own top, None where the cabin has no plan; `reach_mm` the height to reach: the
    planned top, or what the steering rule makes of it where the wall stands off its plan below.
    `computed_mm` is what the log there comes to, steered within the gap's band; `top_mm` is the measured
    height where there is one. `stands_off_mm`: `top_mm` less the planned top. `error_mm`: expected error (one
    standard deviation) of `top_mm`, gathered since the last measured height below. `is_assumed`: no log is
    known here, the nominal diameter stands in. `seat`: how the log is to lie; None in round 0.
    """

    wall: str
    round: int
    column: int
    at_mm: float
    diameter_mm: float
    rise_mm: float
    planned_mm: float | None
    reach_mm: float
    computed_mm: float
    top_mm: float
    stands_off_mm: float | None
    error_mm: float
    is_measured: bool
    is_assumed: bool
    seat: Seat | None


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
    tops: tuple[Top, ...]
    half_tops: tuple[Top, ...]
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
    replaces the computed one, and the rounds above go on from it. `planned_mm`: the plan's own tops, to which
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
    pile = _Pile(
        layout=layout,
        columns=columns,
        under=_under(layout, columns),
        diameters=diameters,
        known=diameters_mm,
        measured=measured,
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
        half_tops=_half_tops(pile, tops),
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
    columns: Mapping[str, Sequence[Column]],
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


def _ends(layout: Layout) -> list[tuple[LogWall, Column]]:
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


def rise_mm(layout: Layout, start: Start, round_number: int, diameter_mm: float) -> float:
    """How much higher a log brings its wall, the gap at its target; a first log on its flat has no gap."""
    if round_number == 1 and start is Start.LOW and layout.sill_flat is not None:
        return diameter_mm - layout.sill_flat.depth_in_mm(diameter_mm) + layout.sealer_mm
    return diameter_mm + layout.gap.target_mm


def half_log_mm(*, diameter_mm: float, kerf_mm: float) -> float:
    """Height of half a log that is ripped along its middle."""
    return (diameter_mm - kerf_mm) / 2


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


def _under(
    layout: Layout, columns: Mapping[str, Sequence[Column]]
) -> dict[tuple[str, int], tuple[str, int, int]]:
    """What crosses under each column of each wall: the other wall, its column, and its round less ours."""
    under = {}
    for crossing in crossings_of(layout):
        low = (crossing.low_wall, column_at(columns[crossing.low_wall], crossing.id))
        high = (crossing.high_wall, column_at(columns[crossing.high_wall], crossing.id))
        under[low] = (*high, -1)
        under[high] = (*low, 0)
    return under


@dataclass(frozen=True, kw_only=True)
class _Pile:
    """What the tops are piled up from, in the order in which a crew lays the logs."""

    layout: Layout
    columns: Mapping[str, Sequence[Column]]
    under: Mapping[tuple[str, int], tuple[str, int, int]]
    diameters: Mapping[Spot, float]
    known: Mapping[Spot, float]
    measured: Mapping[Spot, float]
    planned: Mapping[Spot, float]
    lying: Container[Spot] | None
    notch_limit: tuple[float, float]
    errors: CrewErrors

    def tops(self, bases_mm: Mapping[Spot, float]) -> dict[Spot, Top]:
        """Every top by its spot."""
        tops = {spot: self._base(spot, base) for spot, base in bases_mm.items()}
        since = dict.fromkeys(bases_mm, 0)
        low_first = sorted(self.layout.log_walls, key=lambda wall: wall.start is Start.HIGH)
        for number in range(1, self.layout.round_count + 1):
            for wall in low_first:
                self._lay(wall, number, tops, since)
        return tops

    @cached_property
    def high(self) -> frozenset[str]:
        """The walls that start high."""
        return frozenset(wall.id for wall in self.layout.log_walls if wall.start is Start.HIGH)

    def _base(self, spot: Spot, base_mm: float) -> Top:
        top = self.measured.get(spot, base_mm)
        planned = self.planned.get(spot)
        is_half = self.layout.half_logs and spot[0] in self.high
        is_computed = is_half and spot not in self.measured
        return Top(
            wall=spot[0],
            round=0,
            column=spot[2],
            at_mm=self.columns[spot[0]][spot[2]].at_mm,
            diameter_mm=self.known.get(spot, self.layout.log_middle_mm) if is_half else 0.0,
            rise_mm=0.0,
            planned_mm=planned,
            reach_mm=base_mm if planned is None else planned,
            computed_mm=base_mm,
            top_mm=top,
            stands_off_mm=None if planned is None else top - planned,
            error_mm=self.errors.half_log_mm() if is_computed else self.errors.height_mm,
            is_measured=spot in self.measured,
            is_assumed=is_computed and spot not in self.known,
            seat=None,
        )

    def _lay(self, wall: LogWall, number: int, tops: dict[Spot, Top], since: dict[Spot, int]) -> None:
        row = [(wall.id, number, column.column) for column in self.columns[wall.id]]
        seats = {spot: self._seat(spot, wall.start, tops) for spot in row}
        known = {spot: self.measured[spot] for spot in row if spot in self.measured}
        for spot in row:
            computed, rounds = seats[spot].top_mm, since[_below(spot)] + 1
            lies = self.lying is None or spot in self.lying
            if known and lies and spot not in known and spot not in (row[0], row[-1]):
                computed, rounds = self._between(spot, row, seats), 1
            since[spot] = 0 if spot in known else rounds
            tops[spot] = self._top(spot, seats[spot], computed, tops[_below(spot)].top_mm, since[spot])

    def _seat(self, spot: Spot, start: Start, tops: Mapping[Spot, Top]) -> Seat:
        wall, number, column = spot
        own, diameter, gap = tops[_below(spot)].top_mm, self.diameters[spot], self.layout.gap
        other, other_column, later = self.under[wall, column]
        crossing = None
        if number + later > 0 or self.layout.half_logs:
            crossing = tops[other, number + later, other_column].top_mm
        reach = self._reach_mm(spot, own)
        if number == 1 and start is Start.LOW and self.layout.sill_flat is not None:
            return seat_on_deck(
                diameter_mm=diameter,
                reach_mm=reach,
                crossing_top_mm=crossing,
                flat=self.layout.sill_flat,
                sealer_mm=self.layout.sealer_mm,
                notch_limit=self.notch_limit,
            )
        # Without a plan each log lies at the target gap, whatever its notch comes to: the notch says so.
        return seat_log(
            own_top_mm=own,
            diameter_mm=diameter,
            reach_mm=own + diameter + gap.target_mm if reach is None else reach,
            crossing_top_mm=crossing,
            gap=gap,
            notch_limit=NO_LIMIT if reach is None else self.notch_limit,
        )

    def _reach_mm(self, spot: Spot, own_top_mm: float) -> float | None:
        """The height to reach by the plan; None where there is none."""
        planned, below = self.planned.get(spot), self.planned.get(_below(spot))
        if planned is None or below is None:
            return None
        return height_to_reach_mm(planned_mm=planned, stands_off_mm=own_top_mm - below, gap=self.layout.gap)

    def _between(self, spot: Spot, row: Sequence[Spot], seats: Mapping[Spot, Seat]) -> float:
        """The top of a tee that nobody measured, in a round that somebody did measure.

        On the line between the tops at the neighbouring columns, which are measured where they can be, plus
        what the log's own diameter differs from that line there.
        """
        measured = [one for one in row if one in self.measured]
        before = max((one for one in measured if one[2] < spot[2]), default=row[0])
        after = min((one for one in measured if one[2] > spot[2]), default=row[-1])
        start, end, here = (self.columns[spot[0]][one[2]].at_mm for one in (before, after, spot))
        share = (here - start) / (end - start)

        def above_diameter(one: Spot) -> float:
            return self.measured.get(one, seats[one].top_mm) - self.diameters[one]

        line = above_diameter(before) + share * (above_diameter(after) - above_diameter(before))
        return line + self.diameters[spot]

    def _top(self, spot: Spot, seat: Seat, computed: float, own_top: float, since: int) -> Top:
        planned = self.planned.get(spot)
        top = self.measured.get(spot, computed)
        return Top(
            wall=spot[0],
            round=spot[1],
            column=spot[2],
            at_mm=self.columns[spot[0]][spot[2]].at_mm,
            diameter_mm=seat.diameter_mm,
            rise_mm=computed - own_top,
            planned_mm=planned,
            reach_mm=seat.reach_mm,
            computed_mm=computed,
            top_mm=top,
            stands_off_mm=None if planned is None else top - planned,
            error_mm=self.errors.top_mm(rounds_since_measured=since),
            is_measured=spot in self.measured,
            is_assumed=spot not in self.known,
            seat=seat,
        )


def half_ends(layout: Layout, columns: Mapping[str, Sequence[Column]]) -> list[tuple[str, Column, float]]:
    """Where half logs end the low walls: the wall, its outer column, and how far along the wall they begin.

    They are cut square against the high walls' last logs, half a log inside the corner's centre.
    """
    if layout.top is not WallTop.EVEN:
        return []
    half = layout.log_middle_mm / 2
    return [
        (wall.id, column, column.at_mm + inwards)
        for wall in layout.log_walls
        if wall.start is Start.LOW
        for column, inwards in ((columns[wall.id][0], half), (columns[wall.id][-1], -half))
    ]


def over_last_mm(layout: Layout, *, last_mm: float, diameter_mm: float) -> float:
    """Top of a half log over a last round that tops at `last_mm` there: flat side up, the gap under it."""
    return last_mm + layout.gap.target_mm + half_log_mm(diameter_mm=diameter_mm, kerf_mm=layout.rip_kerf_mm)


def _half_tops(pile: _Pile, tops: Mapping[Spot, Top]) -> tuple[Top, ...]:
    layout = pile.layout
    heights = {spot: top.top_mm for spot, top in tops.items()}
    found = []
    for wall, column, at_mm in half_ends(layout, pile.columns):
        spot = (wall, layout.round_count + 1, column.column)
        below = tops[_below(spot)]
        diameter = pile.known.get(spot, layout.log_middle_mm)
        last = _between_columns_mm(pile.columns[wall], heights, wall, layout.round_count, at_mm)
        computed = over_last_mm(layout, last_mm=last, diameter_mm=diameter)
        is_measured = spot in pile.measured
        found.append(
            Top(
                wall=wall,
                round=spot[1],
                column=column.column,
                at_mm=at_mm,
                diameter_mm=diameter,
                rise_mm=computed - below.top_mm,
                planned_mm=None,
                reach_mm=computed,
                computed_mm=computed,
                top_mm=pile.measured.get(spot, computed),
                stands_off_mm=None,
                error_mm=pile.errors.height_mm
                if is_measured
                else math.hypot(below.error_mm, pile.errors.diameter_mm / 2),
                is_measured=is_measured,
                is_assumed=spot not in pile.known,
                seat=None,
            )
        )
    return tuple(found)


def top_at_mm(stack: Stack, *, wall: str, round_number: int, at_mm: float) -> float:
    """Top of a round at a position between two columns, on the straight line between them."""
    columns = columns_of(stack.layout)[wall]
    return _between_columns_mm(columns, stack.heights_mm, wall, round_number, at_mm)


def _between_columns_mm(
    columns: Sequence[Column], heights_mm: Mapping[Spot, float], wall: str, round_number: int, at_mm: float
) -> float:
    left, right = next(pair for pair in pairwise(columns) if at_mm <= pair[1].at_mm or pair[1] is columns[-1])
    low, high = (heights_mm[wall, round_number, column.column] for column in (left, right))
    return low + (high - low) * (at_mm - left.at_mm) / (right.at_mm - left.at_mm)


def _below(spot: Spot) -> Spot:
    return spot[0], spot[1] - 1, spot[2]


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
