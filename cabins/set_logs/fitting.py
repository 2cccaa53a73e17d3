"""Whether a piece fits into its log beside the other pieces, what lies near its cuts, and what is left.

Plain functions; all lengths in mm, positions from the log's butt end. `cuts` are the crew's limits.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from cabins.core.cutting import USUAL_CUTS, CutLimits
from cabins.core.layout_parts import LEAST_PIECE_MM
from inventory.core.crew_units import Sentence
from inventory.core.profile import piece_crown_mm

# What is left of a log counts as a piece to come if it is at least so long: beside a window a shorter block
# is wedged, not set.
SHORTEST_USABLE_MM = LEAST_PIECE_MM
# A saw goes so far beside its line, or a piece comes out so much short, and it serves all the same.
SAW_SLACK_MM = 10.0
# A piece that lacks more than what usually lies between two pieces is another piece.
SHORT_AT_MOST_MM = USUAL_CUTS.apart_mm
# Lengths are stored to five places, the planner's floats are not.
DUST_MM = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class LogStretch:
    """A part of a log, from `near_butt_mm` to `near_tip_mm`; `is_half`: one half of it, ripped lengthwise."""

    near_butt_mm: float
    near_tip_mm: float
    is_half: bool = False

    @property
    def length_mm(self) -> float:
        return self.near_tip_mm - self.near_butt_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfit:
    """Why a piece does not fit: a stable code and a sentence.

    `is_doubtful`: it can be all the same, and is recorded of a log that lies in the wall already.
    """

    code: str
    detail: str
    is_doubtful: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class NearHazard:
    """A hazard near a cut or notch, or elsewhere in the piece. `distance_mm` to the nearest cut or notch."""

    kind: str
    from_butt_mm: float
    distance_mm: float
    is_near: bool


def misfits(
    *, piece: LogStretch, log_mm: float, others: Sequence[LogStretch], cuts: CutLimits
) -> list[Misfit]:
    """Every reason why `piece` is not to be cut from a log of `log_mm` from which `others` are cut already.

    Wood that is not there, or is in another piece, cannot be; less trim and kerf than usual, and a piece
    more than usual, are doubtful.
    """
    found = []
    least, most = cuts.trim_each_end_mm, log_mm - cuts.trim_each_end_mm
    if piece.near_butt_mm < least - DUST_MM or piece.near_tip_mm > most + DUST_MM:
        lies_in_log = piece.near_butt_mm >= -DUST_MM and piece.near_tip_mm <= log_mm + DUST_MM
        found.append(
            Misfit(
                code="short_of_trim" if lies_in_log else "outside_log",
                detail=Sentence(
                    "The piece runs from {start:along} to {end:along}; with {trim:across} trimmed at each "
                    "end the log gives {least:along} to {most:along}.",
                    start=piece.near_butt_mm,
                    end=piece.near_tip_mm,
                    trim=cuts.trim_each_end_mm,
                    least=least,
                    most=most,
                ),
                is_doubtful=lies_in_log,
            )
        )
    apart = cuts.apart_mm
    halves = [other for other in others if piece.is_half and other.is_half and overlap(piece, other)]
    if any(overlap(one, two) for one in halves for two in halves if one is not two):
        found.append(
            Misfit(code="no_third_half", detail="Both halves of that part of the log are set already.")
        )
    for other in others:
        if other in halves:
            continue
        gap = max(other.near_butt_mm - piece.near_tip_mm, piece.near_butt_mm - other.near_tip_mm)
        if gap < apart - DUST_MM:
            found.append(
                Misfit(
                    code="overlaps_piece" if gap < -DUST_MM else "close_to_piece",
                    detail=Sentence(
                        "The part from {start:along} to {end:along} is set; two pieces lie at least "
                        "{apart:across} apart (trim and kerf).",
                        start=other.near_butt_mm,
                        end=other.near_tip_mm,
                        apart=apart,
                    ),
                    is_doubtful=gap >= -DUST_MM,
                )
            )
    if len(parts_of([*others, piece])) > cuts.most_pieces:
        found.append(
            Misfit(
                code="too_many_pieces",
                detail=f"A log is cut into {cuts.most_pieces} pieces at most.",
                is_doubtful=True,
            )
        )
    return found


def overlap(one: LogStretch, other: LogStretch) -> bool:
    """Whether two parts of one log have wood in common."""
    near = max(one.near_butt_mm, other.near_butt_mm)
    return min(one.near_tip_mm, other.near_tip_mm) - near > DUST_MM


def parts_of(pieces: Iterable[LogStretch]) -> list[LogStretch]:
    """The parts that a log is sawn into, butt first: halves that lie beside each other are of one part."""
    parts: list[LogStretch] = []
    for piece in sorted(pieces, key=lambda piece: piece.near_butt_mm):
        if parts and piece.is_half and parts[-1].is_half and overlap(piece, parts[-1]):
            far = max(piece.near_tip_mm, parts[-1].near_tip_mm)
            parts[-1] = replace(parts[-1], near_tip_mm=far)
        else:
            parts.append(piece)
    return parts


def halves_left(pieces: Sequence[LogStretch]) -> list[LogStretch]:
    """The other halves of parts that were ripped for one half log, if they are long enough to be used."""
    return [
        piece
        for piece in pieces
        if piece.is_half
        and piece.length_mm >= SHORTEST_USABLE_MM
        and not any(other is not piece and other.is_half and overlap(piece, other) for other in pieces)
    ]


def unfit_for_member(
    *,
    piece: LogStretch,
    log_mm: float,
    crown_mm: float | None,
    middle_mm: float,
    least_middle_mm: float,
    crown_limit_mm: float,
) -> list[Misfit]:
    """Why a piece cannot be the member it is cut for: `middle_mm` is its diameter at its own middle.

    A member carries what stands above it, so what it must be is the layout's to say and not the crew's at the
    log. A crown that nobody looked at (None) is no reason against it, nor one for it.
    """
    found = []
    if middle_mm < least_middle_mm - DUST_MM:
        found.append(
            Misfit(
                code="too_thin",
                detail=Sentence(
                    "The piece is {middle:across} thick at its middle; the layout wants {least:across} or "
                    "more.",
                    middle=middle_mm,
                    least=least_middle_mm,
                ),
            )
        )
    if crown_mm is None:
        return found
    bow = piece_crown_mm(crown_mm=crown_mm, log_mm=log_mm, piece_mm=piece.length_mm)
    if bow > crown_limit_mm + DUST_MM:
        found.append(
            Misfit(
                code="too_crooked",
                detail=Sentence(
                    "The piece bows {bow:across}; the layout allows {limit:across}.",
                    bow=bow,
                    limit=crown_limit_mm,
                ),
            )
        )
    return found


def what_is_left(*, log_mm: float, pieces: Iterable[LogStretch], cuts: CutLimits) -> list[LogStretch]:
    """Where further whole pieces may lie, butt first: stretches of at least SHORTEST_USABLE_MM."""
    laid = parts_of(pieces)
    if len(laid) >= cuts.most_pieces:
        return []
    trim = cuts.trim_each_end_mm
    starts = [trim, *(piece.near_tip_mm + cuts.apart_mm for piece in laid)]
    ends = [*(piece.near_butt_mm - cuts.apart_mm for piece in laid), log_mm - trim]
    return [
        LogStretch(near_butt_mm=start, near_tip_mm=end)
        for start, end in zip(starts, ends, strict=True)
        if end - start >= SHORTEST_USABLE_MM
    ]


def hazards_in(
    hazards: Iterable[Mapping[str, Any]],
    *,
    piece: LogStretch,
    notches_mm: Iterable[float],
    cuts: CutLimits,
) -> list[NearHazard]:
    """The hazards that the piece holds or that lie near its cuts, in the order charted.

    `hazards`: rows with kind, from_butt_mm and an extent_mm toward the tip. `notches_mm`: where the piece is
    notched, from the log's butt. Near is within `cuts.hazard_clear_mm`.
    """
    clear_of = [piece.near_butt_mm, piece.near_tip_mm, *notches_mm]
    found = []
    for hazard in hazards:
        start = float(hazard["from_butt_mm"])
        end = start + float(hazard.get("extent_mm") or 0)
        distance = min(max(start - cut, cut - end, 0.0) for cut in clear_of)
        is_inside = start < piece.near_tip_mm and end > piece.near_butt_mm
        is_near = distance < cuts.hazard_clear_mm
        if is_near or is_inside:
            found.append(
                NearHazard(
                    kind=str(hazard["kind"]), from_butt_mm=start, distance_mm=distance, is_near=is_near
                )
            )
    return found


def over_saw_cuts(*, piece: LogStretch, sawn: Iterable[LogStretch]) -> tuple[list[Misfit], LogStretch | None]:
    """Why a piece cannot be what was sawn, and the sawn piece that it is of; None: of none.

    A piece across a saw cut is none any more. One sawn a little short lies there all the same: up to
    SAW_SLACK_MM that is how saws go, beyond it doubtful.
    """
    found: list[Misfit] = []
    of: LogStretch | None = None
    for other in sawn:
        if not overlap(piece, other):
            continue
        beyond = max(0.0, other.near_butt_mm - piece.near_butt_mm) + max(
            0.0, piece.near_tip_mm - other.near_tip_mm
        )
        if beyond > SHORT_AT_MOST_MM + DUST_MM:
            detail = Sentence(
                "The log was sawn at {start:along} and {end:along}: this piece would lie across a cut. If it "
                "was not sawn so, take that record back first.",
                start=other.near_butt_mm,
                end=other.near_tip_mm,
            )
            found.append(Misfit(code="across_saw_cut", detail=detail))
            continue
        of = other
        if beyond > SAW_SLACK_MM + DUST_MM:
            detail = Sentence(
                "The piece was sawn from {start:along} to {end:along}, {short:across} short of its place.",
                start=other.near_butt_mm,
                end=other.near_tip_mm,
                short=beyond,
            )
            found.append(Misfit(code="sawn_short", detail=detail, is_doubtful=True))
    return found, of


def crosses_saw_cut(piece: LogStretch, sawn: Iterable[LogStretch]) -> bool:
    """Whether the piece would lie across a cut that was made, and so is none any more."""
    unfit, _ = over_saw_cuts(piece=piece, sawn=sawn)
    return any(not one.is_doubtful for one in unfit)
