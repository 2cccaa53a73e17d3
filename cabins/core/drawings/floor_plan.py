"""A cabin's floor plan: walls with their overhangs, corners, openings, which walls start low or high."""

from dataclasses import dataclass, replace
from itertools import pairwise

from cabins.core.layout_checks import segments_of
from cabins.core.layout_parts import Layout, LogWall, Opening, OpeningKind, Start
from cabins.core.outline import Point, Segment, direction, point_along
from cabins.core.places import columns_of
from cabins.core.run_on_checks import lines_of
from inventory.core.crew_units import CrewUnits, counted
from inventory.core.drawings.frame import SWATCH_MM, Heading, LegendEntry, framed, pen_for
from inventory.core.drawings.pen import CENTRE_LINE, FAINT, PAPER, TIMBER, Pen, group
from inventory.core.drawings.svg import Box, SvgElement


@dataclass(frozen=True, slots=True, kw_only=True)
class WallOnPlan:
    """A wall on the plan; `out` points away from the room (for a partition: to its right)."""

    wall: LogWall
    segment: Segment
    out: Point


def draw_floor_plan(cabin: str, layout: Layout, *, units: CrewUnits) -> str:
    """The plan as SVG, one unit a millimetre, y upwards as in the layout (so minus y in the drawing).

    Each wall is a polygon with `data-wall`, as long as its logs and as wide as their middle diameter.
    """
    walls = on_plan(layout)
    reach = max(max(wall.overhangs_mm) for wall in layout.log_walls)
    xs, ys = [corner.x_mm for corner in layout.corners], [-corner.y_mm for corner in layout.corners]
    pen = pen_for(
        "floor-plan", width_mm=max(xs) - min(xs) + 2 * reach, height_mm=max(ys) - min(ys) + 2 * reach
    )
    room = max(reach, layout.log_middle_mm / 2 + pen.mm(10)) + pen.mm(3)
    content = Box(left=min(xs) - room, top=min(ys) - room, right=max(xs) + room, bottom=max(ys) + room)
    places = {one.wall.id: one for one in walls}
    # Low walls first: at the crossings the high ones lie over them.
    marks = [_wall(pen, one, layout) for one in sorted(walls, key=lambda w: w.wall.start is Start.HIGH)]
    marks += [_name(pen, one, layout, units) for one in walls]
    marks += [_opening(pen, opening, places[opening.wall], layout, units) for opening in layout.openings]
    marks += _corners(pen, layout)
    outer = sum(1 for one in walls if not one.wall.is_partition)
    partitions = f"{counted(len(layout.partitions), 'log partition')}, " if layout.partitions else ""
    told = f"{outer} walls, {partitions}{layout.round_count} rounds"
    openings = "; ".join(
        f"{o.kind} {o.id} in wall {o.wall}, {units.along(o.width_mm)} wide, {units.along(o.offset_mm)} from "
        f"its start"
        for o in layout.openings
    )
    return framed(
        pen,
        heading=Heading(
            title=f"{cabin}: floor plan",
            subtitle=f"{told}; lengths from corner centre to corner centre",
            desc=f"Floor plan of {cabin}: {told}. Openings: {openings or 'none'}.",
        ),
        content=content,
        marks=marks,
        legend=[_entry(Start.LOW), _entry(Start.HIGH)],
        units=units,
    )


def on_plan(layout: Layout) -> list[WallOnPlan]:
    """Every wall and partition on the plan, y downwards as in the drawing."""
    corners = [replace(corner, y_mm=-corner.y_mm) for corner in layout.corners]
    outline = segments_of(layout.walls, corners)
    turn = sum(a[0] * b[1] - b[0] * a[1] for a, b in outline.values())
    segments = lines_of(layout.walls, corners)
    for partition in layout.partitions:
        ends = [point_along(segments[t.wall], t.at_mm) for t in (partition.from_tee, partition.to_tee)]
        segments[partition.id] = (ends[0], ends[1])
    found = []
    for wall in layout.log_walls:
        dx, dy = direction(segments[wall.id])
        way = 1.0 if turn > 0 or wall.is_partition else -1.0
        found.append(WallOnPlan(wall=wall, segment=segments[wall.id], out=(way * dy, -way * dx)))
    return found


def across(one: WallOnPlan, at_mm: float, out_mm: float) -> Point:
    """A point of the plan: so far along the wall, so far out from its centre line."""
    x, y = point_along(one.segment, at_mm)
    return x + one.out[0] * out_mm, y + one.out[1] * out_mm


def band_of(one: WallOnPlan, start_mm: float, end_mm: float, half: float) -> list[Point]:
    """The four corners of a stretch of a wall, `half` to either side of its centre line."""
    return [
        across(one, start_mm, half),
        across(one, end_mm, half),
        across(one, end_mm, -half),
        across(one, start_mm, -half),
    ]


def _wall(pen: Pen, one: WallOnPlan, layout: Layout) -> SvgElement:
    wall, half = one.wall, layout.log_middle_mm / 2
    band = band_of(one, wall.from_mm, wall.to_mm, half)
    fill = TIMBER if wall.start is Start.LOW else pen.hatch
    middle = (across(one, wall.from_mm, 0), across(one, wall.to_mm, 0))
    return group(
        pen.path(band, fill=PAPER, weight=0.1),
        pen.path(band, fill=fill, weight=0.4, data_wall=wall.id),
        pen.line(*middle, weight=0.12, dash=CENTRE_LINE, colour=FAINT),
        title=f"wall {wall.id}, starts {wall.start}",
    )


def _name(pen: Pen, one: WallOnPlan, layout: Layout, units: CrewUnits) -> SvgElement:
    """The wall's name and length outside it, reading along it, where nothing crosses it for longest."""
    crossed = [column.at_mm for column in columns_of(layout)[one.wall.id]]
    near, far = max(pairwise(crossed), key=lambda ends: ends[1] - ends[0])
    x, y = across(one, (near + far) / 2, layout.log_middle_mm / 2 + pen.mm(5))
    words = f"{one.wall.id}: {units.along(one.wall.length_mm)}"
    if abs(one.out[0]) > abs(one.out[1]):
        return pen.text((x + pen.mm(1), y), words, size=3.4, bold=True, anchor="middle", turned=True)
    return pen.text((x, y + pen.mm(1.2)), words, size=3.4, bold=True, anchor="middle", halo=True)


def _opening(pen: Pen, opening: Opening, one: WallOnPlan, layout: Layout, units: CrewUnits) -> SvgElement:
    half = layout.log_middle_mm / 2
    band = band_of(one, opening.offset_mm, opening.end_mm, half)
    marks = [pen.path(band, fill=PAPER, weight=0.5)]
    if opening.kind is OpeningKind.WINDOW:
        for out in (-half / 4, half / 4):
            ends = (across(one, opening.offset_mm, out), across(one, opening.end_mm, out))
            marks.append(pen.line(*ends, weight=0.25))
    x, y = across(one, (opening.offset_mm + opening.end_mm) / 2, -half - pen.mm(5))
    words = (opening.id, units.along(opening.width_mm))
    turned = abs(one.out[0]) > abs(one.out[1])
    for row, text in enumerate(words):
        at = (x + pen.mm(3.8 * row), y) if turned else (x, y + pen.mm(3.8 * row))
        marks.append(
            pen.text(
                at, text, size=2.8, anchor="middle", turned=turned, halo=True, width=opening.width_mm * 2
            )
        )
    return group(*marks, title=f"{opening.kind} {opening.id}")


def _corners(pen: Pen, layout: Layout) -> list[SvgElement]:
    """Each corner's name on its crossing."""
    return [
        group(
            pen.circle((corner.x_mm, -corner.y_mm), pen.mm(4), fill=PAPER, weight=0.35),
            pen.text(
                (corner.x_mm, pen.mm(1) - corner.y_mm), corner.id, size=2.8, anchor="middle",
                width=pen.mm(8),
            ),
            title=f"corner {corner.id}",
        )
        for corner in layout.corners
    ]  # fmt: skip


def _entry(start: Start) -> LegendEntry:
    def swatch(pen: Pen, at: Point) -> list[SvgElement]:
        x, y, w, h = *at, pen.mm(SWATCH_MM[0]), pen.mm(SWATCH_MM[1])
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        return [pen.path(corners, fill=TIMBER if start is Start.LOW else pen.hatch, weight=0.4)]

    words = "starts low, on the deck" if start is Start.LOW else "starts high, half a log up"
    return LegendEntry(words=words, swatch=swatch)
