"""How far walls are, counted by the database: for many cabins at once, without a row for every log."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection

from cabins.cabins.models import Cabin
from cabins.choices.errors import USUALLY, ErrorsUsed, errors_used
from cabins.core.layout_parts import Layout
from cabins.core.places import Spot, WallColumn, columns_of
from cabins.core.stack import Stack
from cabins.core.top_readings import TOGETHER
from cabins.set_logs.models import End
from cabins.walls.queries import layout_of, stack_of, standing_of

# One row for each wall (round is null) and one for each round (wall is null). The logs' cabins are named
# too: by places alone, PostgreSQL may find it quicker to read every log that any crew has set.
_FILLED = """
    SELECT place.cabin_id, place.wall, place.round, count(*), count(log.set_at), max(log.set_at),
        min(place.round) FILTER (WHERE log.set_at IS NULL) - 1
    FROM cabins_place place
    LEFT JOIN cabins_setlog log
        ON log.place_id = place.id AND log.undone_at IS NULL AND log.cabin_id = ANY(%s)
    WHERE place.cabin_id = ANY(%s)
    GROUP BY GROUPING SETS ((place.cabin_id, place.wall), (place.cabin_id, place.round))
"""
# The last top up to each course that was measured: the log that lies under it now is the one whose readings
# count, those of cabins/core/top_readings.py.
_MEASURED = """
    SELECT course.cabin_id, course.wall, last.round, one_end, counting.height_mm, counting.times
    FROM unnest(%s::uuid[], %s::text[], %s::int[], %s::float8[]) AS course (cabin_id, wall, round, length_mm)
    CROSS JOIN unnest(ARRAY['start', 'end']) AS one_end
    CROSS JOIN LATERAL (
        SELECT height.round, measured_at, under.set_at FROM cabins_measuredheight height
        LEFT JOIN LATERAL (
            SELECT log.set_at FROM cabins_place place
            JOIN cabins_setlog log ON log.place_id = place.id AND log.undone_at IS NULL
            WHERE (place.cabin_id, place.round, place.wall)
                = (height.cabin_id, height.round, height.wall)
                AND CASE one_end WHEN 'start' THEN 0 ELSE course.length_mm END
                    BETWEEN place.start_mm AND place.end_mm
        ) AS under ON true
        WHERE (height.cabin_id, height.wall, height.end) = (course.cabin_id, course.wall, one_end)
            AND height.round <= course.round AND height.undone_at IS NULL
            AND COALESCE(under.set_at <= measured_at, height.round = 0)
        ORDER BY height.round DESC, measured_at DESC LIMIT 1
    ) AS last
    CROSS JOIN LATERAL (
        SELECT avg(height_mm)::float8 AS height_mm, count(*) AS times FROM cabins_measuredheight height
        WHERE (height.cabin_id, height.wall, height.round, height.end)
                = (course.cabin_id, course.wall, last.round, one_end)
            AND height.undone_at IS NULL
            AND height.measured_at >= GREATEST(last.measured_at - %s::interval, last.set_at)
    ) AS counting
"""
# One round of one wall.
Course = tuple[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """The top of a wall's end after a round: what `Top` says of it."""

    top_mm: float
    error_mm: float
    is_measured: bool
    is_assumed: bool


@dataclass(slots=True, kw_only=True)
class Filled:
    """How far the places of one cabin are filled, and how high its walls were measured."""

    layout: Layout
    errors: ErrorsUsed
    columns: Mapping[str, Sequence[WallColumn]]
    length_mm: Mapping[str, float]
    # By wall: rounds filled from the first one on, without a hole.
    rounds_up: dict[str, int]
    places: int = 0
    logs_set: int = 0
    # By round: when the last log in it was set.
    set_at: dict[int, datetime] = field(default_factory=dict)
    # Its height, and of how many readings that is the mean.
    measured: dict[Spot, tuple[float, int]] = field(default_factory=dict)

    @property
    def complete(self) -> int:
        """Rounds filled in every wall from the first one on, without a hole."""
        return min(self.rounds_up.values())

    @property
    def shown(self) -> set[Course]:
        """The courses whose heights are shown: the last full one of each wall, and of the cabin."""
        return {*self.rounds_up.items(), *((wall, self.complete) for wall in self.rounds_up)}


Ends = dict[Course, tuple[Reached, Reached]]


def filled_of(cabins: Sequence[Cabin]) -> dict[UUID, tuple[Filled, Ends]]:
    """Each cabin that has a layout: what is filled, and its shown ends.

    Three queries for all; four more for the cabins of which a shown end was not measured.
    """
    drawn = {cabin.id: cabin for cabin in cabins if cabin.layout is not None}
    errors = errors_used(next(iter(drawn.values())).crew_id) if drawn else USUALLY
    filled = {id: _unfilled(layout_of(cabin), errors) for id, cabin in drawn.items()}
    _count(filled)
    _measure(filled)
    ends = {id: _measured_ends(one) for id, one in filled.items()}
    unmeasured = [drawn[id] for id, found in ends.items() if len(found) < len(filled[id].shown)]
    if unmeasured:
        for id, standing in standing_of(unmeasured, errors=errors).items():
            ends[id] = _ends_in(stack_of(standing), filled[id])
    return {id: (one, ends[id]) for id, one in filled.items()}


def _measured_ends(filled: Filled) -> Ends:
    """The shown courses of which both ends were measured, or that are the deck."""
    found: Ends = {}
    for wall, number in filled.shown:
        measured = [
            top
            for end in (0, -1)
            if (top := filled.measured.get((wall, number, filled.columns[wall][end].column)))
        ]
        if len(measured) == 2:
            start, end = (
                Reached(
                    top_mm=top,
                    error_mm=filled.errors.errors.top_mm(rounds_since_measured=0, times_read=times),
                    is_measured=True,
                    is_assumed=False,
                )
                for top, times in measured
            )
            found[wall, number] = (start, end)
    return found


def _ends_in(stack: Stack, filled: Filled) -> Ends:
    tops = {(top.wall, top.round, top.column): top for top in stack.tops}

    def reached(wall: str, number: int, side: int) -> Reached:
        top = tops[wall, number, filled.columns[wall][side].column]
        return Reached(
            top_mm=top.top_mm,
            error_mm=top.error_mm,
            is_measured=top.is_measured,
            is_assumed=top.is_assumed,
        )

    return {
        (wall, number): (reached(wall, number, 0), reached(wall, number, -1)) for wall, number in filled.shown
    }


def _unfilled(layout: Layout, errors: ErrorsUsed) -> Filled:
    walls = layout.log_walls
    return Filled(
        layout=layout,
        errors=errors,
        columns=columns_of(layout),
        length_mm={wall.id: wall.length_mm for wall in walls},
        rounds_up=dict.fromkeys((wall.id for wall in walls), layout.round_count),
    )


def _count(filled: Mapping[UUID, Filled]) -> None:
    for cabin, wall, number, places, logs_set, last_set_at, up in _rows(_FILLED, [list(filled)] * 2):
        one = filled[cabin]
        if wall is None:
            if last_set_at:
                one.set_at[number] = last_set_at
            continue
        one.places, one.logs_set = one.places + places, one.logs_set + logs_set
        # A half log that is open lies under the first round, or over the last one.
        if up is not None:
            one.rounds_up[wall] = max(up, 0)


def _measure(filled: Mapping[UUID, Filled]) -> None:
    shown = [
        (id, wall, number, one.length_mm[wall]) for id, one in filled.items() for wall, number in one.shown
    ]
    if not shown:
        return
    courses = [list(part) for part in zip(*shown, strict=True)]
    for id, wall, number, end, height_mm, times in _rows(_MEASURED, [*courses, TOGETHER]):
        column = filled[id].columns[wall][0 if end == End.START else -1].column
        filled[id].measured[wall, number, column] = (height_mm, times)


def _rows(sql: str, given: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, given)
        return cursor.fetchall()
