"""One opening with the real logs around it: what is cut of sill and header, the hole, the frame,
dimensions."""

from collections.abc import Mapping, Sequence
from typing import Any

from cabins.core.drawings.elevation import ground, seen_from
from cabins.core.drawings.hole import CUT, OpeningToDraw, edge_marks, hole_marks, measure_marks
from cabins.core.drawings.legend import legend_of
from cabins.core.drawings.pieces import (
    Filling,
    PieceToDraw,
    by_place,
    edge_within,
    nominal_outline,
    outline_of,
)
from cabins.core.openings import NOTHING_MM, Hole
from cabins.core.outline import Point
from cabins.core.places import WallPlace, places_of
from cabins.core.stack import Stack
from inventory.core.drawings.frame import SWATCH_MM, Heading, LegendEntry, framed, pen_for
from inventory.core.drawings.pen import DASHED, FAINT, PAPER, TIMBER, Pen, group
from inventory.core.drawings.svg import Box, SvgElement

# So much of the wall is shown on either side of the opening, as wide as it within these, and above and below.
BESIDE_MM, ABOVE_MM = (400.0, 700.0), 400.0


def draw_opening(shown: OpeningToDraw) -> str:
    """The opening as SVG, one unit a millimetre; y is minus the height above the deck.

    Logs have `data-round` and `data-piece`, what is cut or filled `data-cut` or `data-infill` with the side.
    """
    hole, wall_id = shown.fitted.hole, shown.fitted.opening.wall
    wall = next(one for one in shown.stack.layout.log_walls if one.id == wall_id)
    left, right, low, high = part_seen(hole)
    pen = pen_for("opening", width_mm=right - left + 900, height_mm=high - low + 200)
    pieces = [piece for piece in shown.pieces if piece.wall == wall_id]
    places = [
        p
        for p in places_of(shown.stack.layout)
        if p.wall == wall_id and is_seen(p, shown, left, right, low, high)
    ]
    filled = by_place(pieces)
    seen = [filled[_key(place)] for place in places if _key(place) in filled]
    room = pen.mm(30)
    reach = [y for place in places for y in _reach(shown.stack, place, filled.get(_key(place)))]
    bottom, top = min(low, *reach), max(high, *reach)
    marks = [
        *(_log(pen, shown, place, filled.get(_key(place)), (left, right)) for place in places),
        *_round_names(pen, shown.stack, places, filled, left),
        *(ground(pen, left, right) if low == 0.0 else []),
        *edge_marks(pen, shown),
        *hole_marks(pen, shown),
        *measure_marks(pen, shown, right, bottom),
    ]
    return framed(
        pen,
        heading=_heading(shown, seen_from(shown.stack.layout, wall)),
        content=Box(
            left=left - pen.mm(12), top=-top - pen.mm(4), right=right + room, bottom=-bottom + pen.mm(12)
        ),
        marks=marks,
        legend=[
            *legend_of(
                seen, any_empty=len(seen) < len(places), any_opening=True, any_measured=False, any_butt=False
            ),
            *_edge_entries(shown),
        ],
        units=shown.units,
    )


def _key(place: WallPlace) -> tuple[str, int, int]:
    return place.wall, place.round, place.piece


def part_seen(hole: Hole) -> tuple[float, float, float, float]:
    """How much of the wall is drawn around a hole: from and to along it, lowest and highest."""
    beside = min(max(hole.far_mm - hole.near_mm, BESIDE_MM[0]), BESIDE_MM[1])
    low, high = max(0.0, hole.bottom_mm - ABOVE_MM), hole.top_mm + ABOVE_MM
    return hole.near_mm - beside, hole.far_mm + beside, low, high


def is_seen(
    place: WallPlace, shown: OpeningToDraw, left: float, right: float, low: float, high: float
) -> bool:
    """Whether any of a place lies in that part of the wall."""
    if place.end_mm <= left or place.start_mm >= right:
        return False
    near, far = shown.fitted.courses[place.round]
    return min(near.underside_mm, far.underside_mm) < high and max(near.top_mm, far.top_mm) > low


def _reach(stack: Stack, place: WallPlace, piece: PieceToDraw | None) -> list[float]:
    outline = nominal_outline(stack, place) if piece is None else outline_of(stack, place, piece)
    return [y for _, y in (*outline.upper, *outline.lower)]


def _log(
    pen: Pen, shown: OpeningToDraw, place: WallPlace, piece: PieceToDraw | None, within: tuple[float, float]
) -> SvgElement:
    stack = shown.stack
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
    # Away from the jamb, beside which depths and the height of the hole stand.
    at_end = place.start_mm > shown.fitted.hole.far_mm - pen.mm(1)
    end, inwards = (-1, -pen.mm(2)) if at_end else (0, pen.mm(2))
    number = pen.text(
        (upper[end][0] + inwards, -(upper[end][1] + lower[end][1]) / 2 + pen.mm(1.2)),
        piece.log_number,
        size=3.4,
        bold=True,
        halo=True,
        anchor="end" if at_end else "start",
    )
    return group(shape, number, title=f"log {piece.log_number}, {piece.filling}, round {place.round}")


def _round_names(
    pen: Pen,
    stack: Stack,
    places: Sequence[WallPlace],
    filled: Mapping[tuple[str, int, int], PieceToDraw],
    left: float,
) -> list[SvgElement]:
    """Each round's name once, at the left edge."""
    marks = []
    for number in sorted({place.round for place in places}):
        first = min((one for one in places if one.round == number), key=lambda one: one.start_mm)
        piece = filled.get(_key(first))
        outline = nominal_outline(stack, first) if piece is None else outline_of(stack, first, piece)
        middle = (outline.upper[0][1] + outline.lower[0][1]) / 2
        at = (left - pen.mm(1), pen.mm(1) - middle)
        marks.append(pen.text(at, f"round {number}", size=2.6, anchor="end", colour=FAINT))
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
        title=f"{shown.cabin}, {opening.id} in wall {opening.wall}",
        subtitle=f"{seen}; {shown.of_what}; {across(shown.fitted.space_mm)} to settle",
        desc=f"{opening.kind.value} {opening.id} in wall {opening.wall} of {shown.cabin}, {shown.of_what}: "
        f"{told}; {'; '.join(cut) or 'no log is cut into'}.",
    )


def _edge_entries(shown: OpeningToDraw) -> list[LegendEntry]:
    edges = [edge for edge in (shown.fitted.fit.sill, shown.fitted.fit.header) if edge is not None]
    cut = max(depth for edge in edges for depth in edge.cut_mm)
    infill = max(depth for edge in edges for depth in edge.infill_mm)
    found = [_entry(CUT, "cut away")] if cut > NOTHING_MM else []
    return found + ([_entry(PAPER, "filled in", DASHED)] if infill > NOTHING_MM else [])


def _entry(fill: str, words: str, dash: Sequence[float] | None = None) -> LegendEntry:
    def swatch(pen: Pen, at: Point) -> list[SvgElement]:
        x, y, w, h = *at, pen.mm(SWATCH_MM[0]), pen.mm(SWATCH_MM[1])
        return [pen.path([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], fill=fill, weight=0.3, dash=dash)]

    return LegendEntry(words=words, swatch=swatch)
