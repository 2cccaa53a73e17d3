"""A wall's elevation: its real logs with their taper and height, openings, dangers, what is still open."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cabins.core.drawings.gable import GableToDraw, draw_gable, gable_entries
from cabins.core.drawings.legend import height_mark, legend_of
from cabins.core.drawings.pieces import (
    Filling,
    Outline,
    PieceToDraw,
    by_place,
    nominal_outline,
    outline_of,
    position_mm,
)
from cabins.core.layout_parts import HighStart, Layout, LogWall, Opening, Start
from cabins.core.outline import Point
from cabins.core.pieces import ButtAt
from cabins.core.places import WallPlace, columns_of, places_of
from cabins.core.stack import Stack
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.frame import Heading, framed, pen_for
from inventory.core.drawings.hazards import hazard_sign
from inventory.core.drawings.pen import CENTRE_LINE, DASHED, FAINT, TIMBER, Pen, group
from inventory.core.drawings.svg import BadDrawing, Box, SvgElement


@dataclass(frozen=True, slots=True, kw_only=True)
class Elevation:
    """What an elevation shows. `of_what`: as built, or by which plan; `gable`: what stands over the wall."""

    cabin: str
    wall: str
    of_what: str
    stack: Stack
    pieces: tuple[PieceToDraw, ...]
    units: CrewUnits
    gable: GableToDraw | None = None


def draw_elevation(shown: Elevation) -> str:
    """The elevation as SVG, one unit a millimetre; y is minus the height above the deck.

    Each log is a polygon between its underside and its top, with `data-round`, `data-piece` and `data-log`.
    Raises BadDrawing for no such wall.
    """
    layout = shown.stack.layout
    wall = next((one for one in layout.log_walls if one.id == shown.wall), None)
    if wall is None:
        raise BadDrawing(f"there is no wall {shown.wall}")
    pieces = [piece for piece in shown.pieces if piece.wall == wall.id]
    places = [place for place in places_of(layout) if place.wall == wall.id]
    left, right = wall.from_mm, wall.to_mm
    top = max(shown.stack.heights_mm[spot] for spot in shown.stack.heights_mm if spot[0] == wall.id)
    gable = shown.gable
    top = top if gable is None else max(top, gable.top_mm)
    pen = pen_for("elevation", width_mm=right - left + 500, height_mm=top + 200)
    room = pen.mm(24 if gable is None else 30)
    above = pen.mm(10 if gable is None else 10 + gable.room_above_mm)
    content = Box(left=left - room, top=-top - above, right=right + room, bottom=pen.mm(6))
    filled = by_place(pieces)
    marks = [
        *ground(pen, left - pen.mm(4), right + pen.mm(4)),
        *_start(pen, layout, wall, shown.stack),
        *(_course(pen, shown.stack, place, filled.get(_key(place))) for place in places),
        *(_opening(pen, opening, shown.units) for opening in layout.openings if opening.wall == wall.id),
        *_hazards(pen, shown.stack, places, filled),
        *_columns(pen, shown.stack, wall, top),
        *(draw_gable(pen, gable, shown.units, left=left, right=right) if gable else ()),
        *_heights(pen, shown.stack, wall, shown.units, left, right),
    ]
    return framed(
        pen,
        heading=_heading(shown, wall, pieces, len(places)),
        content=content,
        marks=marks,
        legend=[
            *legend_of(
                pieces,
                beyond=gable.known if gable else (),
                any_empty=len(pieces) < len(places) or _has_empty(gable),
                any_opening=any(opening.wall == wall.id for opening in layout.openings),
                any_measured=any(one.is_measured for one in shown.stack.tops if one.wall == wall.id),
            ),
            *(gable_entries() if gable else ()),
        ],
        units=shown.units,
    )


def _has_empty(gable: GableToDraw | None) -> bool:
    return gable is not None and len(gable.known) < len(gable.gable.logs)


def _key(place: WallPlace) -> tuple[str, int, int]:
    return place.wall, place.round, place.piece


def ground(pen: Pen, left: float, right: float) -> list[SvgElement]:
    deck = pen.line((left, 0), (right, 0), weight=0.6)
    step, tick = pen.mm(2.5), pen.mm(1.6)
    count = int((right - left) / step)
    return [deck, *(pen.line((left + n * step, tick), (left + n * step + tick, 0)) for n in range(count))]


def _start(pen: Pen, layout: Layout, wall: LogWall, stack: Stack) -> list[SvgElement]:
    """What a high wall starts on."""
    if wall.start is Start.LOW or layout.half_logs:
        return []  # half logs that are places are drawn as such
    columns = columns_of(layout)[wall.id]
    heights = [stack.heights_mm[wall.id, 0, column.column] for column in (columns[0], columns[-1])]
    ends = (wall.from_mm, wall.to_mm)
    words = "half log" if layout.high_start is HighStart.HALF_LOG else "raised deck"
    points = [(ends[0], 0.0), (ends[0], -heights[0]), (ends[1], -heights[1]), (ends[1], 0.0)]
    middle = (wall.length_mm / 2, -sum(heights) / 4 + pen.mm(1))
    return [pen.path(points, weight=0.25), pen.text(middle, words, size=2.8, anchor="middle", colour=FAINT)]


def _course(pen: Pen, stack: Stack, place: WallPlace, piece: PieceToDraw | None) -> SvgElement:
    where = f"wall {place.wall}, round {place.round}, piece {place.piece}"
    if piece is None:
        edge = _polygon(nominal_outline(stack, place))
        shape = pen.path(edge, dash=DASHED, weight=0.25, colour=FAINT, data_filling="empty", **_named(place))
        return group(shape, title=f"{where}: empty")
    outline = outline_of(stack, place, piece)
    fill = TIMBER if piece.filling is Filling.SET else pen.hatch
    shape = pen.path(
        _polygon(outline),
        fill=fill,
        weight=0.45 if piece.filling is Filling.SET else 0.3,
        data_log=piece.log_number,
        data_filling=str(piece.filling),
        **_named(place),
    )
    butt = outline.upper[0 if piece.butt_at is ButtAt.START else -1]
    under = outline.lower[0 if piece.butt_at is ButtAt.START else -1]
    bar = pen.line((butt[0], -butt[1]), (under[0], -under[1]), weight=1.3)
    clear = _clear_of_hazards(place, piece)
    axis = sum(y for _, y in (*outline.upper, *outline.lower)) / (2 * len(outline.upper))
    number = pen.text(
        (clear, -axis + pen.mm(1.2)),
        piece.log_number,
        size=3.4,
        bold=True,
        anchor="middle",
        halo=True,
        width=place.length_mm * (0.2 if piece.hazards else 0.9),
    )
    return group(shape, bar, number, title=f"log {piece.log_number}, {piece.filling}; {where}")


def _named(place: WallPlace) -> dict[str, Any]:
    return {"data_wall": place.wall, "data_round": str(place.round), "data_piece": str(place.piece)}


def _clear_of_hazards(place: WallPlace, piece: PieceToDraw) -> float:
    """Where along the piece its number is written: in the middle, or aside where a danger is marked there."""
    dangers = [position_mm(place, piece, hazard.from_butt_mm) for hazard in piece.hazards]
    spots = [place.start_mm + share * place.length_mm for share in (0.5, 0.35, 0.65, 0.2)]
    room = 0.1 * place.length_mm
    return next((x for x in spots if all(abs(x - at) > room for at in dangers)), spots[0])


def _polygon(outline: Outline) -> list[Point]:
    return [(x, -y) for x, y in outline.upper] + [(x, -y) for x, y in reversed(outline.lower)]


def _opening(pen: Pen, opening: Opening, units: CrewUnits) -> SvgElement:
    left, right, foot, head = opening.offset_mm, opening.end_mm, -opening.sill_mm, -opening.head_mm
    corners = [(left, foot), (left, head), (right, head), (right, foot)]
    wide, high = units.along(opening.width_mm), units.along(opening.head_mm - opening.sill_mm)
    middle, y = (left + right) / 2, (foot + head) / 2
    width = opening.width_mm - pen.mm(2)
    # In a narrow opening the height stands under the width: half a measure would be no measure.
    fits = pen.width_of(f"{wide} x {high}", size=2.6) <= width
    lines = [f"{wide} x {high}"] if fits else [f"{wide} x", high]
    return group(
        pen.line((left, foot), (right, head), weight=0.15, colour=FAINT),
        pen.line((left, head), (right, foot), weight=0.15, colour=FAINT),
        pen.path(corners, weight=0.7),
        pen.text((middle, y - pen.mm(1)), opening.id, size=3.2, anchor="middle", halo=True, width=width),
        *(
            pen.text(
                (middle, y + pen.mm(3 + 3 * at)), line, size=2.6, anchor="middle", halo=True, width=width
            )
            for at, line in enumerate(lines)
        ),
        title=f"{opening.kind} {opening.id}",
    )


def _hazards(
    pen: Pen, stack: Stack, places: Sequence[WallPlace], filled: dict[tuple[str, int, int], PieceToDraw]
) -> list[SvgElement]:
    marks: list[SvgElement] = []
    for place in places:
        piece = filled.get(_key(place))
        if piece is None:
            continue
        outline = outline_of(stack, place, piece)
        axis = sum(y for _, y in (*outline.upper, *outline.lower)) / (2 * len(outline.upper))
        for hazard in piece.hazards:
            ends = (hazard.from_butt_mm, hazard.from_butt_mm + hazard.extent_mm)
            shown = [position_mm(place, piece, at) for at in ends]
            near, far = max(min(shown), place.start_mm), min(max(shown), place.end_mm)
            if near > far:
                continue  # it lies in another piece of the log
            lift = {"top": 0.3, "bottom": -0.3}.get(hazard.face or "", 0.0) * stack.layout.log_middle_mm
            y = -axis - lift
            run = [pen.line((near, y), (far, y), weight=0.9)] if far - near > pen.mm(2) else []
            words = f"{hazard.kind} in log {piece.log_number}"
            marks.append(group(*run, *hazard_sign(pen, (near, y), hazard.kind), title=words))
    return marks


def _columns(pen: Pen, stack: Stack, wall: LogWall, top: float) -> list[SvgElement]:
    marks = []
    for column in columns_of(stack.layout)[wall.id]:
        x, above = column.at_mm, -top - pen.mm(3)
        marks.append(pen.line((x, pen.mm(3)), (x, above), dash=CENTRE_LINE, weight=0.15, colour=FAINT))
        marks.append(pen.text((x, above - pen.mm(1)), column.crossing, size=3.2, anchor="middle", bold=True))
    return marks


def _heights(
    pen: Pen, stack: Stack, wall: LogWall, units: CrewUnits, left: float, right: float
) -> list[SvgElement]:
    """The top of every round at both ends, and the round's number in the margin."""
    columns = columns_of(stack.layout)[wall.id]
    ends = {columns[0].column: (left, -1), columns[-1].column: (right, 1)}
    marks = []
    for top in stack.tops:
        if top.wall != wall.id or top.round == 0 or top.column not in ends:
            continue
        edge, way = ends[top.column]
        marks += height_mark(pen, top, units, edge=edge, way=way)
        if way < 0:
            number = (left - pen.mm(20), pen.mm(1) - top.top_mm + top.diameter_mm / 2)
            marks.append(pen.text(number, f"round {top.round}", size=2.6, anchor="middle", colour=FAINT))
    return marks


def _heading(shown: Elevation, wall: LogWall, pieces: Sequence[PieceToDraw], places: int) -> Heading:
    counts = {filling: sum(1 for piece in pieces if piece.filling is filling) for filling in Filling}
    told = [f"{count} {filling}" for filling, count in counts.items() if count]
    if places > len(pieces):
        told.append(f"{places - len(pieces)} empty")
    ends = columns_of(shown.stack.layout)[wall.id]
    metal = sorted({p.log_number for p in pieces if any(h.kind == "metal" for h in p.hazards)})
    caution = f" Metal is charted in log {', '.join(metal)}: keep every saw away from it." if metal else ""
    from_to = f"from {ends[0].crossing} to {ends[-1].crossing}"
    return Heading(
        title=f"{shown.cabin}, wall {wall.id}: {shown.of_what}",
        subtitle=f"{seen_from(shown.stack.layout, wall)}; {', '.join(told)}; heights above the deck",
        desc=(
            f"Elevation of wall {wall.id} of {shown.cabin}, {from_to}, {shown.of_what}: "
            f"{shown.stack.layout.round_count} rounds, {', '.join(told)}{_gable_words(shown)}.{caution}"
        ),
    )


def _gable_words(shown: Elevation) -> str:
    return "" if shown.gable is None else f"; over it a gable of {len(shown.gable.gable.logs)} logs"


def seen_from(layout: Layout, wall: LogWall) -> str:
    """From where a wall is drawn: its start lies at the left."""
    if wall.is_partition:
        return "its start at the left"
    points = {corner.id: (corner.x_mm, corner.y_mm) for corner in layout.corners}
    walk = [(points[one.from_corner], points[one.to_corner]) for one in layout.walls]
    turns = sum(a[0] * b[1] - b[0] * a[1] for a, b in walk)
    return "seen from outside" if turns > 0 else "seen from inside"
