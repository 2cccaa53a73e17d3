"""Scribing a log to the one below it: where it rests first, the one setting of the scribers, the groove.

A log that is scribed comes down by one setting everywhere, notches and groove alike. It rests on the crossing
logs first, un-notched or with its notches cut roughly; the scribers are set to the widest gap along the wall
and the overlap wanted there. Heights above the deck, positions along the wall, all in mm.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from cabins.core.along_the_wall import (
    AlongError,
    CrownLaid,
    GapAlong,
    LaidLog,
    diameter_mm,
    gap_along,
    gap_mm,
)
from cabins.core.sources import ILBA_MEMORY, MP579
from inventory.core.basis import Basis
from inventory.core.crew_units import Sentence

# "Notch until about 2 in of gap remains, then set the scriber at the widest gap."
LAST_GAP_MM = 50.8
WIDEST_GROOVE_SHARE = 0.375
NARROWEST_GROOVE_MM = 63.5
CAUTION_GROOVE = (
    "A groove this wide takes much of the log: keep it to what the overlap needs, and ask a licensed "
    f"practitioner. Its share should stay under {WIDEST_GROOVE_SHARE:.0%}: {ILBA_MEMORY}."
)
CAUTION_NARROW = Sentence(
    "A groove this narrow leaks: {least:across} is the least: {source}.",
    least=NARROWEST_GROOVE_MM,
    source=str(ILBA_MEMORY),
)
CAUTION_SCRIBE = "Scribe on the wall, with the log held so that it cannot turn, and cut to the line."
BASIS = Basis(
    rule="setting = widest gap along the wall + overlap wanted; a groove is as wide as two circles that "
    "overlap so far",
    source=f"{MP579}, for the widest gap and the last 2 in; geometry",
    assumption="the log drops straight down by one setting everywhere; crown laid as said",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScribedCrossing:
    """A crossing log under the one that is scribed: its top, and the notch that the wall asks for."""

    at_mm: float
    top_mm: float
    notch_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """How a log rests on one crossing log: its top there, and how deep its notch was cut before."""

    at_mm: float
    top_mm: float
    rough_cut_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Groove:
    """The groove at one position: `overlap_mm` deep at most, `width_mm` wide, as a share of the upper log."""

    at_mm: float
    overlap_mm: float
    width_mm: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Scribe:
    """One scribing: where the log rests, the widest gap then, the setting, and the tops it comes down to."""

    rests: tuple[Rest, Rest]
    widest_mm: float
    widest_at_mm: float
    setting_mm: float
    groove_setting_mm: float
    tops_mm: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scribing:
    """How a log is scribed: from un-notched, and with its notches cut roughly before.

    `first`: from where it rests un-notched; its tops may lie off the plan's, for one setting cannot level a
    log. `final`: after rough cuts that leave about 2 in, which brings it down level with the tops planned,
    and `below_plan_mm` lower where the overlap wanted at the widest place asks for that. `grooves`: then.
    """

    crown_laid: CrownLaid
    overlap_mm: float
    first: Scribe
    final: Scribe
    below_plan_mm: float
    grooves: tuple[Groove, ...]
    cautions: tuple[str, ...]
    basis: Basis


def groove_width_mm(*, upper_mm: float, lower_mm: float, overlap_mm: float) -> float:
    """Width of the groove that two round logs make which overlap by `overlap_mm`: the lens of two circles.

    With R1, R2 the radii and d = R1 + R2 - overlap, the common chord is 2 sqrt(R1^2 - x^2), with x = (d^2 +
    R1^2 - R2^2) / (2 d) (geometry). Once the smaller log's middle is past the chord, the chord no longer
    grows: its diameter counts. No overlap: 0. Raises AlongError for logs that are none.
    """
    if not all(math.isfinite(n) for n in (upper_mm, lower_mm, overlap_mm)) or min(upper_mm, lower_mm) <= 0:
        raise AlongError(
            Sentence(
                "logs of {upper:across} and {lower:across} that overlap by {overlap:across} are none",
                upper=upper_mm,
                lower=lower_mm,
                overlap=overlap_mm,
            )
        )
    if overlap_mm <= 0:
        return 0.0
    upper, lower = upper_mm / 2, lower_mm / 2
    apart = upper + lower - overlap_mm
    if apart <= abs(upper - lower):
        return 2 * min(upper, lower)
    along = (apart**2 + upper**2 - lower**2) / (2 * apart)
    if along < 0 or apart - along < 0:
        return 2 * min(upper, lower)
    return 2 * math.sqrt(max(upper**2 - along**2, 0.0))


def scribe_from(
    upper: LaidLog,
    lowers: Sequence[LaidLog],
    crossings: tuple[ScribedCrossing, ScribedCrossing],
    *,
    rough_cuts_mm: tuple[float, float],
    overlap_mm: float,
    overscribe_mm: float = 0.0,
) -> Scribe | None:
    """One scribing of a log that rests on two crossing logs with its notches cut so deep before.

    `upper` says what the log is and which way its crown lies; its own heights are not used. `overscribe_mm`
    is set wider for the groove alone. None where no log lies below. Raises AlongError.
    """
    rests = tuple(
        Rest(at_mm=one.at_mm, top_mm=one.top_mm + diameter_mm(upper, one.at_mm) - cut, rough_cut_mm=cut)
        for one, cut in zip(crossings, rough_cuts_mm, strict=True)
    )
    first, last = rests
    resting = replace(upper, supports=((first.at_mm, first.top_mm), (last.at_mm, last.top_mm)))
    gap = gap_along(resting, lowers)
    if gap is None:
        return None
    setting = max(gap.largest_mm + overlap_mm, 0.0)
    return Scribe(
        rests=(first, last),
        widest_mm=gap.largest_mm,
        widest_at_mm=gap.largest_at_mm,
        setting_mm=setting,
        groove_setting_mm=setting + overscribe_mm,
        tops_mm=(first.top_mm - setting, last.top_mm - setting),
    )


def rough_cuts_mm(
    crossings: tuple[ScribedCrossing, ScribedCrossing], *, planned: GapAlong, last_gap_mm: float = LAST_GAP_MM
) -> tuple[float, float]:
    """How deep to cut both notches roughly, so that `last_gap_mm` remains at the widest place.

    One final setting then takes the rest of both notches, so the log comes down level with what is planned:
    notch - (last gap - planned gap at the widest). A notch that leaves less than that has no rough cut, and
    the other leaves the same.
    """
    last = min(last_gap_mm - planned.largest_mm, *(one.notch_mm for one in crossings))
    first, other = (max(one.notch_mm - last, 0.0) for one in crossings)
    return first, other


def scribing_of(
    upper: LaidLog,
    lowers: Sequence[LaidLog],
    crossings: tuple[ScribedCrossing, ScribedCrossing],
    *,
    overlap_mm: float,
    overscribe_mm: float = 0.0,
    last_gap_mm: float = LAST_GAP_MM,
) -> Scribing | None:
    """How to scribe a log of a scribed wall; `upper` lies at the tops planned. None: no log lies below.

    `overlap_mm` is the least overlap wanted, at the widest place. Raises AlongError.
    """
    if not (math.isfinite(overlap_mm) and overlap_mm >= 0):
        raise AlongError(Sentence("an overlap of {overlap:across} is none", overlap=overlap_mm))
    planned = gap_along(upper, lowers)
    if planned is None:
        return None
    rough = rough_cuts_mm(crossings, planned=planned, last_gap_mm=last_gap_mm)
    first, final = (
        scribe_from(
            upper, lowers, crossings, rough_cuts_mm=cuts, overlap_mm=overlap, overscribe_mm=overscribe_mm
        )
        # After rough cuts the heights planned decide, unless they leave less overlap than is wanted.
        for cuts, overlap in (((0.0, 0.0), overlap_mm), (rough, max(overlap_mm, -planned.largest_mm)))
    )
    assert first and final
    below = max(planned.largest_mm + overlap_mm, 0.0)
    (start, start_top), (end, end_top) = upper.supports
    grooves = grooves_of(
        replace(upper, supports=((start, start_top - below), (end, end_top - below))), lowers
    )
    return Scribing(
        crown_laid=upper.crown_laid,
        overlap_mm=overlap_mm,
        first=first,
        final=final,
        below_plan_mm=below,
        grooves=grooves,
        cautions=(*_groove_cautions(grooves), CAUTION_SCRIBE),
        basis=BASIS,
    )


def grooves_of(upper: LaidLog, lowers: Sequence[LaidLog]) -> tuple[Groove, ...]:
    """The groove at both supports and midway between them, wherever a log lies below. Raises AlongError."""
    (first, _), (last, _) = upper.supports
    grooves = []
    for at in (first, (first + last) / 2, last):
        lower = next((one for one in lowers if one.start_mm <= at <= one.end_mm), None)
        if lower is None:
            continue
        overlap = max(-gap_mm(upper, lower, at), 0.0)
        over = diameter_mm(upper, at)
        width = groove_width_mm(upper_mm=over, lower_mm=diameter_mm(lower, at), overlap_mm=overlap)
        grooves.append(Groove(at_mm=at, overlap_mm=overlap, width_mm=width, share=width / over))
    return tuple(grooves)


def _groove_cautions(grooves: Sequence[Groove]) -> list[str]:
    told = []
    if any(groove.share > WIDEST_GROOVE_SHARE for groove in grooves):
        told.append(CAUTION_GROOVE)
    if any(groove.width_mm < NARROWEST_GROOVE_MM for groove in grooves):
        told.append(CAUTION_NARROW)
    return told
