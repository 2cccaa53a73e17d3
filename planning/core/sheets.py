"""The setting sheet of a round: for each log its place, way round, cuts, notches and heights.

Positions in a log run from its butt end, heights are above the deck, all in mm.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial

from cabins.core.layout_parts import Layout, Start
from cabins.core.pieces import ButtAt, LaidPiece, column_diameters, from_butt_at
from cabins.core.places import Place, Spot, columns_of, places_of
from cabins.core.stack import Stack, stack_up
from inventory.core.profile import LogProfile, nearest_diameter_mm, piece_crown_mm
from planning.core.drawing_up import HazardOnLog

NOTCH_CAUTION = (
    "A notch beyond its limit leaves too little wood, or does not hold: ask a licensed practitioner."
)
CROWN_CAUTION = "Nobody looked at this log's crown yet: sight along it before it is cut."
METAL_CAUTION = "Metal in this log: mark it in paint and keep every saw and chisel away from it."


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPiece:
    """A piece of a plan or of the wall, with what is charted of its log."""

    wall: str
    round: int
    piece: int
    log: str
    from_butt_mm: float
    butt_at: str
    profile: LogProfile
    crown_mm: float | None = 0.0
    hazards: tuple[HazardOnLog, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerCut:
    """One crossing of a piece: where it lies in the log, the notch there and the top to reach.

    `notch_mm` is None for the first log of a low wall, which lies on the deck.
    """

    crossing: str
    from_butt_mm: float
    diameter_mm: float
    notch_mm: float | None
    notch_share: float | None
    notch_state: str | None
    top_mm: float
    top_error_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingRow:
    """What to do with one log, in the order of lifting."""

    order: int
    wall: str
    round: int
    piece: int
    log: str
    butt_at: str
    cut_near_butt_mm: float
    cut_near_tip_mm: float
    length_mm: float
    crown_mm: float | None
    gap_mm: float
    corners: tuple[CornerCut, ...]
    hazards: tuple[HazardOnLog, ...]
    cautions: tuple[str, ...]


def stack_of(
    layout: Layout, pieces: Iterable[SheetPiece], measured_mm: Mapping[Spot, float] | None = None
) -> Stack:
    """The wall stack of these pieces; measured heights replace computed ones."""
    diameters = column_diameters(layout, [_laid(piece) for piece in pieces])
    return stack_up(layout, diameters_mm=diameters, measured_mm=measured_mm)


def ends_of(layout: Layout, piece: SheetPiece) -> dict[int, float]:
    """The piece's diameter at each column of its wall that it covers."""
    return {column: mm for (_, _, column), mm in column_diameters(layout, [_laid(piece)]).items()}


def turned_round(piece: SheetPiece) -> SheetPiece:
    """The same piece of the same log, end for end."""
    turned = ButtAt.END if piece.butt_at == ButtAt.START else ButtAt.START
    return replace(piece, butt_at=turned.value)


def _laid(piece: SheetPiece) -> LaidPiece:
    return LaidPiece(
        wall=piece.wall,
        round=piece.round,
        piece=piece.piece,
        from_butt_mm=piece.from_butt_mm,
        butt_at=ButtAt(piece.butt_at),
        diameter_at=partial(nearest_diameter_mm, piece.profile),
    )


def setting_rows(
    layout: Layout, pieces: Iterable[SheetPiece], *, round_number: int, stack: Stack
) -> tuple[SettingRow, ...]:
    """The rows of one round, low walls before the high ones that lie over them."""
    places = {(place.wall, place.round, place.piece): place for place in places_of(layout)}
    starts = {wall.id: wall.start for wall in layout.log_walls}
    standing = list(starts)
    here = sorted(
        (piece for piece in pieces if piece.round == round_number),
        key=lambda p: (starts[p.wall] is Start.HIGH, standing.index(p.wall), p.piece),
    )
    return tuple(
        _row(order, layout, piece, places[piece.wall, piece.round, piece.piece], stack)
        for order, piece in enumerate(here, start=1)
    )


def _row(order: int, layout: Layout, piece: SheetPiece, place: Place, stack: Stack) -> SettingRow:
    corners = _corners(layout, piece, place, stack)
    end = piece.from_butt_mm + place.length_mm
    cautions = []
    if any(hazard.kind == "metal" for hazard in piece.hazards):
        cautions.append(METAL_CAUTION)
    if any(corner.notch_state == "beyond" for corner in corners):
        cautions.append(NOTCH_CAUTION)
    if piece.crown_mm is None:
        cautions.append(CROWN_CAUTION)
    return SettingRow(
        order=order,
        wall=piece.wall,
        round=piece.round,
        piece=piece.piece,
        log=piece.log,
        butt_at=piece.butt_at,
        cut_near_butt_mm=piece.from_butt_mm,
        cut_near_tip_mm=end,
        length_mm=place.length_mm,
        crown_mm=_bow_mm(piece, place),
        gap_mm=layout.gap.target_mm,
        corners=corners,
        hazards=piece.hazards,
        cautions=tuple(cautions),
    )


def _bow_mm(piece: SheetPiece, place: Place) -> float | None:
    """What the piece bows; None where nobody looked at the log's crown."""
    if piece.crown_mm is None:
        return None
    return piece_crown_mm(crown_mm=piece.crown_mm, log_mm=piece.profile.length_mm, piece_mm=place.length_mm)


def _corners(layout: Layout, piece: SheetPiece, place: Place, stack: Stack) -> tuple[CornerCut, ...]:
    notches = {(n.wall, n.round, n.column): n for n in stack.notches}
    tops = {(t.wall, t.round, t.column): t for t in stack.tops}
    cuts = []
    for column in columns_of(layout)[piece.wall]:
        if not place.start_mm <= column.at_mm <= place.end_mm:
            continue
        spot = (piece.wall, piece.round, column.column)
        top, notch = tops[spot], notches.get(spot)
        cuts.append(
            CornerCut(
                crossing=column.crossing,
                from_butt_mm=from_butt_at(
                    place=place,
                    from_butt_mm=piece.from_butt_mm,
                    butt_at=ButtAt(piece.butt_at),
                    at_mm=column.at_mm,
                ),
                diameter_mm=top.diameter_mm,
                notch_mm=notch.depth_mm if notch else None,
                notch_share=notch.share if notch else None,
                notch_state=notch.state.value if notch else None,
                top_mm=top.top_mm,
                top_error_mm=top.error_mm,
            )
        )
    return tuple(cuts)
