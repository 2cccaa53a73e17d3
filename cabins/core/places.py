"""Places to be filled, crossings and columns of a layout: where logs lie and where they cross."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from cabins.core.layout_parts import (
    SPLIT_OVERLAP,
    HighStart,
    Layout,
    LogWall,
    Start,
    Tee,
    WallTop,
    course_span_mm,
    once_a_layout,
    splits_course,
)
from cabins.core.rounds import rounds_for_height

__all__ = [
    "Column",
    "Crossing",
    "CrossingKind",
    "HalfLog",
    "Place",
    "Spot",
    "column_at",
    "columns_of",
    "columns_over",
    "crossings_of",
    "half_logs_of",
    "is_half_round",
    "places_of",
    "rounds_for_height",
    "rounds_with_places",
]

# An opening that takes more than this share of a half log's height cuts it through.
HALF_CUT_SHARE = 0.5

# (wall, round, column): where a diameter counts and a height is taken. Round 0 is what a wall starts on.
Spot = tuple[str, int, int]


class CrossingKind(StrEnum):
    """Where two log walls cross: at a corner, or where a partition meets a wall."""

    CORNER = "corner"
    TEE = "tee"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One position to be filled. `start_mm`, `end_mm` along the wall from its start corner's centre."""

    wall: str
    round: int
    piece: int
    start_mm: float
    end_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """Which low wall at which position crosses which high wall at which position."""

    id: str
    kind: CrossingKind
    low_wall: str
    low_at_mm: float
    high_wall: str
    high_at_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A position on a wall where heights are taken: its ends and every tee, numbered from the start."""

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


def places_of(layout: Layout, *, split_overlap: float = SPLIT_OVERLAP) -> tuple[Place, ...]:
    """Every place of the layout, by wall, round and piece.

    A course runs from one overhang to the other. An opening that overlaps its nominal span by more than
    `split_overlap` of the pitch cuts it into pieces, numbered from 0 at the wall's start. Half logs that are
    places lie in round 0 of the high walls and in the round over the last one of the low walls.
    """
    return tuple(
        place
        for wall in layout.log_walls
        for places in (
            _half_course(layout, wall),
            *(
                _course(layout, wall, round_number, split_overlap)
                for round_number in range(1, layout.round_count + 1)
            ),
            _top_halves(layout, wall),
        )
        for place in places
    )


def is_half_round(round_number: int, rounds: int) -> bool:
    """Whether the places of a round are for half logs: under the first round, or over the last one."""
    return round_number == 0 or round_number > rounds


def rounds_with_places(layout: Layout) -> range:
    """The rounds in which logs are set: with half logs round 0 too, with even tops one over the last."""
    first = 0 if layout.half_logs else 1
    return range(first, layout.round_count + (2 if layout.top is WallTop.EVEN else 1))


def _course(layout: Layout, wall: LogWall, round_number: int, split_overlap: float) -> list[Place]:
    span = course_span_mm(pitch_mm=layout.pitch_mm, start=wall.start, round_number=round_number)
    return _cut_at_openings(layout, wall, round_number, span, split_overlap)


def _half_course(layout: Layout, wall: LogWall) -> list[Place]:
    """The half logs under a high wall; an opening that begins at the deck cuts them."""
    if not layout.half_logs or wall.start is Start.LOW:
        return []
    return _cut_at_openings(layout, wall, 0, (0.0, layout.log_middle_mm / 2), HALF_CUT_SHARE)


def _top_halves(layout: Layout, wall: LogWall) -> list[Place]:
    """The half logs over a low wall: between the last logs of the high walls, which are as high as they."""
    if layout.top is not WallTop.EVEN or wall.start is Start.HIGH:
        return []
    number, half = layout.round_count + 1, layout.log_middle_mm / 2
    crossed = [column.at_mm for column in columns_of(layout)[wall.id]]
    return _places(wall, number, [(near + half, far - half) for near, far in pairwise(crossed)])


def _cut_at_openings(
    layout: Layout, wall: LogWall, round_number: int, span: tuple[float, float], share: float
) -> list[Place]:
    edges = [wall.from_mm]
    for opening in sorted(layout.openings, key=lambda opening: opening.offset_mm):
        if opening.wall == wall.id and splits_course(opening=opening, span_mm=span, split_overlap=share):
            edges += [opening.offset_mm, opening.end_mm]
    edges.append(wall.to_mm)
    return _places(wall, round_number, list(zip(edges[::2], edges[1::2], strict=True)))


def _places(wall: LogWall, round_number: int, spans: Sequence[tuple[float, float]]) -> list[Place]:
    return [
        Place(
            wall=wall.id,
            round=round_number,
            piece=piece,
            start_mm=start,
            end_mm=end,
            length_mm=end - start,
        )
        for piece, (start, end) in enumerate(spans)
    ]


@once_a_layout
def crossings_of(layout: Layout) -> tuple[Crossing, ...]:
    """Every crossing: corners in the document's order, named as their corner, then tees as `P-A`."""
    crossings = [_corner_crossing(layout, corner.id) for corner in layout.corners]
    lengths = {wall.id: wall for wall in layout.log_walls}
    for partition in layout.partitions:
        for tee, at_mm in ((partition.from_tee, 0.0), (partition.to_tee, partition.length_mm)):
            crossings.append(_tee_crossing(lengths[partition.id], at_mm, tee))
    return tuple(crossings)


def _corner_crossing(layout: Layout, corner: str) -> Crossing:
    at = {
        wall.start: (wall.id, 0.0 if wall.from_corner == corner else wall.length_mm)
        for wall in layout.walls
        if corner in (wall.from_corner, wall.to_corner)
    }
    return _crossing(corner, CrossingKind.CORNER, at)


def _tee_crossing(partition: LogWall, at_mm: float, tee: Tee) -> Crossing:
    other = Start.LOW if partition.start is Start.HIGH else Start.HIGH
    at = {partition.start: (partition.id, at_mm), other: (tee.wall, tee.at_mm)}
    return _crossing(f"{partition.id}-{tee.wall}", CrossingKind.TEE, at)


def _crossing(id: str, kind: CrossingKind, at: dict[Start, tuple[str, float]]) -> Crossing:
    (low_wall, low_at), (high_wall, high_at) = at[Start.LOW], at[Start.HIGH]
    return Crossing(
        id=id, kind=kind, low_wall=low_wall, low_at_mm=low_at, high_wall=high_wall, high_at_mm=high_at
    )


@once_a_layout
def columns_of(layout: Layout) -> dict[str, tuple[Column, ...]]:
    """The columns of every wall, along the wall: its start corner is 0, its end corner the last."""
    at: dict[str, list[tuple[float, str]]] = {wall.id: [] for wall in layout.log_walls}
    for crossing in crossings_of(layout):
        at[crossing.low_wall].append((crossing.low_at_mm, crossing.id))
        at[crossing.high_wall].append((crossing.high_at_mm, crossing.id))
    return {
        wall: tuple(
            Column(wall=wall, column=number, at_mm=at_mm, crossing=crossing)
            for number, (at_mm, crossing) in enumerate(sorted(found))
        )
        for wall, found in at.items()
    }


def column_at(columns: Sequence[Column], crossing: str) -> int:
    """The number of the column that stands at `crossing`, among one wall's `columns`."""
    return next(column.column for column in columns if column.crossing == crossing)


def columns_over(
    columns: Sequence[Column], *, rounds: int, round_number: int, piece: int, start_mm: float, end_mm: float
) -> list[tuple[Column, float]]:
    """Where the height of a piece is taken: the columns of its wall, and how far along the wall it is there.

    A half log over the last round lies between the columns: its wall ends are those of the outer pieces.
    """
    if round_number <= rounds:
        return [(column, column.at_mm) for column in columns if start_mm <= column.at_mm <= end_mm]
    first = [(columns[0], start_mm)] if piece == 0 else []
    return first + ([(columns[-1], end_mm)] if piece == len(columns) - 2 else [])


def half_logs_of(layout: Layout) -> tuple[HalfLog, ...]:
    """The half logs that high walls start on (none where their deck is raised) and low ones end in."""
    placed = tuple(
        HalfLog(wall=place.wall, length_mm=place.length_mm, round=place.round, piece=place.piece)
        for wall in layout.log_walls
        for place in (*_half_course(layout, wall), *_top_halves(layout, wall))
    )
    if layout.half_logs or layout.high_start is HighStart.RAISED_DECK:
        return placed
    unplaced = tuple(
        HalfLog(wall=wall.id, length_mm=wall.log_mm) for wall in layout.log_walls if wall.start is Start.HIGH
    )
    return unplaced + placed
