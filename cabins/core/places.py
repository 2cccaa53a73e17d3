"""Places to be filled, crossings and columns of a layout: where logs lie and where they cross."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from cabins.core.layout_parts import (
    HighStart,
    Layout,
    LogWall,
    Span,
    Start,
    WallTee,
    WallTop,
    once_a_layout,
)
from cabins.core.rounds import DUST_MM, rounds_for_height

__all__ = [
    "CornerCrossing",
    "CrossingKind",
    "HalfLog",
    "Spot",
    "WallColumn",
    "WallPlace",
    "column_at",
    "columns_of",
    "columns_over",
    "counted_columns",
    "crossings_of",
    "half_logs_of",
    "is_half_round",
    "places_of",
    "rounds_for_height",
    "rounds_with_places",
]

# (wall, round, column): where a diameter counts and a height is taken. Round 0 is what a wall starts on.
Spot = tuple[str, int, int]


class CrossingKind(StrEnum):
    """Where two log walls cross: at a corner, or where a partition, or a wall that runs on, meets a wall."""

    CORNER = "corner"
    TEE = "tee"


@dataclass(frozen=True, slots=True, kw_only=True)
class WallPlace:
    """One position to be filled. `start_mm`, `end_mm` along the wall from its start corner's centre."""

    wall: str
    round: int
    piece: int
    start_mm: float
    end_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerCrossing:
    """Which low wall at which position crosses which high wall at which position."""

    id: str
    kind: CrossingKind
    low_wall: str
    low_at_mm: float
    high_wall: str
    high_at_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WallColumn:
    """A position on a wall where heights are taken, all that cross it: its ends and between them tees and
    corners that it runs on past, numbered from the start."""

    wall: str
    column: int
    at_mm: float
    crossing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfLog:
    """Half a log, ripped lengthwise, that a high wall starts on, or that a low wall ends in.

    `round` and `piece` name its place; None where the layout has no places for its half logs.
    """

    wall: str
    length_mm: float
    round: int | None = None
    piece: int | None = None


def places_of(layout: Layout) -> tuple[WallPlace, ...]:
    """Every place of the layout, by wall, round and piece, numbered from 0 at the wall's start.

    A course runs from one overhang to the other; where an opening cuts it through it has pieces. Half logs
    that are places lie in round 0 of the high walls and in the round over the last one of the low walls.
    """
    return tuple(
        place
        for wall in layout.log_walls
        for number in rounds_of_wall(layout, wall)
        for place in _places(wall, number, layout.courses[wall.id, number])
    )


def course_spans(layout: Layout, wall: str, number: int) -> tuple[Span, ...]:
    """The pieces of one course along its wall, half logs too; none where the wall has no such course."""
    return layout.courses.get((wall, number), ())


def is_half_round(round_number: int, rounds: int) -> bool:
    """Whether the places of a round are for half logs: under the first round, or over the last one."""
    return round_number == 0 or round_number > rounds


def rounds_with_places(layout: Layout) -> range:
    """The rounds in which logs are set: with half logs round 0 too, with even tops one over the last."""
    first = 0 if layout.half_logs else 1
    return range(first, layout.round_count + (2 if layout.top is WallTop.EVEN else 1))


def rounds_of_wall(layout: Layout, wall: LogWall) -> range:
    """The rounds in which a wall has places: high walls start on half logs, low ones may end in them."""
    first = 0 if layout.half_logs and wall.start is Start.HIGH else 1
    is_even = layout.top is WallTop.EVEN and wall.start is Start.LOW
    return range(first, layout.round_count + (2 if is_even else 1))


def whole_spans(layout: Layout, wall: LogWall, number: int) -> tuple[Span, ...]:
    """A course that no opening cuts: from one overhang to the other; the half logs over the last round lie
    between the last logs of the high walls, which are as high as they."""
    if number <= layout.round_count:
        return ((wall.from_mm, wall.to_mm),)
    half = layout.log_middle_mm / 2
    crossed = [column.at_mm for column in columns_of(layout)[wall.id]]
    return tuple((near + half, far - half) for near, far in pairwise(crossed))


def _places(wall: LogWall, number: int, spans: Sequence[tuple[float, float]]) -> list[WallPlace]:
    return [
        WallPlace(
            wall=wall.id,
            round=number,
            piece=piece,
            start_mm=start,
            end_mm=end,
            length_mm=end - start,
        )
        for piece, (start, end) in enumerate(spans)
    ]


@once_a_layout
def crossings_of(layout: Layout) -> tuple[CornerCrossing, ...]:
    """Every crossing: corners in the document's order, named as their corner, then tees as `P-A`."""
    crossings = [_corner_crossing(layout, corner.id) for corner in layout.corners]
    starts = {wall.id: wall.start for wall in layout.log_walls}
    crossings += [_tee_crossing(tee, starts[tee.wall]) for tee in layout.wall_tees]
    return tuple(crossings)


def _corner_crossing(layout: Layout, corner: str) -> CornerCrossing:
    at = {
        wall.start: (wall.id, wall.from_corner_mm if wall.from_corner == corner else wall.to_corner_mm)
        for wall in layout.walls
        if corner in (wall.from_corner, wall.to_corner)
    }
    return _crossing(corner, CrossingKind.CORNER, at)


def _tee_crossing(one: WallTee, start: Start) -> CornerCrossing:
    other = Start.LOW if start is Start.HIGH else Start.HIGH
    at = {start: (one.wall, one.at_mm), other: (one.tee.wall, one.tee.at_mm)}
    return _crossing(one.id, CrossingKind.TEE, at)


def _crossing(id: str, kind: CrossingKind, at: dict[Start, tuple[str, float]]) -> CornerCrossing:
    (low_wall, low_at), (high_wall, high_at) = at[Start.LOW], at[Start.HIGH]
    return CornerCrossing(
        id=id, kind=kind, low_wall=low_wall, low_at_mm=low_at, high_wall=high_wall, high_at_mm=high_at
    )


@once_a_layout
def columns_of(layout: Layout) -> dict[str, tuple[WallColumn, ...]]:
    """The columns of every wall, along the wall: its start is 0, its end the last."""
    at: dict[str, list[tuple[float, str]]] = {wall.id: [] for wall in layout.log_walls}
    for crossing in crossings_of(layout):
        at[crossing.low_wall].append((crossing.low_at_mm, crossing.id))
        at[crossing.high_wall].append((crossing.high_at_mm, crossing.id))
    return {
        wall: tuple(
            WallColumn(wall=wall, column=number, at_mm=at_mm, crossing=crossing)
            for number, (at_mm, crossing) in enumerate(sorted(found))
        )
        for wall, found in at.items()
    }


@once_a_layout
def counted_columns(layout: Layout) -> dict[str, tuple[WallColumn, ...]]:
    """Every wall's columns in the order of problem files: start, end, then the others as crossings count."""
    order = {crossing.id: number for number, crossing in enumerate(crossings_of(layout))}
    return {
        wall: (row[0], row[-1], *sorted(row[1:-1], key=lambda column: order[column.crossing]))
        for wall, row in columns_of(layout).items()
    }


def column_at(columns: Sequence[WallColumn], crossing: str) -> int:
    """The number of the column that stands at `crossing`, among one wall's `columns`."""
    return next(column.column for column in columns if column.crossing == crossing)


def columns_over(
    layout: Layout, wall: str, *, round_number: int, start_mm: float, end_mm: float
) -> list[tuple[WallColumn, float]]:
    """Where the height of a piece is taken: the columns of its wall, and how far along the wall it is there.

    A half log over the last round lies between the columns: a wall's ends are those of the pieces that begin
    half a log inside its corners.
    """
    columns, half = columns_of(layout)[wall], layout.log_middle_mm / 2
    if round_number <= layout.round_count:
        return [(column, column.at_mm) for column in columns if start_mm <= column.at_mm <= end_mm]
    ends = ((columns[0], start_mm, half), (columns[-1], end_mm, -half))
    return [(column, at) for column, at, inwards in ends if abs(column.at_mm + inwards - at) < DUST_MM]


def half_logs_of(layout: Layout) -> tuple[HalfLog, ...]:
    """The half logs that high walls start on (none where their deck is raised) and low ones end in."""
    placed = tuple(
        HalfLog(wall=place.wall, length_mm=place.length_mm, round=place.round, piece=place.piece)
        for place in places_of(layout)
        if is_half_round(place.round, layout.round_count)
    )
    if layout.half_logs or layout.high_start is HighStart.RAISED_DECK:
        return placed
    unplaced = tuple(
        HalfLog(wall=wall.id, length_mm=wall.log_mm) for wall in layout.log_walls if wall.start is Start.HIGH
    )
    return unplaced + placed
