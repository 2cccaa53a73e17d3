"""The setting sheet of a round: for each log its place, way round, cuts, notches and heights.

Positions in a log run from its butt end, heights are above the deck, all in mm.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import partial

from cabins.core.half_logs import RipLine, rip_line
from cabins.core.layout_parts import Layout, Start
from cabins.core.pieces import ButtAt, LaidPiece, column_diameters, from_butt_at
from cabins.core.pile import over_last_mm
from cabins.core.places import WallPlace, columns_of, is_half_round, places_of
from cabins.core.seating import rounds_to_return
from cabins.core.stack import Stack, top_at_mm
from inventory.core.profile import LogProfile, nearest_diameter_mm, piece_crown_mm
from planning.core.problem_builder import HazardOnLog

NOTCH_CAUTION = (
    "A notch beyond its limit leaves too little wood, or does not hold: ask a licensed practitioner."
)
CROWN_CAUTION = "Nobody looked at this log's crown yet: sight along it before it is cut."
RIP_CAUTION = (
    "Weight and balance are those of the part before it is ripped; one half weighs about half. Rip it lying "
    "on the ground and blocked, never on the wall."
)
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
    crown_at_mm: float | None = None
    crown_side: str | None = None
    hazards: tuple[HazardOnLog, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerCut:
    """One crossing of a piece: where it lies in the log, the notch there and the top to reach.

    `notch_mm` is None where the log lies on the deck. `reach_mm` is the height to reach, `top_mm` what the
    log comes to; see `EndSheet` of the next log, which has the same figures.
    """

    crossing: str
    from_butt_mm: float
    diameter_mm: float
    notch_mm: float | None
    notch_share: float | None
    notch_state: str | None
    gap_mm: float
    planned_mm: float | None
    stands_off_mm: float | None
    reach_mm: float
    top_mm: float
    top_error_mm: float
    off_plan_mm: float | None
    rounds_to_return: int | None
    is_blocked: bool


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
    crown_side: str | None
    gap_mm: float
    corners: tuple[CornerCut, ...]
    hazards: tuple[HazardOnLog, ...]
    cautions: tuple[str, ...]
    # Of a half log: how the piece is ripped.
    rip: RipLine | None = None


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


def _row(order: int, layout: Layout, piece: SheetPiece, place: WallPlace, stack: Stack) -> SettingRow:
    is_half = is_half_round(piece.round, layout.round_count)
    corners = _corners(layout, piece, place, stack)
    end = piece.from_butt_mm + place.length_mm
    cautions = [RIP_CAUTION] if is_half else []
    if any(hazard.kind == "metal" for hazard in piece.hazards):
        cautions.append(METAL_CAUTION)
    if any(corner.notch_state == "beyond" or corner.is_blocked for corner in corners):
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
        crown_side=piece.crown_side,
        gap_mm=0.0 if piece.round == 0 else layout.gap.target_mm,
        corners=corners,
        hazards=piece.hazards,
        cautions=tuple(cautions),
        rip=rip_line(
            piece.profile,
            cut_near_butt_mm=piece.from_butt_mm,
            cut_near_tip_mm=end,
            kerf_mm=layout.rip_kerf_mm,
        )
        if is_half
        else None,
    )


def _bow_mm(piece: SheetPiece, place: WallPlace) -> float | None:
    """What the piece bows; None where nobody looked at the log's crown."""
    if piece.crown_mm is None:
        return None
    return piece_crown_mm(crown_mm=piece.crown_mm, log_mm=piece.profile.length_mm, piece_mm=place.length_mm)


def _ends_at_the_top(
    layout: Layout, piece: SheetPiece, place: WallPlace, stack: Stack
) -> tuple[CornerCut, ...]:
    """The two ends of a half log over the last round: cut square against the logs that cross there."""
    columns = columns_of(layout)[piece.wall]
    cuts = []
    for at_mm in (place.start_mm, place.end_mm):
        nearest = min(columns, key=lambda column: abs(column.at_mm - at_mm))
        from_butt = from_butt_at(
            place=place, from_butt_mm=piece.from_butt_mm, butt_at=ButtAt(piece.butt_at), at_mm=at_mm
        )
        diameter = nearest_diameter_mm(piece.profile, from_butt)
        below = top_at_mm(stack, wall=piece.wall, round_number=layout.round_count, at_mm=at_mm)
        top = over_last_mm(layout, last_mm=below, diameter_mm=diameter)
        since = next(t for t in stack.tops if (t.wall, t.round) == (piece.wall, layout.round_count))
        cuts.append(
            CornerCut(
                crossing=nearest.crossing,
                from_butt_mm=from_butt,
                diameter_mm=diameter,
                notch_mm=None,
                notch_share=None,
                notch_state=None,
                gap_mm=layout.gap.target_mm,
                planned_mm=None,
                stands_off_mm=None,
                reach_mm=top,
                top_mm=top,
                top_error_mm=math.hypot(since.error_mm, stack.errors.diameter_mm / 2),
                off_plan_mm=None,
                rounds_to_return=None,
                is_blocked=False,
            )
        )
    return tuple(cuts)


def _corners(layout: Layout, piece: SheetPiece, place: WallPlace, stack: Stack) -> tuple[CornerCut, ...]:
    notches = {(n.wall, n.round, n.column): n for n in stack.notches}
    tops = {(t.wall, t.round, t.column): t for t in stack.tops}
    if piece.round > layout.round_count:
        return _ends_at_the_top(layout, piece, place, stack)
    cuts = []
    for column in columns_of(layout)[piece.wall]:
        if not place.start_mm <= column.at_mm <= place.end_mm:
            continue
        spot = (piece.wall, piece.round, column.column)
        top, notch, below = tops[spot], notches.get(spot), tops.get((spot[0], spot[1] - 1, spot[2]))
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
                gap_mm=top.seat.gap_mm if top.seat else 0.0,
                planned_mm=top.planned_mm,
                stands_off_mm=below.stands_off_mm if below else None,
                reach_mm=top.reach_mm,
                top_mm=top.top_mm,
                top_error_mm=top.error_mm,
                off_plan_mm=top.stands_off_mm,
                rounds_to_return=None
                if top.stands_off_mm is None
                else rounds_to_return(top.stands_off_mm, gap=layout.gap),
                is_blocked=top.seat is not None and top.seat.is_blocked,
            )
        )
    return tuple(cuts)
