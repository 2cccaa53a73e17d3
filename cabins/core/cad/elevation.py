"""A wall's elevation as DXF: x along the wall from its start, y the height above the deck."""

from cabins.core.cad.logs import put_logs
from cabins.core.cad.sheet import CadSheet, Layer
from cabins.core.drawings.elevation import Elevation, seen_from
from cabins.core.drawings.gable import GableToDraw, log_outline
from cabins.core.places import columns_of, places_of

_BELOW_MM, _BESIDE_MM = 400.0, 400.0


def elevation_dxf(shown: Elevation) -> bytes:
    """The elevation as DXF, with the same logs, heights and openings as the drawing. Raises BadDrawing."""
    stack = shown.stack
    layout = stack.layout
    wall = next(one for one in layout.log_walls if one.id == shown.wall)
    sheet = CadSheet()
    put_logs(sheet, stack, [place for place in places_of(layout) if place.wall == wall.id], shown.pieces)
    sheet.line((wall.from_mm, 0.0), (wall.to_mm, 0.0), Layer.TEXT)  # the deck
    for opening in layout.openings:
        if opening.wall != wall.id:
            continue
        near, far, low, high = opening.offset_mm, opening.end_mm, opening.sill_mm, opening.head_mm
        sheet.shape([(near, low), (far, low), (far, high), (near, high)], Layer.OPENINGS)
        sheet.text(opening.id, ((near + far) / 2, (low + high) / 2))
        sheet.dimension((near, low), (far, low), line_through=(near, low + (high - low) / 4))
        quarter = near + (far - near) / 4
        sheet.dimension((near, low), (near, high), line_through=(quarter, low), turned=90.0)
    columns = columns_of(layout)[wall.id]
    top = max(height for spot, height in stack.heights_mm.items() if spot[0] == wall.id)
    for column in columns:
        sheet.text(column.crossing, (column.at_mm, top + _BELOW_MM))
    sheet.dimension((0.0, 0.0), (wall.length_mm, 0.0), line_through=(0.0, -_BELOW_MM))
    sheet.dimension((wall.from_mm, 0.0), (wall.to_mm, 0.0), line_through=(0.0, -2 * _BELOW_MM))
    for column, x in ((columns[0], wall.from_mm - _BESIDE_MM), (columns[-1], wall.to_mm + _BESIDE_MM)):
        height = stack.heights_mm[wall.id, layout.round_count, column.column]
        sheet.dimension((column.at_mm, 0.0), (column.at_mm, height), line_through=(x, 0.0), turned=90.0)
    if shown.gable is not None:
        top = max(top, shown.gable.top_mm)
        _put_gable(sheet, shown.gable, wall.from_mm, wall.to_mm)
    heading = f"{shown.cabin}, wall {wall.id}: {shown.of_what}, {seen_from(layout, wall)}"
    sheet.text(heading, (wall.length_mm / 2, top + 2 * _BELOW_MM), height=120.0)
    return sheet.as_bytes()


def _put_gable(sheet: CadSheet, shown: GableToDraw, left: float, right: float) -> None:
    """The logs of the gable between their cuts, and what bears on it."""
    for log in shown.gable.logs:
        outline, filling = log_outline(shown.slopes, log), shown.fillings.get(log.member)
        if filling is None:
            sheet.shape(outline, Layer.EMPTY)
            continue
        number = shown.numbers.get(log.member, "")
        told = {"LOG": number, "MEMBER": log.member, "FILLING": str(filling)}
        sheet.block(f"log-{log.member}", outline[0], told).shape(outline, Layer.LOGS)
        xs, ys = [x for x, _ in outline], [y for _, y in outline]
        sheet.text(number, ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2))
    half = shown.slopes.span_mm / 2
    for ends in ((left, half), (half, right)):
        start, end = ((x, shown.slopes.height_mm(x)) for x in ends)
        sheet.line(start, end, Layer.ROOF)
    for seat in shown.gable.seats:
        bearing = shown.bearings[seat.member]
        centre = (seat.at_mm, bearing.axis_mm)
        sheet.circle(centre, bearing.diameter_mm / 2, Layer.ROOF)
        sheet.text(seat.member, centre)
