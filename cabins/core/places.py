"""Places to be filled, crossings and columns of a layout: where logs lie and where they cross."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from cabins.core.layout_parts import (
    SPLIT_OVERLAP,
    HighStart,
    Layout,
    LogWall,
    Start,
    Tee,
    course_span_mm,
    splits_course,
)
from cabins.core.rounds import HeightEstimate, height_estimate, rounds_for_height

__all__ = [
    "Column",
    "Crossing",
    "CrossingKind",
    "HalfLog",
    "HeightEstimate",
    "Place",
    "Spot",
    "column_at",
    "columns_of",
    "crossings_of",
    "half_logs_of",
    "height_estimate",
    "places_of",
    "rounds_for_height",
]

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
    """Half a log, ripped lengthwise, that a high wall starts on."""

    wall: str
    length_mm: float


def places_of(layout: Layout, *, split_overlap: float = SPLIT_OVERLAP) -> tuple[Place, ...]:
    """Every place of the layout, by wall, round and piece.

    A course runs from one overhang to the other. An opening that overlaps its nominal span by more than
    `split_overlap` of the pitch cuts it into pieces, numbered from 0 at the wall's start.
    """
    return tuple(
        place
        for wall in layout.log_walls
        for round_number in range(1, layout.round_count + 1)
        for place in _course(layout, wall, round_number, split_overlap)
    )


def _course(layout: Layout, wall: LogWall, round_number: int, split_overlap: float) -> list[Place]:
    span = course_span_mm(pitch_mm=layout.pitch_mm, start=wall.start, round_number=round_number)
    edges = [-wall.overhang_mm]
    for opening in sorted(layout.openings, key=lambda opening: opening.offset_mm):
        if opening.wall == wall.id and splits_course(
            opening=opening, span_mm=span, split_overlap=split_overlap
        ):
            edges += [opening.offset_mm, opening.end_mm]
    edges.append(wall.length_mm + wall.overhang_mm)
    return [
        Place(
            wall=wall.id,
            round=round_number,
            piece=piece,
            start_mm=start,
            end_mm=end,
            length_mm=end - start,
        )
        for piece, (start, end) in enumerate(zip(edges[::2], edges[1::2], strict=True))
    ]


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


def half_logs_of(layout: Layout) -> tuple[HalfLog, ...]:
    """The half logs that the high walls start on; none where their deck is raised instead."""
    if layout.high_start is HighStart.RAISED_DECK:
        return ()
    return tuple(
        HalfLog(wall=wall.id, length_mm=wall.length_mm + 2 * wall.overhang_mm)
        for wall in layout.log_walls
        if wall.start is Start.HIGH
    )
