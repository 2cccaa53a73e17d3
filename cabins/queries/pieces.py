"""Where a piece in its place lies in its log: its stretch, and the crossings it lies over."""

from dataclasses import dataclass
from decimal import Decimal

from cabins.core import places as core
from cabins.core.layout_parts import Layout
from cabins.core.pieces import ButtAt, from_butt_at
from cabins.fitting import Stretch
from cabins.models import End, Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossed:
    """A column that a piece lies over. `end`: which end of the wall it is, "" for a tee between them."""

    column: int
    crossing: str
    end: str


def core_place(place: Place) -> core.Place:
    """A stored place as the core takes it."""
    return core.Place(
        wall=place.wall,
        round=place.round,
        piece=place.piece,
        start_mm=float(place.start_mm),
        end_mm=float(place.end_mm),
        length_mm=float(place.end_mm - place.start_mm),
    )


def piece_in_log(place: Place, from_butt_mm: Decimal | float) -> Stretch:
    """The part of a log that fills the place; half of it for a place of half logs."""
    start = float(from_butt_mm)
    return Stretch(
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
