"""The hole of an opening as it is drawn: what is cut and filled at its edges, the frame, dimensions."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cabins.core.courses import FittedOpening
from cabins.core.drawings.pieces import PieceToDraw
from cabins.core.openings import NOTHING_MM, Edge
from cabins.core.stack import Stack
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.pen import DASHED, FAINT, PAPER, Pen
from inventory.core.drawings.svg import SvgElement

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


def edge_marks(pen: Pen, shown: OpeningToDraw) -> list[SvgElement]:
    """What is cut out of sill and header, and what is filled in at them."""
    fit, hole = shown.fitted.fit, shown.fitted.hole
    marks = _edge(pen, shown, "sill", fit.sill, hole.bottom_mm)
    return marks + ([] if fit.header is None else _edge(pen, shown, "header", fit.header, hole.top_mm))


def _edge(pen: Pen, shown: OpeningToDraw, side: str, edge: Edge, line_mm: float) -> list[SvgElement]:
    hole, way = shown.fitted.hole, 1.0 if side == "sill" else -1.0
    marks: list[SvgElement] = []
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
) -> SvgElement:
    points = [(near, -one[0]), (far, -one[1]), (far, -other[1]), (near, -other[0])]
    what, side = named.split(":")
    dash = None if what == "cut" else DASHED
    named_as: dict[str, Any] = {f"data_{what}": side}
    return pen.path(points, fill=fill, weight=0.3, dash=dash, **named_as)


def _depths(
    pen: Pen, shown: OpeningToDraw, depths_mm: Sequence[float], heights_mm: Sequence[float], word: str
) -> list[SvgElement]:
    """Depths in words beside the jamb that they are for."""
    hole = shown.fitted.hole
    ends = ((hole.near_mm - pen.mm(1.5), "end"), (hole.far_mm + pen.mm(1.5), "start"))
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


def hole_marks(pen: Pen, shown: OpeningToDraw) -> list[SvgElement]:
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
    middle = ((near + far) / 2, -sum(_clear_mm(shown)) / 2)
    width = opening.width_mm - pen.mm(3)
    lines = [
        f"{shown.units.along(opening.width_mm)} x {shown.units.along(opening.head_mm - opening.sill_mm)}",
        f"leave {shown.units.along(shown.fitted.fit.asked_mm)}",
    ]
    return [
        pen.path(outer, weight=0.8, data_hole=opening.id),
        pen.path(frame, weight=0.25, dash=DASHED),
        pen.text(middle, opening.id, size=4, bold=True, anchor="middle", halo=True, width=width),
        *(
            pen.text(
                (middle[0], middle[1] + pen.mm(4 * (row + 1))),
                words,
                size=3,
                anchor="middle",
                halo=True,
                width=width,
            )
            for row, words in enumerate(lines)
        ),
    ]


def _clear_mm(shown: OpeningToDraw) -> tuple[float, float]:
    """Lowest and highest of what is open above what is cut of the sill, and under that of the header."""
    hole, fit = shown.fitted.hole, shown.fitted.fit
    sill = max(fit.sill.lacks_mm[n] + fit.sill.cut_mm[n] for n in (0, 1))
    header = 0.0 if fit.header is None else max(fit.header.cut_mm)
    return hole.bottom_mm + sill, hole.top_mm - header


def measure_marks(pen: Pen, shown: OpeningToDraw, right: float, bottom_mm: float) -> list[SvgElement]:
    """Dimension lines: the hole at both jambs, its width under all that is drawn, heights of sill, head and
    hole above the deck."""
    hole, fit, along = shown.fitted.hole, shown.fitted.fit, shown.units.along
    bottom = -bottom_mm + pen.mm(7)
    marks = [
        pen.line((hole.near_mm, bottom), (hole.far_mm, bottom), weight=0.2),
        *(
            pen.line((x, pen.mm(3) - bottom_mm), (x, bottom + pen.mm(1.5)), weight=0.2)
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
    # Turned words lie to the left of their baseline.
    for x, off, height in ((hole.near_mm, -2.5, fit.hole_mm[0]), (hole.far_mm, 4.5, fit.hole_mm[1])):
        words = f"hole {along(height)}"
        at = (x + pen.mm(off), -(hole.bottom_mm + hole.top_mm) / 2)
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
