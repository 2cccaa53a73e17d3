"""What stands of a cabin: its layout, the logs set in it, the heights that count, and the stack they make."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import lru_cache
from typing import Any
from uuid import UUID

import orjson
from django.db.models import F, QuerySet

from cabins.cabins.models import Cabin
from cabins.choices.errors import USUALLY, ErrorsUsed, errors_used
from cabins.core.course_files import read_courses
from cabins.core.layout import read_layout
from cabins.core.layout_parts import Layout
from cabins.core.pieces import ButtAt, LaidPiece, column_diameters
from cabins.core.places import Spot, WallColumn, columns_of, columns_over, course_spans
from cabins.core.stack import Stack, stack_up
from cabins.core.top_readings import SingleReading, TopReadings, readings_together
from cabins.heights.models import MeasuredHeight
from cabins.set_logs.models import End, SetLog
from cabins.walls.planned import PlannedWall, planned_walls_of
from crews.api.problems import Refusal
from inventory.core.profile import nearest_diameter_mm
from inventory.logs.models import MEASURES, LogState
from inventory.logs.profiles import profile_of_row

Rows = Sequence[Mapping[str, Any]]


_PIECE_FIELDS = ["id", "cabin", "wall", "round", "piece", "log", "from_butt_mm", "butt_at", "set_at"]
_READING_FIELDS = ["cabin", "wall", "round", "end", "height_mm", "measured_at", "measured_by", "id"]


class NotLaidOut(Refusal):
    """This cabin has no layout yet."""

    status = 404


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What stands of one cabin, and what is planned above it.

    `pieces`: rows of `set_pieces_of`; `readings`: of each top that was measured, those that count.
    `coming`: the pieces planned for the places still open, rows of the same fields; `lost`: those of them
    whose log is gone or taken for another cabin, so that nothing is known for their places; `planned_mm`:
    the plan's own tops.
    """

    layout: Layout
    pieces: Rows
    readings: Mapping[Spot, TopReadings]
    coming: Rows = ()
    lost: Rows = ()
    planned_mm: Mapping[Spot, float] = field(default_factory=dict)
    errors: ErrorsUsed = USUALLY

    @property
    def heights_mm(self) -> dict[Spot, Decimal]:
        """The measured tops: of each the mean of its readings."""
        return {spot: found.mean_mm for spot, found in self.readings.items()}


def layout_of(cabin: Cabin) -> Layout:
    """The cabin's layout. Raises NotLaidOut."""
    if cabin.layout is None:
        raise NotLaidOut
    return _layout_as_stored(orjson.dumps([cabin.layout, cabin.courses]))


@lru_cache(maxsize=64)
def _layout_as_stored(stored: bytes) -> Layout:
    """Kept by what it holds, not by its version: a change that is taken back gives its version to another."""
    layout, courses = orjson.loads(stored)
    return read_layout(layout, courses=read_courses(courses), stands=True)


def set_pieces_of(cabin: Cabin) -> Rows:
    """The pieces that lie in the cabin now, with the measures of their logs; one query."""
    return list(pieces_in([cabin]))


def pieces_in(cabins: Iterable[Cabin | UUID]) -> QuerySet[SetLog, dict[str, Any]]:
    """The pieces that lie in these cabins now, with the measures of their logs."""
    return (
        SetLog.objects.filter(cabin__in=list(cabins), undone_at=None)
        .order_by("round", "wall", "piece")
        .values(
            *_PIECE_FIELDS,
            start_mm=F("place__start_mm"),
            end_mm=F("place__end_mm"),
            log_number=F("log__number"),
            **{name: F(f"log__{name}") for name in MEASURES},
        )
    )


def columns_by_name(layout: Layout) -> dict[tuple[str, str], tuple[str, int]]:
    """(wall, column) by (wall, name): a wall's `start` and `end`, and its tees by their crossings' names."""
    return {
        (wall, _name_of(column, row)): (wall, column.column)
        for wall, row in columns_of(layout).items()
        for column in row
    }


def _name_of(column: WallColumn, row: Sequence[WallColumn]) -> str:
    if column is row[0]:
        return End.START.value
    return End.END.value if column is row[-1] else column.crossing


def standing_of(
    cabins: Sequence[Cabin],
    *,
    planned: Mapping[UUID, PlannedWall] | None = None,
    errors: ErrorsUsed | None = None,
) -> dict[UUID, Standing]:
    """What stands of each cabin of a crew that has a layout, and what is planned; five queries for all.

    `planned`: by another plan than those the cabins are built by; two queries less then. `errors`: the
    crew's, where they are at hand; one less.
    """
    drawn = [cabin for cabin in cabins if cabin.layout is not None]
    if errors is None and drawn:
        errors = errors_used(drawn[0].crew_id)
    pieces: dict[UUID, list[dict[str, Any]]] = {cabin.id: [] for cabin in drawn}
    for row in pieces_in(drawn):
        pieces[row["cabin"]].append(row)
    heights: dict[UUID, list[dict[str, Any]]] = {cabin.id: [] for cabin in drawn}
    for row in _readings_in(drawn):
        heights[row["cabin"]].append(row)
    walls = planned_walls_of(drawn) if planned is None else planned
    return {
        cabin.id: _standing(
            layout_of(cabin),
            pieces[cabin.id],
            heights[cabin.id],
            walls.get(cabin.id, PlannedWall()),
            errors or USUALLY,
        )
        for cabin in drawn
    }


def _readings_in(cabins: Iterable[Cabin]) -> QuerySet[MeasuredHeight, dict[str, Any]]:
    return MeasuredHeight.objects.filter(cabin__in=list(cabins), undone_at=None).values(*_READING_FIELDS)


def _standing(
    layout: Layout, pieces: Rows, heights: Rows, planned: PlannedWall, errors: ErrorsUsed
) -> Standing:
    under, places = columns_set(layout, pieces), columns_by_name(layout)
    read: dict[Spot, list[SingleReading]] = {}
    for row in heights:
        wall, column = places.get((row["wall"], row["end"]), ("", 0))
        spot = (wall, row["round"], column)
        # What a wall starts on may be measured before a half log is recorded, or be none.
        if wall and (spot in under or row["round"] == 0):
            read.setdefault(spot, []).append(_reading(row))
    readings = {
        spot: found
        for spot, rows in read.items()
        if (found := readings_together(rows, since=under[spot]["set_at"] if spot in under else None))
    }
    filled = {place_key(row) for row in pieces}
    layout = _cut_as_planned(layout, pieces, planned)
    still_open = [row for row in planned.pieces if place_key(row) not in filled and _lies_in(layout, row)]
    return Standing(
        layout=layout,
        pieces=pieces,
        readings=readings,
        coming=[row for row in still_open if not is_lost(row)],
        lost=[row for row in still_open if is_lost(row)],
        planned_mm=planned.tops_mm,
        errors=errors,
    )


def _cut_as_planned(layout: Layout, pieces: Rows, planned: PlannedWall) -> Layout:
    """The layout with its courses cut as a plan cuts them; those in which logs are set stay as they are."""
    if planned.courses is None:
        return layout
    begun = {(row["wall"], row["round"]) for row in pieces}
    return replace(
        layout,
        courses={
            course: spans if course in begun else planned.courses.get(course, spans)
            for course, spans in layout.courses.items()
        },
    )


def _lies_in(layout: Layout, row: Mapping[str, Any]) -> bool:
    """Whether a planned piece's place is there: its course may have been begun otherwise since."""
    spans = course_spans(layout, row["wall"], row["round"])
    if row["piece"] >= len(spans):
        return False
    start, end = spans[row["piece"]]
    return abs(start - float(row["start_mm"])) < 0.01 and abs(end - float(row["end_mm"])) < 0.01


def place_key(row: Mapping[str, Any]) -> tuple[str, int, int]:
    """The place of a piece: its wall, round and piece."""
    return row["wall"], row["round"], row["piece"]


def is_lost(row: Mapping[str, Any]) -> bool:
    """Whether the log of a planned piece is not to be had any more, by its `log_state` and `is_taken`."""
    in_use = row["log_state"] in (LogState.SET, LogState.CUT_UP)
    return row["log_state"] == LogState.GONE or (row["is_taken"] and in_use)


def _reading(row: Mapping[str, Any]) -> SingleReading:
    return SingleReading(**{name: row[name] for name in ("height_mm", "measured_at", "measured_by", "id")})


def columns_set(layout: Layout, pieces: Rows) -> dict[Spot, Mapping[str, Any]]:
    """Which piece lies where heights are taken in each round: over a corner's or a tee's centre."""
    return {
        (row["wall"], row["round"], column.column): row
        for row in pieces
        for column, _ in columns_over(
            layout,
            row["wall"],
            round_number=row["round"],
            start_mm=float(row["start_mm"]),
            end_mm=float(row["end_mm"]),
        )
    }


def wall_stack(cabin: Cabin) -> Stack:
    """Tops, levels and notches of the cabin as it stands and goes on; four queries. Raises NotLaidOut."""
    layout_of(cabin)
    return stack_of(standing_of([cabin])[cabin.id])


def stack_of(standing: Standing, *, tried: Iterable[LaidPiece] = ()) -> Stack:
    """The one stack that every sheet, drawing and page shows.

    In each place the log that is set counts, else one of `tried`, else the one planned, else the layout's
    middle diameter; heights as measured, above them steered to the plan's own tops.
    """
    laid = [laid_piece(row) for row in standing.pieces]
    lying = column_diameters(standing.layout, laid)
    for others in (list(tried), [laid_piece(row) for row in standing.coming]):
        filled = {(piece.wall, piece.round, piece.piece) for piece in laid}
        laid += [piece for piece in others if (piece.wall, piece.round, piece.piece) not in filled]
    return stack_up(
        standing.layout,
        diameters_mm=column_diameters(standing.layout, laid),
        measured_mm={spot: float(height) for spot, height in standing.heights_mm.items()},
        times_read={spot: found.times for spot, found in standing.readings.items()},
        planned_mm=standing.planned_mm,
        errors=standing.errors.errors,
        lying=lying,
    )


def laid_piece(row: Mapping[str, Any]) -> LaidPiece:
    """A piece with its log's measures (a row of `set_pieces_of`, or the like) as the core takes it."""
    profile = profile_of_row(row)
    return LaidPiece(
        wall=row["wall"],
        round=row["round"],
        piece=row["piece"],
        from_butt_mm=float(row["from_butt_mm"]),
        butt_at=ButtAt(row["butt_at"]),
        diameter_at=lambda at_mm: nearest_diameter_mm(profile, at_mm),
    )
