"""An opening with the logs around it as DXF: the hole to leave, the frame, what is cut and filled in."""

from cabins.core.cad.logs import put_logs
from cabins.core.cad.sheet import CadSheet, Layer
from cabins.core.drawings.elevation import seen_from
from cabins.core.drawings.hole import OpeningToDraw
from cabins.core.drawings.opening import is_seen, part_seen
from cabins.core.openings import NOTHING_MM, Edge
from cabins.core.places import places_of

_OUT_MM = 250.0


def opening_dxf(shown: OpeningToDraw) -> bytes:
    """The opening as DXF, x along its wall and y the height above the deck.

    Logs are whole, not cut off at the drawing's edge. Raises BadDrawing.
    """
    fitted, layout = shown.fitted, shown.stack.layout
    opening, hole, fit = fitted.opening, fitted.hole, fitted.fit
    wall = next(one for one in layout.log_walls if one.id == opening.wall)
    seen = part_seen(hole)
    places = [one for one in places_of(layout) if one.wall == wall.id and is_seen(one, shown, *seen)]
    sheet = CadSheet()
    put_logs(sheet, shown.stack, places, shown.pieces)
    near, far = hole.near_mm, hole.far_mm
    for low, high in ((hole.bottom_mm, hole.top_mm), (opening.sill_mm, opening.head_mm)):
        sheet.shape([(near, low), (far, low), (far, high), (near, high)], Layer.OPENINGS)
    _put_edge(sheet, fit.sill, (near, far), hole.bottom_mm, 1.0)
    if fit.header is not None:
        _put_edge(sheet, fit.header, (near, far), hole.top_mm, -1.0)
    low = hole.bottom_mm - _OUT_MM
    sheet.dimension((near, hole.bottom_mm), (far, hole.bottom_mm), line_through=(near, low))
    tall = ((hole.bottom_mm, hole.top_mm), (opening.sill_mm, opening.head_mm), (0.0, opening.sill_mm))
    for number, (bottom, top) in enumerate(tall, start=1):
        if top - bottom > NOTHING_MM:
            line = (far + number * _OUT_MM, bottom)
            sheet.dimension((far, bottom), (far, top), line_through=line, turned=90.0)
    sheet.text(opening.id, ((near + far) / 2, (hole.bottom_mm + hole.top_mm) / 2))
    heading = f"{shown.cabin}, {opening.id} in wall {wall.id}: {shown.of_what}, {seen_from(layout, wall)}"
    sheet.text(heading, ((near + far) / 2, seen[3] + 2 * _OUT_MM), height=90.0)
    return sheet.as_bytes()


def _put_edge(sheet: CadSheet, edge: Edge, ends: tuple[float, float], line_mm: float, way: float) -> None:
    """What is cut out of the log under or over the hole, and what is filled in there."""
    near, far = ends
    if max(edge.cut_mm) > NOTHING_MM:
        floor = [line_mm + lack for lack in edge.lacks_mm]
        cut = [at + way * depth for at, depth in zip(floor, edge.cut_mm, strict=True)]
        sheet.shape([(near, floor[0]), (far, floor[1]), (far, cut[1]), (near, cut[0])], Layer.CUTS)
    if max(edge.infill_mm) > NOTHING_MM:
        filled = [line_mm - way * depth for depth in edge.infill_mm]
        sheet.shape([(near, line_mm), (far, line_mm), (far, filled[1]), (near, filled[0])], Layer.CUTS)
