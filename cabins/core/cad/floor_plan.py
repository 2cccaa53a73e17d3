"""The floor plan as DXF: x and y as in the layout; each wall a block, as wide as the middle diameter."""

import math
from itertools import pairwise

from cabins.core.cad.sheet import CadSheet, Layer
from cabins.core.drawings.floor_plan import WallOnPlan, across, band_of, on_plan
from cabins.core.layout_parts import Layout
from cabins.core.outline import Point
from cabins.core.places import columns_of

# From the wall's face to its name, and on to its dimension.
_NAME_MM, _LINE_MM = 250.0, 500.0


def floor_plan_dxf(cabin: str, layout: Layout) -> bytes:
    """The plan as DXF: walls, openings, corners, with the lengths of walls from crossing to crossing."""
    sheet, half = CadSheet(), layout.log_middle_mm / 2
    walls = {one.wall.id: one for one in on_plan(layout)}
    columns = columns_of(layout)
    for name, one in walls.items():
        band = _up(band_of(one, one.wall.from_mm, one.wall.to_mm, half))
        told = {"WALL": name, "STARTS": str(one.wall.start)}
        sheet.block(f"wall-{name}", band[0], told).shape(band, Layer.LOGS)
        near, far = max(
            pairwise(column.at_mm for column in columns[name]), key=lambda ends: ends[1] - ends[0]
        )
        sheet.text(name, _at(one, (near + far) / 2, half + _NAME_MM))
        _measure(sheet, one, (0.0, one.wall.length_mm), half + _LINE_MM)
    for opening in layout.openings:
        one = walls[opening.wall]
        sheet.shape(_up(band_of(one, opening.offset_mm, opening.end_mm, half)), Layer.OPENINGS)
        middle = (opening.offset_mm + opening.end_mm) / 2
        sheet.text(opening.id, _at(one, middle, -half - _NAME_MM))
        _measure(sheet, one, (opening.offset_mm, opening.end_mm), -half - _LINE_MM)
    for corner in layout.corners:
        sheet.text(corner.id, (corner.x_mm, corner.y_mm))
    top = max(corner.y_mm for corner in layout.corners) + half + 3 * _LINE_MM
    sheet.text(f"{cabin}: floor plan", (layout.corners[0].x_mm, top), height=120.0)
    return sheet.as_bytes()


def _up(points: list[Point]) -> list[Point]:
    """Points of the drawing, whose y runs down, with y up as in the layout."""
    return [(x, -y) for x, y in points]


def _at(one: WallOnPlan, at_mm: float, out_mm: float) -> Point:
    x, y = across(one, at_mm, out_mm)
    return x, -y


def _measure(sheet: CadSheet, one: WallOnPlan, ends: tuple[float, float], out_mm: float) -> None:
    """A dimension along a wall, its line so far out from it."""
    start, end = (_at(one, at, 0.0) for at in ends)
    turned = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])) % 180.0
    sheet.dimension(start, end, line_through=_at(one, ends[0], out_mm), turned=turned)
