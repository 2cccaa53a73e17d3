"""A cabin's logs in space: cross-sections along each wall, from the same outlines as the elevations."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cabins.core.drawings.pieces import Filling, Outline, PieceToDraw, by_place, nominal_outline, outline_of
from cabins.core.layout_parts import Layout
from cabins.core.outline import Segment, direction, point_along
from cabins.core.places import WallPlace, is_half_round, places_of
from cabins.core.run_on_checks import lines_of
from cabins.core.stack import Stack

SpacePoint = tuple[float, float, float]
AROUND = 24  # points of a cross-section


@dataclass(frozen=True, slots=True, kw_only=True)
class LogInSpace:
    """A log, or an empty place, of a wall: closed cross-sections from its start to its end.

    Points are (x, y, height above the deck) in mm, as the layout has x and y. Each section has AROUND points,
    in the same order. `filling` is None for an empty place, drawn as thick as the layout expects it.
    """

    wall: str
    round: int
    piece: int
    log_number: str | None
    filling: Filling | None
    sections: tuple[tuple[SpacePoint, ...], ...]

    @property
    def words(self) -> str:
        where = f"wall {self.wall}, round {self.round}, piece {self.piece}"
        return f"log {self.log_number}, {self.filling}; {where}" if self.log_number else f"{where}: empty"

    @property
    def height_mm(self) -> float:
        """The mean height of all its points."""
        heights = [z for section in self.sections for _, _, z in section]
        return sum(heights) / len(heights)


def logs_in_space(
    stack: Stack, pieces: Sequence[PieceToDraw], *, with_empty: bool = True
) -> list[LogInSpace]:
    """Every place of the cabin with what lies in it. Raises BadDrawing if two pieces fill one place."""
    lines = wall_lines(stack.layout)
    filled = by_place(pieces)
    found = []
    for place in places_of(stack.layout):
        piece = filled.get((place.wall, place.round, place.piece))
        if piece is None and not with_empty:
            continue
        outline = nominal_outline(stack, place) if piece is None else outline_of(stack, place, piece)
        sawn = None if piece is None else piece.profile.sawn_thickness_mm
        found.append(
            LogInSpace(
                wall=place.wall,
                round=place.round,
                piece=place.piece,
                log_number=None if piece is None else piece.log_number,
                filling=None if piece is None else piece.filling,
                sections=_sections(lines[place.wall], outline, _half_of(stack, place), sawn),
            )
        )
    return found


def wall_lines(layout: Layout) -> dict[str, Segment]:
    """Every wall and partition as a segment from where its positions count, in the layout's x and y."""
    lines = lines_of(layout.walls, layout.corners)
    tees = {
        one.id: [point_along(lines[tee.wall], tee.at_mm) for tee in (one.from_tee, one.to_tee)]
        for one in layout.partitions
    }
    return lines | {name: (ends[0], ends[1]) for name, ends in tees.items()}


def _half_of(stack: Stack, place: WallPlace) -> str | None:
    """Which half of a log lies there: its upper one on the deck, its lower one over the last round."""
    if not is_half_round(place.round, stack.layout.round_count):
        return None
    return "upper" if place.round == 0 else "lower"


def _sections(
    line: Segment, outline: Outline, half: str | None, sawn_mm: float | None
) -> tuple[tuple[SpacePoint, ...], ...]:
    dx, dy = direction(line)
    sections = []
    for (at, top), (_, bed) in zip(outline.upper, outline.lower, strict=True):
        x, y = line[0][0] + at * dx, line[0][1] + at * dy
        sections.append(
            tuple((x - across * dy, y + across * dx, z) for across, z in _around(bed, top, half, sawn_mm))
        )
    return tuple(sections)


def _around(bed: float, top: float, half: str | None, sawn_mm: float | None) -> list[tuple[float, float]]:
    """(across, height) around a cross-section between its bed and its top."""
    if half is not None:
        radius = top - bed
        centre, low, high = (bed, bed, top) if half == "upper" else (top, bed, top)
        wide = radius
    else:
        centre, low, high = (bed + top) / 2, bed, top
        wide = (top - bed) / 2 if sawn_mm is None else sawn_mm / 2
        radius = math.hypot(top - centre, 0.0 if sawn_mm is None else wide)
    angles = (math.tau * number / AROUND for number in range(AROUND))
    points = [(radius * math.cos(angle), centre + radius * math.sin(angle)) for angle in angles]
    return [(min(max(across, -wide), wide), min(max(z, low), high)) for across, z in points]
