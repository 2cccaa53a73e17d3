"""How far walls are, counted by the database: for many cabins at once, without a row for every log."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models.expressions import RawSQL

from cabins.core.layout_parts import Layout
from cabins.core.pieces import column_diameters
from cabins.core.places import Spot, columns_of
from cabins.core.reached import Columns, Course, Reached, courses_needed, ends_after
from cabins.models import Cabin, End
from cabins.queries.walls import laid_piece, layout_of, pieces_in

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
# The last height up to each course that counts: the log that lies under it now is the one that was measured.
_MEASURED = """
    SELECT course.cabin_id, course.wall, last.round, one_end, last.height_mm::float8
    FROM unnest(%s::uuid[], %s::text[], %s::int[], %s::float8[]) AS course (cabin_id, wall, round, length_mm)
    CROSS JOIN unnest(ARRAY['start', 'end']) AS one_end
    CROSS JOIN LATERAL (
        SELECT height.round, height_mm FROM cabins_measuredheight height
        WHERE (height.cabin_id, height.wall, height.end) = (course.cabin_id, course.wall, one_end)
            AND height.round <= course.round AND (height.round = 0 OR EXISTS (
                SELECT FROM cabins_place place
                JOIN cabins_setlog log ON log.place_id = place.id AND log.undone_at IS NULL
                WHERE (place.cabin_id, place.round, place.wall)
                    = (height.cabin_id, height.round, height.wall)
                    AND CASE one_end WHEN 'start' THEN 0 ELSE course.length_mm END
                        BETWEEN place.start_mm AND place.end_mm
                    AND log.set_at <= height.measured_at
            ))
        ORDER BY height.round DESC, measured_at DESC, created_at DESC, height.id DESC LIMIT 1
    ) AS last
"""
_IN_COURSES = """
    SELECT log.id FROM cabins_setlog log
    JOIN unnest(%s::uuid[], %s::text[], %s::int[]) AS course (cabin_id, wall, round)
        USING (cabin_id, wall, round)
"""


@dataclass(slots=True, kw_only=True)
class Filled:
    """How far the places of one cabin are filled, and how high its walls were measured."""

    layout: Layout
    columns: Columns
    length_mm: Mapping[str, float]
    # By wall: rounds filled from the first one on, without a hole.
    rounds_up: dict[str, int]
    places: int = 0
    logs_set: int = 0
    # By round: when the last log in it was set.
    set_at: dict[int, datetime] = field(default_factory=dict)
    measured_mm: dict[Spot, float] = field(default_factory=dict)

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
    """Each cabin that has a layout: what is filled, and its shown ends; three queries for all."""
    filled = {cabin.id: _unfilled(layout_of(cabin)) for cabin in cabins if cabin.layout is not None}
    _count(filled)
    _measure(filled)
    pieces = _pieces_in(filled)
    return {id: (one, _ends_of(one, pieces[id])) for id, one in filled.items()}


def _unfilled(layout: Layout) -> Filled:
    walls = layout.log_walls
    return Filled(
        layout=layout,
        columns=columns_of(layout),
        length_mm={wall.id: wall.length_mm for wall in walls},
        rounds_up=dict.fromkeys((wall.id for wall in walls), layout.round_count),
    )


def _ends_of(filled: Filled, pieces: Sequence[Mapping[str, Any]]) -> Ends:
    diameters = column_diameters(filled.layout, map(laid_piece, pieces)) if pieces else {}
    return ends_after(
        filled.layout, filled.columns, filled.shown, diameters_mm=diameters, measured_mm=filled.measured_mm
    )


def _count(filled: Mapping[UUID, Filled]) -> None:
    for cabin, wall, number, places, logs_set, last_set_at, up in _rows(_FILLED, [list(filled)] * 2):
        one = filled[cabin]
        if wall is None:
            if last_set_at:
                one.set_at[number] = last_set_at
            continue
        one.places, one.logs_set = one.places + places, one.logs_set + logs_set
        if up is not None:
            one.rounds_up[wall] = up


def _measure(filled: Mapping[UUID, Filled]) -> None:
    shown = [
        (id, wall, number, one.length_mm[wall]) for id, one in filled.items() for wall, number in one.shown
    ]
    if not shown:
        return
    for id, wall, number, end, height_mm in _rows(
        _MEASURED, [list(part) for part in zip(*shown, strict=True)]
    ):
        column = filled[id].columns[wall][0 if end == End.START else -1].column
        filled[id].measured_mm[wall, number, column] = height_mm


def _pieces_in(filled: Mapping[UUID, Filled]) -> Mapping[UUID, list[dict[str, Any]]]:
    """The pieces above the last measured heights, with the measures of their logs."""
    courses = [
        (id, wall, number)
        for id, one in filled.items()
        for wall, number in courses_needed(one.layout, one.columns, one.shown, one.measured_mm)
    ]
    pieces: dict[UUID, list[dict[str, Any]]] = {id: [] for id in filled}
    if courses:
        wanted = RawSQL(_IN_COURSES, [list(part) for part in zip(*courses, strict=True)])
        for row in pieces_in(filled).filter(id__in=wanted):
            pieces[row["cabin"]].append(row)
    return pieces


def _rows(sql: str, given: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, given)
        return cursor.fetchall()
