"""The gap along a wall: between a log and the course below it, at every position and not at the corners only.

A log is a row of straight tapers between its measured stations, on an axis that bows. It is held by its two
supports, where its top is known; between them the axis is the straight line plus what the bow stands off its
own chord. Positions run along the wall from the centre of its start corner, heights upward, all in mm. The
tilt of a log is left out: its cosine is within a thousandth of 1.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from cabins.core.layout_parts import Gap
from cabins.core.pieces import ButtAt
from cabins.core.sources import MP579
from inventory.core.basis import Basis
from inventory.core.crew_units import Sentence
from inventory.core.profile import LogProfile, nearest_diameter_mm

BASIS = Basis(
    rule="underside of the upper log less the top of the lower one, from both logs' diameters and bows",
    source=f"geometry; {MP579}, for laying a bow upward",
    assumption="a bow is two half parabolas that meet at its peak; a sharp crook, knots and ovality are left "
    "out; a piece that ends at an opening is held there with the wall's own gap",
)
UNCERTAINTY = Sentence(
    "diameters are read to {least:error} to {most:error} and a bow to about {least:error}: look along the "
    "wall before cutting",
    least=3,
    most=6,
)


class AlongError(ValueError):
    """A log that cannot lie so, or a position where it does not lie."""


class CrownLaid(StrEnum):
    """Which way a log's crown is laid in the wall; to the side it moves neither top nor underside."""

    UP = "up"
    DOWN = "down"
    SIDE = "side"


_OFF_CHORD = {CrownLaid.UP: 1.0, CrownLaid.DOWN: -1.0, CrownLaid.SIDE: 0.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidLog:
    """A log as it lies in a wall, from `start_mm` to `end_mm`; raises AlongError for one that cannot.

    `from_butt_mm`: from the log's butt end to the piece's end nearest the butt. `crown_mm`: of the whole log,
    at its peak `crown_at_mm` from the butt (None: the middle). `supports`: two (position, height of the top).
    """

    profile: LogProfile
    from_butt_mm: float
    butt_at: ButtAt
    start_mm: float
    end_mm: float
    supports: tuple[tuple[float, float], tuple[float, float]]
    crown_mm: float = 0.0
    crown_at_mm: float | None = None
    crown_laid: CrownLaid = CrownLaid.UP

    def __post_init__(self) -> None:
        (first, top), (last, other) = self.supports
        numbers = (self.start_mm, self.end_mm, self.from_butt_mm, first, top, last, other, self.crown_mm)
        if not all(math.isfinite(number) for number in numbers):
            raise AlongError("a position, a height or a crown is not a number")
        if not self.start_mm <= first < last <= self.end_mm:
            raise AlongError(
                Sentence(
                    "a log from {start:along} to {end:along} is not held at {first:along} and {last:along}",
                    start=self.start_mm,
                    end=self.end_mm,
                    first=first,
                    last=last,
                )
            )
        if self.crown_mm < 0:
            raise AlongError(Sentence("a crown of {crown:across} is none", crown=self.crown_mm))
        if self.crown_at_mm is not None and not 0 <= self.crown_at_mm <= self.profile.length_mm:
            raise AlongError(
                Sentence("a crown at {at:along} from the butt is not on the log", at=self.crown_at_mm)
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class GapAlong:
    """Smallest and largest gap under a log, each with its position along the wall; negative: an overlap."""

    smallest_mm: float
    smallest_at_mm: float
    largest_mm: float
    largest_at_mm: float


def in_log_mm(log: LaidLog, at_mm: float) -> float:
    """How far from the log's butt a position of the wall lies."""
    if log.butt_at is ButtAt.START:
        return log.from_butt_mm + (at_mm - log.start_mm)
    return log.from_butt_mm + (log.end_mm - at_mm)


def diameter_mm(log: LaidLog, at_mm: float) -> float:
    """The log's diameter at a position of the wall. Raises AlongError where it does not lie."""
    if not log.start_mm <= at_mm <= log.end_mm:
        raise AlongError(
            Sentence(
                "{at:along} is outside the log, {start:along} to {end:along}",
                at=at_mm,
                start=log.start_mm,
                end=log.end_mm,
            )
        )
    return nearest_diameter_mm(log.profile, in_log_mm(log, at_mm))


def bow_mm(*, length_mm: float, crown_mm: float, peak_mm: float, at_mm: float) -> float:
    """How far a bowed log's axis stands off the line between its ends, `at_mm` from one of them.

    `crown (1 - ((at - peak) / side)^2)`, side: from the peak to the end on that side. The crown at its
    peak, nothing at the ends; with the peak in the middle a piece keeps `crown (piece / log)^2` of it.
    """
    side = peak_mm if at_mm < peak_mm else length_mm - peak_mm
    return crown_mm if side <= 0 else crown_mm * (1 - ((at_mm - peak_mm) / side) ** 2)


def axis_mm(log: LaidLog, at_mm: float) -> float:
    """Height of the log's axis at a position of the wall. Raises AlongError where it does not lie."""
    (first, first_top), (last, last_top) = log.supports
    share = (at_mm - first) / (last - first)

    def chord(start: float, end: float) -> float:
        return start + share * (end - start)

    held = chord(first_top - diameter_mm(log, first) / 2, last_top - diameter_mm(log, last) / 2)
    off = _bow_at(log, at_mm) - chord(_bow_at(log, first), _bow_at(log, last))
    return held + _OFF_CHORD[log.crown_laid] * off


def top_mm(log: LaidLog, at_mm: float) -> float:
    """Height of the log's top at a position of the wall. Raises AlongError where it does not lie."""
    return axis_mm(log, at_mm) + diameter_mm(log, at_mm) / 2


def underside_mm(log: LaidLog, at_mm: float) -> float:
    """Height of the log's underside at a position of the wall. Raises AlongError where it does not lie."""
    return axis_mm(log, at_mm) - diameter_mm(log, at_mm) / 2


def gap_mm(upper: LaidLog, lower: LaidLog, at_mm: float) -> float:
    """The gap between two logs at a position where both lie; negative: an overlap. Raises AlongError."""
    return underside_mm(upper, at_mm) - top_mm(lower, at_mm)


def gap_along(
    upper: LaidLog, lowers: Iterable[LaidLog], *, from_mm: float | None = None, to_mm: float | None = None
) -> GapAlong | None:
    """The gap under a log wherever a log lies below it, between two positions (its supports unless given).

    None where nothing lies below: the first round, or over an opening. Exact: between the stations, peaks and
    supports of both logs the gap is a parabola. Raises AlongError.
    """
    begin = upper.supports[0][0] if from_mm is None else from_mm
    stop = upper.supports[1][0] if to_mm is None else to_mm
    found: list[tuple[float, float]] = []
    for lower in lowers:
        start, end = max(begin, upper.start_mm, lower.start_mm), min(stop, upper.end_mm, lower.end_mm)
        if start < end:
            breaks = {start, end, *(at for at in (*_breaks(upper), *_breaks(lower)) if start < at < end)}
            found += _extremes(lambda at, below=lower: gap_mm(upper, below, at), sorted(breaks))  # type: ignore[misc]
    if not found:
        return None
    (smallest, smallest_at), (largest, largest_at) = min(found), max(found)
    return GapAlong(
        smallest_mm=smallest, smallest_at_mm=smallest_at, largest_mm=largest, largest_at_mm=largest_at
    )


def is_outside(gap: GapAlong, band: Gap) -> bool:
    """Whether the gap along the wall leaves its band somewhere, by more than rounding."""
    return gap.smallest_mm < band.smallest_mm - 1e-6 or gap.largest_mm > band.largest_mm + 1e-6


def _bow_at(log: LaidLog, at_mm: float) -> float:
    return bow_mm(
        length_mm=log.profile.length_mm,
        crown_mm=log.crown_mm,
        peak_mm=_peak_mm(log),
        at_mm=in_log_mm(log, at_mm),
    )


def _peak_mm(log: LaidLog) -> float:
    return log.profile.length_mm / 2 if log.crown_at_mm is None else log.crown_at_mm


def _breaks(log: LaidLog) -> list[float]:
    """Where along the wall the log's taper or bow changes its formula."""
    in_log = [at for at, _ in log.profile.stations] + [_peak_mm(log), 0.0, log.profile.length_mm]
    if log.butt_at is ButtAt.START:
        return [log.start_mm + at - log.from_butt_mm for at in in_log]
    return [log.end_mm - at + log.from_butt_mm for at in in_log]


def _extremes(gap_at: Callable[[float], float], breaks: list[float]) -> list[tuple[float, float]]:
    """(value, position) at every break, and at the turning point of each parabola between two of them."""
    found = [(gap_at(at), at) for at in breaks]
    for (left, start), (right, end) in pairwise(list(found)):
        half = (end - start) / 2
        bend = left - 2 * gap_at(start + half) + right
        slope = (right - left) / 2
        if abs(bend) > 1e-12 and abs(slope) < abs(bend):
            at = start + half - half * slope / bend
            found.append((gap_at(at), at))
    return found
