"""Pieces as they are drawn: where in the wall a log's outline runs, from its taper and the wall's heights."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from cabins.core.outline import Point
from cabins.core.pieces import ButtAt
from cabins.core.pile import half_log_mm, over_last_mm
from cabins.core.places import WallPlace, columns_of, is_half_round
from cabins.core.stack import Stack, top_at_mm
from inventory.core.drawings.hazards import HazardToDraw
from inventory.core.drawings.svg import BadDrawing
from inventory.core.profile import LogProfile, nearest_diameter_mm


class Filling(StrEnum):
    """How a place of the wall is filled: set for good, reserved by the adopted plan, or only proposed."""

    SET = "set"
    RESERVED = "reserved"
    PROPOSED = "proposed"


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceToDraw:
    """A piece in its place, with what is charted of its log."""

    wall: str
    round: int
    piece: int
    log_number: str
    from_butt_mm: float
    butt_at: ButtAt
    profile: LogProfile
    filling: Filling
    hazards: tuple[HazardToDraw, ...] = ()

    @property
    def place(self) -> tuple[str, int, int]:
        return self.wall, self.round, self.piece


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """A log's upper and lower edge along the wall: (position, height above the deck) in mm."""

    upper: tuple[tuple[float, float], ...]
    lower: tuple[tuple[float, float], ...]


def outline_of(stack: Stack, place: WallPlace, piece: PieceToDraw) -> Outline:
    """The outline of a piece: its own diameters about a straight axis through the heights at the columns.

    At every column it lies under, the upper edge is the stack's top there, and the distance between the edges
    the log's diameter. Between stations it is straight, as the log is charted; a bow is not drawn.
    """
    if is_half_round(place.round, stack.layout.round_count):
        return _half_outline(stack, place, _diameters(stack, place, piece))
    points = [
        (at_mm, axis_mm_at(stack, wall=place.wall, round_number=place.round, at_mm=at_mm), diameter)
        for at_mm, diameter in _diameters(stack, place, piece)
    ]
    return Outline(
        upper=tuple((at, axis + diameter / 2) for at, axis, diameter in points),
        lower=tuple((at, axis - diameter / 2) for at, axis, diameter in points),
    )


def nominal_outline(stack: Stack, place: WallPlace) -> Outline:
    """The outline of an empty place: what the stack assumes there."""
    ends = (place.start_mm, place.end_mm)
    if is_half_round(place.round, stack.layout.round_count):
        return _half_outline(stack, place, [(at_mm, stack.layout.log_middle_mm) for at_mm in ends])
    half = stack.layout.log_middle_mm / 2
    axis = [axis_mm_at(stack, wall=place.wall, round_number=place.round, at_mm=at_mm) for at_mm in ends]
    return Outline(
        upper=tuple((at, mm + half) for at, mm in zip(ends, axis, strict=True)),
        lower=tuple((at, mm - half) for at, mm in zip(ends, axis, strict=True)),
    )


def _half_outline(stack: Stack, place: WallPlace, diameters: Sequence[tuple[float, float]]) -> Outline:
    """Half a log: on the deck with its flat side down, or over the last log with its flat side up."""
    layout = stack.layout

    def edges_mm(at_mm: float, diameter_mm: float) -> tuple[float, float]:
        half = half_log_mm(diameter_mm=diameter_mm, kerf_mm=layout.rip_kerf_mm)
        if place.round == 0:
            return 0.0, half
        last = top_at_mm(stack, wall=place.wall, round_number=layout.round_count, at_mm=at_mm)
        top = over_last_mm(layout, last_mm=last, diameter_mm=diameter_mm)
        return top - half, top

    edges = [(at, edges_mm(at, diameter)) for at, diameter in diameters]
    return Outline(
        upper=tuple((at, top) for at, (_, top) in edges), lower=tuple((at, bed) for at, (bed, _) in edges)
    )


def axis_mm_at(stack: Stack, *, wall: str, round_number: int, at_mm: float) -> float:
    """Height of a course's axis: straight between the columns, and straight on beyond the outer ones."""
    columns = columns_of(stack.layout)[wall]
    left, right = next(pair for pair in pairwise(columns) if at_mm <= pair[1].at_mm or pair[1] is columns[-1])
    low, high = (
        stack.heights_mm[wall, round_number, column.column]
        - stack.diameters_mm[wall, round_number, column.column] / 2
        for column in (left, right)
    )
    return low + (high - low) * (at_mm - left.at_mm) / (right.at_mm - left.at_mm)


def position_mm(place: WallPlace, piece: PieceToDraw, from_butt_mm: float) -> float:
    """Where along the wall a position of the log lies: the other way round of `from_butt_at`."""
    along = from_butt_mm - piece.from_butt_mm
    return place.start_mm + along if piece.butt_at is ButtAt.START else place.end_mm - along


def _diameters(stack: Stack, place: WallPlace, piece: PieceToDraw) -> list[tuple[float, float]]:
    """(position, diameter) at the piece's ends, at its stations and at the columns, along the wall."""
    near, far = piece.from_butt_mm, piece.from_butt_mm + place.length_mm
    # What lies in the wall is drawn as long as its place, even if its log was written down shorter since.
    in_log = {near, far}
    in_log |= {at for at, _ in piece.profile.stations if near < at < far}
    for column in columns_of(stack.layout)[place.wall]:
        if place.start_mm < column.at_mm < place.end_mm:
            along = column.at_mm - place.start_mm
            in_log.add(near + (along if piece.butt_at is ButtAt.START else place.length_mm - along))
    found = [(position_mm(place, piece, at), nearest_diameter_mm(piece.profile, at)) for at in in_log]
    return sorted(found)


def edge_within(edge: Sequence[Point], reach: tuple[float, float]) -> list[Point]:
    """The part of an edge that lies within reach, cut straight."""

    def height_at(at: float) -> float:
        left, right = next(pair for pair in pairwise(edge) if at <= pair[1][0] or pair[1] is edge[-1])
        return left[1] + (right[1] - left[1]) * (at - left[0]) / (right[0] - left[0])

    low, high = max(reach[0], edge[0][0]), min(reach[1], edge[-1][0])
    return [(low, height_at(low)), *(p for p in edge if low < p[0] < high), (high, height_at(high))]


def by_place(pieces: Sequence[PieceToDraw]) -> dict[tuple[str, int, int], PieceToDraw]:
    """The pieces by the place that each fills. Raises BadDrawing if two fill one."""
    found = {piece.place: piece for piece in pieces}
    if len(found) < len(pieces):
        raise BadDrawing("two pieces fill one place")
    return found
