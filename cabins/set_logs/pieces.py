"""Where a piece in its place lies in its log: its stretch, and the crossings it lies over."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from cabins.cabins.models import Cabin
from cabins.core import places as core
from cabins.core.layout import read_layout
from cabins.core.layout_parts import Layout
from cabins.core.pieces import ButtAt, from_butt_at
from cabins.layouts.models import Place
from cabins.set_logs.fitting import LogStretch
from cabins.set_logs.models import End, SetLog


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossed:
    """A column that a piece lies over. `end`: which end of the wall it is, "" for a tee between them."""

    column: int
    crossing: str
    end: str


def core_place(place: Place) -> core.WallPlace:
    """A stored place as the core takes it."""
    return core.WallPlace(
        wall=place.wall,
        round=place.round,
        piece=place.piece,
        start_mm=float(place.start_mm),
        end_mm=float(place.end_mm),
        length_mm=float(place.end_mm - place.start_mm),
    )


def piece_in_log(place: Place, from_butt_mm: Decimal | float) -> LogStretch:
    """The part of a log that fills the place; half of it for a place of half logs."""
    start = float(from_butt_mm)
    return LogStretch(
        near_butt_mm=start,
        near_tip_mm=start + float(place.end_mm - place.start_mm),
        is_half=core.is_half_round(place.round, place.cabin.rounds or 0),
    )


def crossings_in_log(
    layout: Layout, place: Place, from_butt_mm: Decimal | float, butt_at: str
) -> dict[Crossed, float]:
    """The crossings a piece lies over, each with its distance from the log's butt in mm."""
    columns = core.columns_of(layout)[place.wall]
    ends = {columns[0].column: str(End.START), columns[-1].column: str(End.END)}
    spot = core_place(place)
    return {
        Crossed(
            column=column.column, crossing=column.crossing, end=ends.get(column.column, "")
        ): from_butt_at(
            place=spot, from_butt_mm=float(from_butt_mm), butt_at=ButtAt(butt_at), at_mm=column.at_mm
        )
        for column in columns
        if spot.start_mm <= column.at_mm <= spot.end_mm
    }


def logs_over(cabin: Cabin, under: SetLog) -> list[tuple[str, str, int]]:
    """The logs recorded over one that is set: (number, wall, round), from the lowest round up.

    Over it in its own wall, or notched over it at a corner or tee.
    """
    if under.place is None or cabin.layout is None:
        return []
    columns = dict(_crossing_over(read_layout(cabin.layout), under.place))
    rows = SetLog.objects.filter(cabin=cabin, undone_at=None).exclude(id=under.id).order_by("round", "wall")
    return [
        (number, wall, round_number)
        for number, wall, round_number, start, end in rows.values_list(
            "log__number", "wall", "round", "place__start_mm", "place__end_mm"
        )
        if (
            wall == under.wall
            and round_number > under.round
            and start < under.place.end_mm
            and end > under.place.start_mm
        )
        or (wall in columns and round_number >= columns[wall][1] and start <= columns[wall][0] <= end)
    ]


def _crossing_over(layout: Layout, place: Place) -> Iterator[tuple[str, tuple[float, int]]]:
    """The walls that cross over a place: where along them, and from which round on."""
    walls = core.columns_of(layout)
    spot = core_place(place)
    for crossing in core.crossings_of(layout):
        low, high = crossing.low_wall, crossing.high_wall
        if place.wall not in (low, high):
            continue
        other = high if place.wall == low else low
        here = walls[place.wall][core.column_at(walls[place.wall], crossing.id)]
        there = walls[other][core.column_at(walls[other], crossing.id)]
        if spot.start_mm <= here.at_mm <= spot.end_mm:
            yield other, (there.at_mm, place.round + (other == low))
