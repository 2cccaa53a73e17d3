"""Pieces in their places: where in its log a position of the wall lies, and the diameter there."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from cabins.core.layout_parts import Layout
from cabins.core.places import Spot, WallPlace, columns_over, places_of


class ButtAt(StrEnum):
    """Towards which end of its wall a piece's butt lies."""

    START = "start"
    END = "end"


class PieceError(ValueError):
    """A piece without a place of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidPiece:
    """A piece laid in a place. `diameter_at` gives the log's diameter in mm at a distance from its butt."""

    wall: str
    round: int
    piece: int
    from_butt_mm: float
    butt_at: ButtAt
    diameter_at: Callable[[float], float]


def from_butt_at(*, place: WallPlace, from_butt_mm: float, butt_at: ButtAt, at_mm: float) -> float:
    """How far from the log's butt the position `at_mm` of the wall lies.

    `from_butt_mm` is the distance from the log's butt end to the piece's end nearest the butt.
    """
    if butt_at is ButtAt.START:
        return from_butt_mm + (at_mm - place.start_mm)
    return from_butt_mm + (place.end_mm - at_mm)


def column_diameters(layout: Layout, pieces: Iterable[LaidPiece]) -> Mapping[Spot, float]:
    """The diameters at the columns that `pieces` cover, as `stack_up` takes them.

    Raises PieceError for a place that does not exist or is filled twice.
    """
    places = {(place.wall, place.round, place.piece): place for place in places_of(layout)}
    diameters: dict[Spot, float] = {}
    filled: set[tuple[str, int, int]] = set()
    for piece in pieces:
        key = (piece.wall, piece.round, piece.piece)
        if key not in places:
            raise PieceError(f"there is no piece {piece.piece} in round {piece.round} of wall {piece.wall}")
        if key in filled:
            raise PieceError(f"two pieces lie in wall {piece.wall}, round {piece.round}, piece {piece.piece}")
        filled.add(key)
        place = places[key]
        over = columns_over(
            layout, piece.wall, round_number=place.round, start_mm=place.start_mm, end_mm=place.end_mm
        )
        for column, at_mm in over:
            diameters[piece.wall, piece.round, column.column] = piece.diameter_at(
                from_butt_at(place=place, from_butt_mm=piece.from_butt_mm, butt_at=piece.butt_at, at_mm=at_mm)
            )
    return diameters
