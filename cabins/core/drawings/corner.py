"""A corner's stack from both sides: logs and log ends at their heights, every notch with its depth."""

from dataclasses import dataclass, replace
from typing import Any

from cabins.core.drawings.elevation import ground
from cabins.core.drawings.legend import height_mark, legend_of
from cabins.core.drawings.pieces import Filling, PieceToDraw, edge_within, nominal_outline, outline_of
from cabins.core.layout_parts import HighStart, LogWall, Start
from cabins.core.notching import Notch, NotchState
from cabins.core.outline import Point
from cabins.core.places import CornerCrossing, WallPlace, column_at, columns_of, crossings_of, places_of
from cabins.core.stack import PiledTop, Stack
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.frame import Heading, framed, pen_for
from inventory.core.drawings.hazards import hazard_sign
from inventory.core.drawings.pen import (
    CENTRE_LINE,
    DASHED,
    END_GRAIN,
    FAINT,
    PAPER,
    PENCIL,
    TIMBER,
    Pen,
    group,
)
from inventory.core.drawings.svg import BadDrawing, Box, SvgElement, mark

# How much of a wall is shown beside its corner.
_SHOWN_MM = 800.0
CAUTION = "Notches and structure are decided by local code and licensed practice."


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerToDraw:
    """What the drawing of a corner or tee shows. `of_what`: as built, or by which plan."""

    cabin: str
    crossing: str
    of_what: str
    stack: Stack
    pieces: tuple[PieceToDraw, ...]
    units: CrewUnits


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    """The corner seen square to one of its walls; `other` is the wall whose log ends are seen."""

    wall: LogWall
    at_mm: float
    column: int
    other: LogWall
    other_column: int

    @property
    def left_mm(self) -> float:
        return max(self.wall.from_mm - self.at_mm, -_SHOWN_MM)

    @property
    def right_mm(self) -> float:
        return min(self.wall.to_mm - self.at_mm, _SHOWN_MM)


def draw_corner(shown: CornerToDraw) -> str:
    """The corner as SVG, one unit a millimetre, twice: square to its low wall, square to its high one.

    `data-view` names the wall faced; log ends are circles with `data-wall` and `data-round`, notches lines
    with `data-notch`. Raises BadDrawing for no such crossing.
    """
    stack = shown.stack
    crossing = next((one for one in crossings_of(stack.layout) if one.id == shown.crossing), None)
    if crossing is None:
        raise BadDrawing(f"there is no corner {shown.crossing}")
    sides = _sides(stack, crossing)
    top = max(one.top_mm for side in sides for one in _tops(stack, side.wall.id, side.column).values())
    wide = sum(side.right_mm - side.left_mm for side in sides)
    pen = pen_for("corner", width_mm=wide * 1.6, height_mm=top + 100)
    marks: list[SvgElement] = []
    x = pen.mm(20)
    for side in sides:
        x -= side.left_mm
        marks.append(_view(pen, shown, side, x, top))
        x += side.right_mm + pen.mm(38)
    content = Box(left=0.0, top=-top - pen.mm(12), right=x - pen.mm(14), bottom=pen.mm(6))
    here = _here(shown, sides)
    places = 2 * stack.layout.round_count + (1 if stack.layout.half_logs else 0)
    return framed(
        pen,
        heading=_heading(shown, sides, here, places),
        content=content,
        marks=marks,
        legend=legend_of(
            [replace(one, hazards=tuple(h for h in one.hazards if h.kind == "metal")) for one in here],
            any_butt=False,
            any_empty=len(here) < places,
            any_opening=False,
            any_measured=any(
                one.is_measured for side in sides for one in _tops(stack, side.wall.id, side.column).values()
            ),
        ),
        units=shown.units,
    )


def _sides(stack: Stack, crossing: CornerCrossing) -> list[_Side]:
    walls = {wall.id: wall for wall in stack.layout.log_walls}
    columns = columns_of(stack.layout)
    low, high = (
        (walls[id], at_mm, column_at(columns[id], crossing.id))
        for id, at_mm in (
            (crossing.low_wall, crossing.low_at_mm),
            (crossing.high_wall, crossing.high_at_mm),
        )
    )
    return [
        _Side(wall=one[0], at_mm=one[1], column=one[2], other=two[0], other_column=two[2])
        for one, two in ((low, high), (high, low))
    ]


def _tops(stack: Stack, wall: str, column: int) -> dict[int, PiledTop]:
    return {one.round: one for one in stack.tops if (one.wall, one.column) == (wall, column)}


def _over(stack: Stack, side: _Side) -> dict[int, WallPlace]:
    """The places of the wall faced that lie over the corner, by round."""
    return {
        place.round: place
        for place in places_of(stack.layout)
        if place.wall == side.wall.id and place.start_mm <= side.at_mm <= place.end_mm
    }


def _here(shown: CornerToDraw, sides: list[_Side]) -> list[PieceToDraw]:
    over = {
        (place.wall, place.round, place.piece)
        for side in sides
        for place in _over(shown.stack, side).values()
    }
    return [piece for piece in shown.pieces if piece.place in over]


def _view(pen: Pen, shown: CornerToDraw, side: _Side, x: float, top: float) -> SvgElement:
    """One side, the corner's centre at `x`."""
    stack = shown.stack
    pieces = {piece.place: piece for piece in shown.pieces}
    over = _over(stack, side)
    faces = [
        _face(pen, stack, side, place, pieces.get((place.wall, place.round, place.piece)), x)
        for place in over.values()
    ]
    other = _over(stack, _turned(side, stack))
    ends = [
        _end(
            pen, one, pieces.get((side.other.id, number, other[number].piece)) if number in other else None, x
        )
        for number, one in _tops(stack, side.other.id, side.other_column).items()
        if number > 0
    ]
    edge, way = (x + side.left_mm, -1) if -side.left_mm <= side.right_mm else (x + side.right_mm, 1)
    heights = [
        part
        for number, one in _tops(stack, side.wall.id, side.column).items()
        if number > 0
        for part in height_mark(pen, one, shown.units, edge=edge, way=way)
    ]
    notches = [n for n in stack.notches if (n.wall, n.column) == (side.wall.id, side.column)]
    middle = x + (side.left_mm + side.right_mm) / 2
    words = f"facing wall {side.wall.id}, ends of wall {side.other.id}"
    return group(
        pen.text((middle, -top - pen.mm(5)), words, size=3.2, anchor="middle", bold=True),
        *ground(pen, x + side.left_mm, x + side.right_mm),
        *_starts(pen, stack, side, x),
        *faces,
        *ends,
        pen.line((x, pen.mm(3)), (x, -top - pen.mm(2)), dash=CENTRE_LINE, weight=0.15, colour=FAINT),
        *heights,
        *(_notch(pen, stack, side, one, shown.units, x, -way) for one in notches),
        data_view=side.wall.id,
    )


def _turned(side: _Side, stack: Stack) -> _Side:
    column = columns_of(stack.layout)[side.other.id][side.other_column]
    return _Side(
        wall=side.other,
        at_mm=column.at_mm,
        column=side.other_column,
        other=side.wall,
        other_column=side.column,
    )


def _starts(pen: Pen, stack: Stack, side: _Side, x: float) -> list[SvgElement]:
    """What the high wall starts on: along the wall if it is faced, as an end if it is the other."""
    if stack.layout.half_logs and side.wall.start is Start.HIGH:
        return []  # half logs that are places are drawn as such
    column = side.column if side.wall.start is Start.HIGH else side.other_column
    high = side.wall if side.wall.start is Start.HIGH else side.other
    height = stack.heights_mm[high.id, 0, column]
    half = stack.layout.log_middle_mm / 2
    left, right = (side.left_mm, side.right_mm) if high is side.wall else (-half, half)
    points: list[Point] = [(x + left, 0.0), (x + left, -height), (x + right, -height), (x + right, 0.0)]
    if high is not side.wall and stack.layout.high_start is HighStart.HALF_LOG:
        # Flat side down on the deck.
        shares = [n / 12 for n in range(-12, 13)]
        points = [(x + half * s, -height * (1 - s * s) ** 0.5) for s in shares]
    return [pen.path(points, weight=0.25, fill=END_GRAIN)]


def _face(
    pen: Pen, stack: Stack, side: _Side, place: WallPlace, piece: PieceToDraw | None, x: float
) -> SvgElement:
    outline = nominal_outline(stack, place) if piece is None else outline_of(stack, place, piece)
    reach = (side.at_mm + side.left_mm, side.at_mm + side.right_mm)
    points = [
        (x + at - side.at_mm, -height)
        for edge in (edge_within(outline.upper, reach), list(reversed(edge_within(outline.lower, reach))))
        for at, height in edge
    ]
    fill, weight, dash = _look(pen, piece)
    shape = pen.path(points, fill=fill, weight=weight, dash=dash)
    if piece is None:
        return shape
    axis = sum(y for _, y in points) / len(points)
    far = x + (side.right_mm if side.right_mm >= -side.left_mm else side.left_mm)
    anchor = "end" if far > x else "start"
    inwards = pen.mm(2) if far < x else -pen.mm(2)
    words = pen.fitted(piece.log_number, width=_SHOWN_MM / 3, size=3.4)
    number = pen.text(
        (far + inwards, axis - pen.mm(0.8)), words, size=3.4, bold=True, anchor=anchor, halo=True
    )
    beyond = pen.width_of(words, size=3.4) + pen.mm(1)
    beside = (far + 2 * inwards + (beyond if inwards > 0 else -beyond), axis - pen.mm(2))
    metal = any(hazard.kind == "metal" for hazard in piece.hazards)
    sign = hazard_sign(pen, beside, "metal") if metal else []
    return group(shape, number, *sign, title=f"log {piece.log_number}, {piece.filling}, round {piece.round}")


def _look(pen: Pen, piece: PieceToDraw | None) -> tuple[str, float, tuple[float, ...] | None]:
    if piece is None:
        return "none", 0.25, DASHED
    return (TIMBER, 0.45, None) if piece.filling is Filling.SET else (pen.hatch, 0.3, None)


def _end(pen: Pen, top: PiledTop, piece: PieceToDraw | None, x: float) -> SvgElement:
    """A log's end with its rings, or a dashed circle where none lies yet."""
    radius = top.diameter_mm / 2
    centre = (x, -top.top_mm + radius)
    named: dict[str, Any] = {"data_wall": top.wall, "data_round": str(top.round)}
    _, weight, dash = _look(pen, piece)
    if piece is None:
        return pen.circle(centre, radius, dash=dash, weight=weight, colour=FAINT, **named)
    rings = [pen.circle(centre, radius * share, weight=0.12, colour=FAINT) for share in (0.75, 0.5, 0.25)]
    fill = END_GRAIN if piece.filling is Filling.SET else PAPER
    whole = pen.circle(centre, radius, fill=fill, weight=weight, **named)
    number = pen.text(
        (x, centre[1] + pen.mm(1)), piece.log_number, size=2.8, anchor="middle", halo=True, width=radius * 1.4
    )
    return group(whole, *rings, number, title=f"end of log {piece.log_number}, {piece.filling}")


def _notch(
    pen: Pen, stack: Stack, side: _Side, notch: Notch, units: CrewUnits, x: float, way: int
) -> SvgElement:
    """The depth from the underside of the log faced up to the top of the log end it lies over."""
    crossing_top = stack.heights_mm[notch.over_wall, notch.over_round, side.other_column]
    foot, head = -(crossing_top - notch.depth_mm), -crossing_top
    at = x + way * (notch.diameter_mm / 2 + pen.mm(2))
    words = f"{units.across(notch.depth_mm)}, {notch.share:.0%}"
    if notch.state is NotchState.BEYOND:
        words += " beyond limit!"
    beyond = notch.state is NotchState.BEYOND
    tick = pen.mm(1)
    depth = mark(
        "line", x1=at, y1=foot, x2=at, y2=head, stroke=PENCIL, stroke_width=pen.mm(0.35),
        data_notch=f"{notch.wall}-{notch.round}",
    )  # fmt: skip
    return group(
        depth,
        pen.line((at - tick, foot), (at + tick, foot), weight=0.35),
        pen.line((at - tick, head), (at + tick, head), weight=0.35),
        pen.text(
            (at + way * pen.mm(1.5), (foot + head) / 2 + pen.mm(0.9)),
            words,
            size=2.5,
            anchor="start" if way > 0 else "end",
            bold=beyond,
            halo=True,
        ),
        title=f"notch of wall {notch.wall}, round {notch.round}: {notch.state}",
    )


def _heading(shown: CornerToDraw, sides: list[_Side], here: list[PieceToDraw], places: int) -> Heading:
    walls = " and ".join(side.wall.id for side in sides)
    notches = [n for n in shown.stack.notches if n.crossing == shown.crossing]
    beyond = [n for n in notches if n.state is NotchState.BEYOND]
    told = f"{len(beyond)} of {len(notches)} notches lie beyond the limit. " if beyond else ""
    return Heading(
        title=f"{shown.cabin}, corner {shown.crossing}: {shown.of_what}",
        subtitle=f"walls {walls}; depth of each notch, and its share of the log; heights above the deck",
        desc=(
            f"The stack of logs at corner {shown.crossing} of {shown.cabin}, walls {walls}, {shown.of_what}: "
            f"{len(here)} of {places} places filled. {told}{CAUTION}"
        ),
    )
