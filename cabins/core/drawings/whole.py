"""The whole cabin from one of four sides: an axonometric drawing of its real logs, set and to come."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from cabins.core.drawings.in_space import LogInSpace, SpacePoint, logs_in_space
from cabins.core.drawings.legend import legend_of
from cabins.core.drawings.pieces import Filling, PieceToDraw
from cabins.core.layout_parts import Layout
from cabins.core.outline import Point
from cabins.core.stack import Stack
from inventory.core.drawings.frame import Heading, framed, pen_for
from inventory.core.drawings.pen import DASHED, END_GRAIN, FAINT, PAPER, PENCIL, TIMBER, Pen, group
from inventory.core.drawings.svg import Box, SvgElement

SIDES = (1, 2, 3, 4)
_FROM_DEG = {
    1: 225.0,
    2: 315.0,
    3: 45.0,
    4: 135.0,
}  # the way to who looks, against the clock from the layout's x
_DOWN_DEG = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeCabin:
    """What the drawing shows. `of_what`: as built, or by which plan."""

    cabin: str
    of_what: str
    stack: Stack
    pieces: tuple[PieceToDraw, ...]


def draw_whole(shown: WholeCabin, *, side: int) -> str:
    """The cabin as SVG, seen from above one of its corners, without perspective; not to scale.

    Each log is a polygon with `data-wall`, `data-round`, `data-piece` and `data-log`, the lower ones first:
    seen from above, of two logs that lie over one another in the drawing the higher one is the nearer.
    """
    look = _towards(side)
    layout = shown.stack.layout
    logs = sorted(
        logs_in_space(shown.stack, shown.pieces), key=lambda log: (log.height_mm, _nearness(log, look))
    )
    outlines = [[_seen(point, look) for section in log.sections for point in section] for log in logs]
    deck = [_seen((corner.x_mm, corner.y_mm, 0.0), look) for corner in layout.corners]
    xs, ys = zip(*(point for points in (*outlines, deck) for point in points), strict=True)
    pen = pen_for("whole", width_mm=max(xs) - min(xs), height_mm=max(ys) - min(ys))
    room = pen.mm(4)
    content = Box(left=min(xs) - room, top=min(ys) - room, right=max(xs) + room, bottom=max(ys) + room)
    marks = [
        pen.path(deck, fill=PAPER, weight=0.2, colour=FAINT),
        *(_log(pen, log, points, look) for log, points in zip(logs, outlines, strict=True)),
    ]
    corner = nearest_corner(layout, side=side)
    told = _told(logs)
    return framed(
        pen,
        heading=Heading(
            title=f"{shown.cabin}: {shown.of_what}",
            subtitle=f"seen from above corner {corner}; {told}; not to scale",
            desc=f"The whole of {shown.cabin}, {shown.of_what}, seen from above corner {corner}: "
            f"{layout.round_count} rounds, {told}.",
        ),
        content=content,
        marks=marks,
        legend=legend_of(
            [replace(piece, hazards=()) for piece in shown.pieces],
            any_empty=any(log.filling is None for log in logs),
            any_opening=False,
            any_measured=False,
            any_butt=False,
        ),
    )


def nearest_corner(layout: Layout, *, side: int) -> str:
    """The corner that is nearest to who looks from this side."""
    (x, y), _ = _towards(side)
    return max(layout.corners, key=lambda corner: corner.x_mm * x + corner.y_mm * y).id


def _told(logs: Sequence[LogInSpace]) -> str:
    counts = [(str(filling), sum(1 for log in logs if log.filling is filling)) for filling in Filling]
    counts.append(("empty", sum(1 for log in logs if log.filling is None)))
    return ", ".join(f"{count} {word}" for word, count in counts if count)


def _towards(side: int) -> tuple[Point, Point]:
    """Unit vectors on the ground: toward who looks, and to their right."""
    angle = math.radians(_FROM_DEG[side])
    return (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))


def _seen(point: SpacePoint, look: tuple[Point, Point]) -> Point:
    """Where a point lies in the drawing, y downwards."""
    (near_x, near_y), (right_x, right_y) = look
    x, y, z = point
    near, down = x * near_x + y * near_y, math.radians(_DOWN_DEG)
    return x * right_x + y * right_y, near * math.sin(down) - z * math.cos(down)


def _nearness(log: LogInSpace, look: tuple[Point, Point]) -> float:
    points = [point for section in log.sections for point in section]
    return sum(x * look[0][0] + y * look[0][1] for x, y, _ in points) / len(points)


def _log(pen: Pen, log: LogInSpace, points: Sequence[Point], look: tuple[Point, Point]) -> SvgElement:
    side, end = _fills(pen, log.filling)
    dash = DASHED if log.filling is None else None
    weight, colour = (0.15, FAINT) if log.filling is None else (0.25, PENCIL)
    shape = pen.path(
        hull_of(points), fill=side, weight=weight, colour=colour, dash=dash,
        data_wall=log.wall, data_round=str(log.round), data_piece=str(log.piece),
        data_log=log.log_number or "", data_filling=str(log.filling or "empty"),
    )  # fmt: skip
    face = [_seen(point, look) for point in _end_seen(log, look)]
    return group(shape, pen.path(face, fill=end, weight=weight, colour=colour, dash=dash), title=log.words)


def _fills(pen: Pen, filling: Filling | None) -> tuple[str, str]:
    """How a log's side and its end are filled."""
    if filling is Filling.SET:
        return TIMBER, END_GRAIN
    return (PAPER if filling is None else pen.hatch), PAPER


def _end_seen(log: LogInSpace, look: tuple[Point, Point]) -> Sequence[SpacePoint]:
    """The end of a log that is turned toward who looks."""
    first, last = log.sections[0][0], log.sections[-1][0]
    along = (last[0] - first[0]) * look[0][0] + (last[1] - first[1]) * look[0][1]
    return log.sections[-1 if along > 0 else 0]


def hull_of(points: Sequence[Point]) -> list[Point]:
    """The smallest convex outline around points, against the clock (monotone chain)."""
    found = sorted(set(points))
    if len(found) < 3:
        return found
    return [*_half_hull(found)[:-1], *_half_hull(found[::-1])[:-1]]


def _half_hull(points: Sequence[Point]) -> list[Point]:
    hull: list[Point] = []
    for x, y in points:
        while len(hull) >= 2:
            (ax, ay), (bx, by) = hull[-2:]
            if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                break
            hull.pop()
        hull.append((x, y))
    return hull
