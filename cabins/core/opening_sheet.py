"""An opening's own sheet: the hole to leave, what is cut of sill and header and when, the jambs, what is
wrong."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cabins.core.courses import FittedOpening
from cabins.core.layout_parts import Layout, Opening
from cabins.core.opening_help import position_words, stubs_of
from cabins.core.opening_words import BRACE, CAUTION_HEADER, KEYWAY, MISFITS, cut_words, threshold_words
from cabins.core.openings import NOTHING_MM, Edge
from cabins.core.pieces import ButtAt, from_butt_at
from cabins.core.places import WallPlace, columns_of, course_spans, places_of
from inventory.core.crew_units import CrewUnits


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningLog:
    """A log in a place, set or planned."""

    place: WallPlace
    log: str
    log_number: str
    from_butt_mm: float
    butt_at: ButtAt
    is_set: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningCut:
    """What one log is cut for one opening. Positions along the wall, and in the log from its butt end, in mm.

    `side`: `sill` or `header`. `depth_*_mm` at the near and the far jamb; `infill_*_mm`: what is left over
    there between log and frame. `leave_until_round`: not to be cut before that round is on. `log` is None
    where none is known yet, or what lies there is no log of a place (round 0).
    """

    opening: str
    kind: str
    side: str
    wall: str
    round: int
    piece: int | None
    log: str | None
    log_number: str | None
    is_set: bool
    from_mm: float
    to_mm: float
    log_from_mm: float | None
    log_to_mm: float | None
    depth_near_mm: float
    depth_far_mm: float
    infill_near_mm: float
    infill_far_mm: float
    share: float
    leave_until_round: int | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JambPiece:
    """A piece that ends at a jamb of the opening: `jamb_mm` along the wall, where it is cut plumb in the
    end."""

    wall: str
    round: int
    piece: int
    position: str
    log: str | None
    log_number: str | None
    jamb: str
    jamb_mm: float
    run_wild_mm: float
    needs_brace: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OutOfOrder:
    """What is out of order at an opening: a stable code and a sentence."""

    code: str
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningSheet:
    """One opening among its courses. Heights above the deck; near is the jamb towards the wall's start."""

    opening: str
    kind: str
    wall: str
    near_mm: float
    far_mm: float
    width_mm: float
    height_mm: float
    sill_mm: float
    head_mm: float
    space_mm: float
    hole_asked_mm: float
    hole_top_mm: float
    hole_near_mm: float
    hole_far_mm: float
    rounds_through: tuple[int, ...]
    threshold: str | None
    sill: OpeningCut
    header: OpeningCut | None
    jambs: tuple[JambPiece, ...]
    keyway: str
    out_of_order: tuple[OutOfOrder, ...]
    cautions: tuple[str, ...]


def opening_sheet(
    fitted: FittedOpening, *, layout: Layout, logs: Sequence[OpeningLog], units: CrewUnits
) -> OpeningSheet:
    """The sheet of one opening. `logs`: what is set and planned in its wall; sentences are in `units`."""
    opening, fit = fitted.opening, fitted.fit
    by_place = {(one.place.wall, one.place.round, one.place.piece): one for one in logs}
    return OpeningSheet(
        opening=opening.id,
        kind=opening.kind.value,
        wall=opening.wall,
        near_mm=opening.offset_mm,
        far_mm=opening.end_mm,
        width_mm=opening.width_mm,
        height_mm=opening.head_mm - opening.sill_mm,
        sill_mm=opening.sill_mm,
        head_mm=opening.head_mm,
        space_mm=fitted.space_mm,
        hole_asked_mm=fit.asked_mm,
        hole_top_mm=fitted.hole.top_mm,
        hole_near_mm=fit.hole_mm[0],
        hole_far_mm=fit.hole_mm[1],
        rounds_through=fit.through,
        threshold=threshold_words(fitted, layout, units),
        sill=_cut(fitted, "sill", fit.sill, layout, by_place, units),
        header=None if fit.header is None else _cut(fitted, "header", fit.header, layout, by_place, units),
        jambs=_jambs(opening, layout, by_place),
        keyway=KEYWAY,
        out_of_order=_out_of_order(fitted, layout, units),
        cautions=(CAUTION_HEADER,),
    )


def _cut(
    fitted: FittedOpening,
    side: str,
    edge: Edge,
    layout: Layout,
    by_place: Mapping[tuple[str, int, int], OpeningLog],
    units: CrewUnits,
) -> OpeningCut:
    opening = fitted.opening
    place = _place_over(layout, opening, edge.round)
    laid = None if place is None else by_place.get((place.wall, place.round, place.piece))
    ends = (None, None) if laid is None else _in_log(laid, opening)
    until = _leave_until(fitted, side)
    return OpeningCut(
        opening=opening.id,
        kind=opening.kind.value,
        side=side,
        wall=opening.wall,
        round=edge.round,
        piece=None if place is None else place.piece,
        log=None if laid is None else laid.log,
        log_number=None if laid is None else laid.log_number,
        is_set=laid is not None and laid.is_set,
        from_mm=opening.offset_mm,
        to_mm=opening.end_mm,
        log_from_mm=ends[0],
        log_to_mm=ends[1],
        depth_near_mm=edge.cut_mm[0],
        depth_far_mm=edge.cut_mm[1],
        infill_near_mm=edge.infill_mm[0],
        infill_far_mm=edge.infill_mm[1],
        share=edge.share,
        leave_until_round=until if max(edge.cut_mm) > NOTHING_MM else None,
        words=cut_words(opening, side, edge, until=until, units=units),
    )


def _place_over(layout: Layout, opening: Opening, number: int) -> WallPlace | None:
    """The place of a round that runs across the opening; None for what is no place."""
    middle = (opening.offset_mm + opening.end_mm) / 2
    here = (p for p in places_of(layout) if (p.wall, p.round) == (opening.wall, number))
    return next((p for p in here if p.start_mm < middle < p.end_mm), None)


def _in_log(laid: OpeningLog, opening: Opening) -> tuple[float, float]:
    """From where to where in the log the opening lies, from its butt end."""
    ends = [
        from_butt_at(place=laid.place, from_butt_mm=laid.from_butt_mm, butt_at=laid.butt_at, at_mm=at)
        for at in (opening.offset_mm, opening.end_mm)
    ]
    return min(ends), max(ends)


def _leave_until(fitted: FittedOpening, side: str) -> int:
    """The round that must be on before a log is cut into, so that it is held down while it is weakened.

    A sill waits for the header, a header for the log over it (common practice, no source).
    """
    header, last = fitted.fit.header, max(fitted.courses)
    if header is None:
        return last
    return header.round if side == "sill" else min(header.round + 1, last)


def _jambs(
    opening: Opening, layout: Layout, by_place: Mapping[tuple[str, int, int], OpeningLog]
) -> tuple[JambPiece, ...]:
    """The pieces that end at the opening's jambs, round by round."""
    columns = {wall: [column.at_mm for column in row] for wall, row in columns_of(layout).items()}
    stubs = {(one.wall, one.round, one.piece) for one in stubs_of(layout, columns)}
    found = []
    for place in places_of(layout):
        if place.wall != opening.wall:
            continue
        for jamb, jamb_mm, end in (
            ("near", opening.offset_mm, place.end_mm),
            ("far", opening.end_mm, place.start_mm),
        ):
            if abs(jamb_mm - end) > 1.0:
                continue
            key = (place.wall, place.round, place.piece)
            laid = by_place.get(key)
            spans = course_spans(layout, place.wall, place.round)
            found.append(
                JambPiece(
                    wall=place.wall,
                    round=place.round,
                    piece=place.piece,
                    position=position_words(layout, place.wall, spans, place.piece) or "",
                    log=None if laid is None else laid.log,
                    log_number=None if laid is None else laid.log_number,
                    jamb=jamb,
                    jamb_mm=jamb_mm,
                    run_wild_mm=layout.run_wild_mm,
                    needs_brace=key in stubs,
                )
            )
    return tuple(found)


def _out_of_order(fitted: FittedOpening, layout: Layout, units: CrewUnits) -> tuple[OutOfOrder, ...]:
    fit = fitted.fit
    header_share = fit.header.share if fit.header else 0.0
    words = {
        "side": "sill" if fit.sill.share >= header_share else "header",
        "share": f"{max(fit.sill.share, header_share):.0%}",
        "limit": f"{layout.cut_share:.0%}",
        "lacks": units.across(max(fit.sill.lacks_mm)),
    }
    return tuple(OutOfOrder(code=code.value, detail=MISFITS[code].format(**words)) for code in fit.misfits)


def cuts_of(sheets: Sequence[OpeningSheet]) -> dict[tuple[str, int, int], tuple[OpeningCut, ...]]:
    """What each piece is cut into for openings, by place; pieces that are not are left out."""
    found: dict[tuple[str, int, int], tuple[OpeningCut, ...]] = {}
    for sheet in sheets:
        for cut in (sheet.sill, sheet.header):
            if cut is not None and cut.piece is not None and _is_worth(cut):
                key = (cut.wall, cut.round, cut.piece)
                found[key] = (*found.get(key, ()), cut)
    return found


def _is_worth(cut: OpeningCut) -> bool:
    most = max(cut.depth_near_mm, cut.depth_far_mm, cut.infill_near_mm, cut.infill_far_mm)
    return most > NOTHING_MM


def jamb_words(sheets: Sequence[OpeningSheet], place: WallPlace, units: CrewUnits) -> tuple[str, ...]:
    """What to know of a piece that ends at a jamb: how far it may run wild, and whether it must be braced."""
    key = (place.wall, place.round, place.piece)
    said = []
    for sheet in sheets:
        for piece in sheet.jambs:
            if (piece.wall, piece.round, piece.piece) != key:
                continue
            said.append(
                f"Ends at the {piece.jamb} jamb of {sheet.opening}, {units.along(piece.jamb_mm)} along the "
                f"wall; may "
                f"run {units.across(piece.run_wild_mm)} wild, to be cut plumb once the wall is up."
            )
            if piece.needs_brace and BRACE not in said:
                said.append(BRACE)
    return tuple(said)
