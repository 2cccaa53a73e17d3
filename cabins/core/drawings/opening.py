"""One opening with the real logs around it: what is cut of sill and header, the hole, the frame,
dimensions."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cabins.core.courses import FittedOpening
from cabins.core.drawings.elevation import ground, seen_from
from cabins.core.drawings.legend import legend_of
from cabins.core.drawings.pieces import (
    Filling,
    PieceToDraw,
    by_place,
    edge_within,
    nominal_outline,
    outline_of,
)
from cabins.core.openings import NOTHING_MM, Edge
from cabins.core.outline import Point
from cabins.core.places import Place, places_of
from cabins.core.stack import Stack
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.frame import SWATCH_MM, Entry, Heading, framed, pen_for
from inventory.core.drawings.pen import DASHED, FAINT, PAPER, TIMBER, Pen, group
from inventory.core.drawings.svg import Box, Mark

# So much of the wall is shown on either side of the opening, and above and below it.
BESIDE_MM, ABOVE_MM = 700.0, 450.0
CUT = "#c9c2b4"


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningToDraw:
    """What the drawing of an opening shows. `of_what`: as built, or by which plan."""

    cabin: str
    of_what: str
    stack: Stack
    pieces: tuple[PieceToDraw, ...]
    fitted: FittedOpening
    units: CrewUnits


def draw_opening(shown: OpeningToDraw) -> str:
    """The opening as SVG, one unit a millimetre; y is minus the height above the deck.

    Logs have `data-round` and `data-piece`, what is cut or filled `data-cut` or `data-infill` with the side.
    """
    hole, wall_id = shown.fitted.hole, shown.fitted.opening.wall
    wall = next(one for one in shown.stack.layout.log_walls if one.id == wall_id)
    left, right = hole.near_mm - BESIDE_MM, hole.far_mm + BESIDE_MM
    low, high = max(0.0, hole.bottom_mm - ABOVE_MM), hole.top_mm + ABOVE_MM
    pen = pen_for("opening", width_mm=right - left + 900, height_mm=high - low + 200)
    pieces = [piece for piece in shown.pieces if piece.wall == wall_id]
    places = [
        p
        for p in places_of(shown.stack.layout)
        if p.wall == wall_id and _is_seen(p, shown, left, right, low, high)
    ]
    filled = by_place(pieces)
    marks = [
        *(_log(pen, shown.stack, place, filled.get(_key(place)), (left, right)) for place in places),
        *(ground(pen, left, right) if low == 0.0 else []),
        *_edges(pen, shown),
        *_hole(pen, shown),
        *_measures(pen, shown, right),
    ]
    seen = [filled[_key(place)] for place in places if _key(place) in filled]
    room = pen.mm(30)
    tops = [high, *(y for place in places for y in _reach(shown.stack, place, filled.get(_key(place))))]
    return framed(
        pen,
        heading=_heading(shown, seen_from(shown.stack.layout, wall)),
        content=Box(
            left=left - pen.mm(12), top=-max(tops) - pen.mm(4), right=right + room, bottom=-low + pen.mm(12)
        ),
        marks=marks,
        legend=[
            *legend_of(
                seen, any_empty=len(seen) < len(places), any_opening=True, any_measured=False, any_butt=False
            ),
            _entry(CUT, "cut away"),
            _entry(PAPER, "filled in", DASHED),
        ],
        units=shown.units,
    )


def _key(place: Place) -> tuple[str, int, int]:
    return place.wall, place.round, place.piece


def _is_seen(place: Place, shown: OpeningToDraw, left: float, right: float, low: float, high: float) -> bool:
    if place.end_mm <= left or place.start_mm >= right:
        return False
    near, far = shown.fitted.courses[place.round]
    return min(near.underside_mm, far.underside_mm) < high and max(near.top_mm, far.top_mm) > low


def _reach(stack: Stack, place: Place, piece: PieceToDraw | None) -> list[float]:
    outline = nominal_outline(stack, place) if piece is None else outline_of(stack, place, piece)
    return [y for _, y in outline.upper]


def _log(
    pen: Pen, stack: Stack, place: Place, piece: PieceToDraw | None, within: tuple[float, float]
) -> Mark:
    outline = nominal_outline(stack, place) if piece is None else outline_of(stack, place, piece)
    upper, lower = edge_within(outline.upper, within), edge_within(outline.lower, within)
    points: list[Point] = [(x, -y) for x, y in upper] + [(x, -y) for x, y in reversed(lower)]
    where: dict[str, Any] = {
        "data_wall": place.wall, "data_round": str(place.round), "data_piece": str(place.piece)
    }  # fmt: skip
    if piece is None:
        return pen.path(points, dash=DASHED, weight=0.25, colour=FAINT, data_filling="empty", **where)
    shape = pen.path(
        points,
        fill=TIMBER if piece.filling is Filling.SET else pen.hatch,
        weight=0.4,
        data_log=piece.log_number,
        data_filling=str(piece.filling),
        **where,
    )
    middle_y = -(upper[0][1] + lower[0][1]) / 2
    is_cut_here = place.start_mm > within[0]
    number = pen.text(
        # Beside the far jamb stands the height of the hole.
        (upper[0][0] + pen.mm(7 if is_cut_here else 2), middle_y + pen.mm(1.2)),
        piece.log_number,
        size=3.4,
        bold=True,
        halo=True,
    )
    at = (upper[0][0] - pen.mm(1), middle_y + pen.mm(1))
    # Its round is named once, at the left edge.
    name = [] if is_cut_here else [pen.text(at, f"round {place.round}", size=2.6, anchor="end", colour=FAINT)]
    return group(shape, number, *name, title=f"log {piece.log_number}, {piece.filling}, round {place.round}")


def _edges(pen: Pen, shown: OpeningToDraw) -> list[Mark]:
    """What is cut out of sill and header, and what is filled in at them."""
    fit, hole = shown.fitted.fit, shown.fitted.hole
    marks = _edge(pen, shown, "sill", fit.sill, hole.bottom_mm)
    return marks + ([] if fit.header is None else _edge(pen, shown, "header", fit.header, hole.top_mm))


def _edge(pen: Pen, shown: OpeningToDraw, side: str, edge: Edge, line_mm: float) -> list[Mark]:
    hole, way = shown.fitted.hole, 1.0 if side == "sill" else -1.0
    marks: list[Mark] = []
    if max(edge.cut_mm) > NOTHING_MM:
        ends = [line_mm + edge.lacks_mm[n] + way * edge.cut_mm[n] for n in (0, 1)]
        floor = [line_mm + edge.lacks_mm[n] for n in (0, 1)]
        marks.append(_strip(pen, hole.near_mm, hole.far_mm, floor, ends, CUT, f"cut:{side}"))
        marks += _depths(
            pen, shown, edge.cut_mm, [(a + b) / 2 for a, b in zip(floor, ends, strict=True)], "cut"
        )
    if max(edge.infill_mm) > NOTHING_MM:
        ends = [line_mm - way * edge.infill_mm[n] for n in (0, 1)]
        marks.append(_strip(pen, hole.near_mm, hole.far_mm, [line_mm] * 2, ends, PAPER, f"infill:{side}"))
        marks += _depths(pen, shown, edge.infill_mm, [(line_mm + y) / 2 for y in ends], "fill")
    return marks


def _strip(
    pen: Pen, near: float, far: float, one: Sequence[float], other: Sequence[float], fill: str, named: str
) -> Mark:
    points = [(near, -one[0]), (far, -one[1]), (far, -other[1]), (near, -other[0])]
    what, side = named.split(":")
    dash = None if what == "cut" else DASHED
    named_as: dict[str, Any] = {f"data_{what}": side}
    return pen.path(points, fill=fill, weight=0.3, dash=dash, **named_as)


def _depths(
    pen: Pen, shown: OpeningToDraw, depths_mm: Sequence[float], heights_mm: Sequence[float], word: str
) -> list[Mark]:
    hole = shown.fitted.hole
    ends = ((hole.near_mm + pen.mm(2), "start"), (hole.far_mm - pen.mm(2), "end"))
    return [
        pen.text(
            (x, -height + pen.mm(1)),
            f"{word} {shown.units.across(depth)}",
            size=2.8,
            anchor=anchor,
            halo=True,
        )
        for (x, anchor), depth, height in zip(ends, depths_mm, heights_mm, strict=True)
        if depth > NOTHING_MM
    ]


def _hole(pen: Pen, shown: OpeningToDraw) -> list[Mark]:
    """The hole to leave, the frame in it, and the settling space over the frame."""
    opening, hole = shown.fitted.opening, shown.fitted.hole
    near, far = hole.near_mm, hole.far_mm
    frame = [
        (near, -opening.sill_mm),
        (near, -opening.head_mm),
        (far, -opening.head_mm),
        (far, -opening.sill_mm),
    ]
    outer = [(near, -hole.bottom_mm), (near, -hole.top_mm), (far, -hole.top_mm), (far, -hole.bottom_mm)]
    middle = ((near + far) / 2, -(opening.sill_mm + opening.head_mm) / 2)
    width = opening.width_mm - pen.mm(3)
    return [
        pen.path(outer, weight=0.8, data_hole=opening.id),
        pen.path(frame, weight=0.25, dash=DASHED),
        pen.text(middle, opening.id, size=4, bold=True, anchor="middle", halo=True, width=width),
        pen.text(
            (middle[0], middle[1] + pen.mm(4)),
            f"{shown.units.along(opening.width_mm)} x {shown.units.along(opening.head_mm - opening.sill_mm)}",
            size=3,
            anchor="middle",
            halo=True,
            width=width,
        ),
    ]


def _measures(pen: Pen, shown: OpeningToDraw, right: float) -> list[Mark]:
    """Dimension lines: the hole at both jambs and its width, heights of sill, head and hole above the
    deck."""
    hole, fit, along = shown.fitted.hole, shown.fitted.fit, shown.units.along
    bottom = -hole.bottom_mm + pen.mm(7)
    marks = [
        pen.line((hole.near_mm, bottom), (hole.far_mm, bottom), weight=0.2),
        *(
            pen.line((x, bottom - pen.mm(1.5)), (x, bottom + pen.mm(1.5)), weight=0.2)
            for x in (hole.near_mm, hole.far_mm)
        ),
        pen.text(
            ((hole.near_mm + hole.far_mm) / 2, bottom - pen.mm(1)),
            along(hole.far_mm - hole.near_mm),
            size=2.8,
            anchor="middle",
            halo=True,
        ),
    ]
    for x, way, height in ((hole.near_mm, -1, fit.hole_mm[0]), (hole.far_mm, 1, fit.hole_mm[1])):
        words = f"hole {along(height)}"
        at = (x + way * pen.mm(2.5), -(hole.bottom_mm + hole.top_mm) / 2)
        marks.append(pen.text(at, words, size=2.8, anchor="middle", halo=True, turned=True))
    opening = shown.fitted.opening
    lines = [("sill", opening.sill_mm), ("head", opening.head_mm), ("hole", hole.top_mm)]
    for word, height in lines:
        marks.append(
            pen.line((hole.far_mm, -height), (right + pen.mm(2), -height), weight=0.15, colour=FAINT)
        )
        # The head stands close under the top of its hole: its words go below the line.
        drop = pen.mm(3.2) if word == "head" else -pen.mm(0.6)
        marks.append(pen.text((right + pen.mm(3), -height + drop), f"{word} {along(height)}", size=2.8))
    return marks


def _heading(shown: OpeningToDraw, seen: str) -> Heading:
    opening, fit = shown.fitted.opening, shown.fitted.fit
    along, across = shown.units.along, shown.units.across
    told = f"hole to leave {along(fit.asked_mm)} with {across(shown.fitted.space_mm)} settling space"
    cut = [
        f"{side} log of round {edge.round} cut {across(max(edge.cut_mm))} deep at most"
        for side, edge in (("sill", fit.sill), ("header", fit.header))
        if edge is not None and max(edge.cut_mm) > NOTHING_MM
    ]
    return Heading(
        title=f"{shown.cabin}, {opening.id} in wall {opening.wall}: {shown.of_what}",
        subtitle=f"{seen}; {told}",
        desc=f"{opening.kind.value} {opening.id} in wall {opening.wall} of {shown.cabin}, {shown.of_what}: "
        f"{told}; {'; '.join(cut) or 'no log is cut into'}.",
    )


def _entry(fill: str, words: str, dash: Sequence[float] | None = None) -> Entry:
    def swatch(pen: Pen, at: Point) -> list[Mark]:
        x, y, w, h = *at, pen.mm(SWATCH_MM[0]), pen.mm(SWATCH_MM[1])
        return [pen.path([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], fill=fill, weight=0.3, dash=dash)]

    return Entry(words=words, swatch=swatch)
