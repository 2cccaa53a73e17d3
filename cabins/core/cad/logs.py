"""Logs of a wall as blocks: the outline of each, and its notches."""

import math
from collections.abc import Mapping, Sequence

from cabins.core.cad.sheet import CadBlock, CadSheet, Layer
from cabins.core.drawings.pieces import PieceToDraw, by_place, nominal_outline, outline_of
from cabins.core.layout_parts import NotchKind
from cabins.core.notching import DUST_MM, Notch
from cabins.core.outline import Point
from cabins.core.places import WallPlace, column_at, columns_of
from cabins.core.stack import Stack

Key = tuple[str, int, int]


def put_logs(
    sheet: CadSheet, stack: Stack, places: Sequence[WallPlace], pieces: Sequence[PieceToDraw]
) -> None:
    """The logs in places of one wall, each a block based at the start of its underside.

    x runs along the wall from its start, y is the height above the deck. Places without a log are dashed
    outlines. `pieces`: all of the cabin. Raises BadDrawing if two of them fill one place.
    """
    filled = by_place(pieces)
    for place in places:
        piece = filled.get((place.wall, place.round, place.piece))
        outline = nominal_outline(stack, place) if piece is None else outline_of(stack, place, piece)
        edge: list[Point] = [*outline.lower, *reversed(outline.upper)]
        middle = (place.start_mm + place.end_mm) / 2
        if piece is None:
            sheet.shape(edge, Layer.EMPTY)
            continue
        block = sheet.block(
            f"log-{place.wall}-{place.round}-{place.piece}",
            outline.lower[0],
            {
                "LOG": piece.log_number,
                "WALL": place.wall,
                "ROUND": str(place.round),
                "PIECE": str(place.piece),
                "FILLING": str(piece.filling),
                "BUTT_AT": str(piece.butt_at),
            },
        )
        block.shape(edge, Layer.LOGS)
        for notch in stack.notches:
            same_course = (notch.wall, notch.round) == (place.wall, place.round)
            if same_course and place.start_mm < notch.at_mm < place.end_mm:
                _put_notch(block, stack, notch, filled)
        axis = sum(y for _, y in edge) / len(edge)
        sheet.text(piece.log_number, (middle, axis))


def _put_notch(block: CadBlock, stack: Stack, notch: Notch, filled: Mapping[Key, PieceToDraw]) -> None:
    """The notch as wide as the log it goes over is thick where they cross, and as deep as the heights ask."""
    if notch.depth_mm <= DUST_MM:
        return
    under = stack.heights_mm[notch.wall, notch.round, notch.column] - notch.diameter_mm
    top = under + notch.depth_mm
    crossing = _crossing_log(stack, notch, filled)
    thick = stack.layout.log_middle_mm if crossing is None else crossing[0]
    is_round = stack.layout.notch is NotchKind.SADDLE and (crossing is None or not crossing[1])
    half, x = thick / 2, notch.at_mm
    if not is_round:
        corners = [(x + half, under), (x + half, top), (x - half, top), (x - half, under)]
        block.arc([(at, height, 0.0) for at, height in corners], Layer.NOTCHES)
        return
    centre = top - half
    if centre >= under:  # deeper than half the log under it: straight up beside it, then over it
        points = [(x + half, under, 0.0), (x + half, centre, 1.0), (x - half, centre, 0.0)]
        block.arc([*points, (x - half, under, 0.0)], Layer.NOTCHES)
        return
    chord = math.sqrt(half * half - (under - centre) ** 2)
    bulge = math.tan(math.acos((under - centre) / half) / 2)
    block.arc([(x + chord, under, bulge), (x - chord, under, 0.0)], Layer.NOTCHES)


def _crossing_log(stack: Stack, notch: Notch, filled: Mapping[Key, PieceToDraw]) -> tuple[float, bool] | None:
    """How wide the log under a notch is at the crossing, and whether it is sawn or hewn on two faces.

    None for a half log, whose width the wall stack does not know.
    """
    course = (notch.over_wall, notch.over_round)
    thick = [p.profile.sawn_thickness_mm for p in filled.values() if (p.wall, p.round) == course]
    sawn = next((float(mm) for mm in thick if mm is not None), None)
    if sawn is not None:
        return sawn, True
    column = column_at(columns_of(stack.layout)[notch.over_wall], notch.crossing)
    diameter = stack.diameters_mm.get((*course, column))
    return None if diameter is None else (diameter, False)
