"""Tops piled up in the order in which a crew lays the logs, half logs under the first and over the last.

Heights in mm above the deck.
"""

import math
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from cabins.core.layout_parts import Layout, LogWall, Start, WallTop
from cabins.core.places import Spot, WallColumn, column_at, crossings_of
from cabins.core.seating import ColumnSeat, height_to_reach_mm, seat_log, seat_on_deck
from inventory.core.crew_errors import CrewErrors

NO_LIMIT = (-math.inf, math.inf)
# Rounds since the last measured top, and of how many readings that is the mean.
_Since = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class PiledTop:
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
    seat: ColumnSeat | None


def rise_mm(layout: Layout, start: Start, round_number: int, diameter_mm: float) -> float:
    """How much higher a log brings its wall, the gap at its target; a first log on its flat has no gap."""
    if round_number == 1 and start is Start.LOW and layout.sill_flat is not None:
        return diameter_mm - layout.sill_flat.depth_in_mm(diameter_mm) + layout.sealer_mm
    return diameter_mm + layout.gap.target_mm


def half_log_mm(*, diameter_mm: float, kerf_mm: float) -> float:
    """Height of half a log that is ripped along its middle."""
    return (diameter_mm - kerf_mm) / 2


def crossing_under(
    layout: Layout, columns: Mapping[str, Sequence[WallColumn]]
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
class Pile:
    """What the tops are piled up from, in the order in which a crew lays the logs."""

    layout: Layout
    columns: Mapping[str, Sequence[WallColumn]]
    under: Mapping[tuple[str, int], tuple[str, int, int]]
    diameters: Mapping[Spot, float]
    known: Mapping[Spot, float]
    measured: Mapping[Spot, float]
    times_read: Mapping[Spot, int]
    planned: Mapping[Spot, float]
    lying: Container[Spot] | None
    notch_limit: tuple[float, float]
    errors: CrewErrors

    def tops(self, bases_mm: Mapping[Spot, float]) -> dict[Spot, PiledTop]:
        """Every top by its spot."""
        tops = {spot: self._base(spot, base) for spot, base in bases_mm.items()}
        since = {spot: (0, self.times_read.get(spot, 1)) for spot in bases_mm}
        low_first = sorted(self.layout.log_walls, key=lambda wall: wall.start is Start.HIGH)
        for number in range(1, self.layout.round_count + 1):
            for wall in low_first:
                self._lay(wall, number, tops, since)
        return tops

    @cached_property
    def high(self) -> frozenset[str]:
        """The walls that start high."""
        return frozenset(wall.id for wall in self.layout.log_walls if wall.start is Start.HIGH)

    def read_to_mm(self, spot: Spot) -> float:
        """Expected error of a measured top: of the mean of its readings."""
        return self.errors.top_mm(rounds_since_measured=0, times_read=self.times_read.get(spot, 1))

    def _base(self, spot: Spot, base_mm: float) -> PiledTop:
        top = self.measured.get(spot, base_mm)
        planned = self.planned.get(spot)
        is_half = self.layout.half_logs and spot[0] in self.high
        is_computed = is_half and spot not in self.measured
        return PiledTop(
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
            error_mm=self.errors.half_log_mm() if is_computed else self.read_to_mm(spot),
            is_measured=spot in self.measured,
            is_assumed=is_computed and spot not in self.known,
            seat=None,
        )

    def _lay(
        self, wall: LogWall, number: int, tops: dict[Spot, PiledTop], since: dict[Spot, tuple[int, int]]
    ) -> None:
        row = [(wall.id, number, column.column) for column in self.columns[wall.id]]
        seats = {spot: self._seat(spot, wall.start, tops) for spot in row}
        known = {spot: self.measured[spot] for spot in row if spot in self.measured}
        for spot in row:
            below, times = since[_below(spot)]
            computed, rounds = seats[spot].top_mm, below + 1
            lies = self.lying is None or spot in self.lying
            if known and lies and spot not in known and spot not in (row[0], row[-1]):
                computed, rounds, times = self._between(spot, row, seats), 1, 1
            since[spot] = (0, self.times_read.get(spot, 1)) if spot in known else (rounds, times)
            error = self.errors.top_mm(rounds_since_measured=since[spot][0], times_read=since[spot][1])
            tops[spot] = self._top(spot, seats[spot], computed, tops[_below(spot)].top_mm, error)

    def _seat(self, spot: Spot, start: Start, tops: Mapping[Spot, PiledTop]) -> ColumnSeat:
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

    def _between(self, spot: Spot, row: Sequence[Spot], seats: Mapping[Spot, ColumnSeat]) -> float:
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

    def _top(
        self, spot: Spot, seat: ColumnSeat, computed: float, own_top: float, error_mm: float
    ) -> PiledTop:
        planned = self.planned.get(spot)
        top = self.measured.get(spot, computed)
        return PiledTop(
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
            error_mm=error_mm,
            is_measured=spot in self.measured,
            is_assumed=spot not in self.known,
            seat=seat,
        )


def half_ends(
    layout: Layout, columns: Mapping[str, Sequence[WallColumn]]
) -> list[tuple[str, WallColumn, float]]:
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


def half_tops(pile: Pile, tops: Mapping[Spot, PiledTop]) -> tuple[PiledTop, ...]:
    layout = pile.layout
    heights = {spot: top.top_mm for spot, top in tops.items()}
    found = []
    for wall, column, at_mm in half_ends(layout, pile.columns):
        spot = (wall, layout.round_count + 1, column.column)
        below = tops[_below(spot)]
        diameter = pile.known.get(spot, layout.log_middle_mm)
        last = between_columns_mm(pile.columns[wall], heights, wall, layout.round_count, at_mm)
        computed = over_last_mm(layout, last_mm=last, diameter_mm=diameter)
        is_measured = spot in pile.measured
        found.append(
            PiledTop(
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
                error_mm=pile.read_to_mm(spot)
                if is_measured
                else math.hypot(below.error_mm, pile.errors.diameter_mm / 2),
                is_measured=is_measured,
                is_assumed=spot not in pile.known,
                seat=None,
            )
        )
    return tuple(found)


def between_columns_mm(
    columns: Sequence[WallColumn],
    heights_mm: Mapping[Spot, float],
    wall: str,
    round_number: int,
    at_mm: float,
) -> float:
    left, right = next(pair for pair in pairwise(columns) if at_mm <= pair[1].at_mm or pair[1] is columns[-1])
    low, high = (heights_mm[wall, round_number, column.column] for column in (left, right))
    return low + (high - low) * (at_mm - left.at_mm) / (right.at_mm - left.at_mm)


def _below(spot: Spot) -> Spot:
    return spot[0], spot[1] - 1, spot[2]
