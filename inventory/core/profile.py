"""A log's diameters along its length, and the piece that is cut from it.

Positions run from the butt end, all lengths in mm. For a log sawn on two faces a diameter is the height of
its face, the dimension that counts in the wall.
"""

import math
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from inventory.core.crew_errors import USUAL_ERRORS
from inventory.core.crew_units import Sentence
from inventory.core.section import circle_between_planes_area_mm2, round_diameter_mm

STATION_INSET_MM = 305.0  # about a foot: the shoulder, where end diameters are taken
READING_SD_MM = USUAL_ERRORS.diameter_mm
# Root mean square of what measured stems stand off the straight lines between three readings of a butt log,
# from the shorter to the longer logs, and the most of all: stems of timbeR and dyntaper (MIT), seen.
BETWEEN_READINGS_RMS_MM = (5.0, 6.0)
BETWEEN_READINGS_MOST_MM = 20.0
BETWEEN_READINGS = Sentence(
    "between three readings a butt log lies {least:error} to {most:error} off the straight lines (rms of "
    "measured stems), {worst:error} at worst; a further reading where it flares helps",
    least=BETWEEN_READINGS_RMS_MM[0],
    most=BETWEEN_READINGS_RMS_MM[1],
    worst=BETWEEN_READINGS_MOST_MM,
)


class BadProfile(ValueError):
    """These readings do not describe a log."""


class BadPosition(ValueError):
    """This position is not on the log."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogProfile:
    """All diameters measured on one log; `stations` are (from_butt_mm, diameter_mm), sorted, at least two.

    `sawn_thickness_mm` is the distance between two sawn faces, equally far from the heart; None: a round log.
    """

    length_mm: float
    stations: tuple[tuple[float, float], ...]
    sawn_thickness_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """What is cut from a log: `from_butt_mm` is its end nearest the butt, diameters are at its own ends."""

    from_butt_mm: float
    length_mm: float
    butt_end_mm: float
    middle_mm: float
    tip_end_mm: float
    crown_mm: float | None
    crook_mm: float


def profile_of(
    *,
    length_mm: float,
    butt_mm: float,
    middle_mm: float,
    tip_mm: float,
    station_inset_mm: float = STATION_INSET_MM,
    further: Iterable[tuple[float, float]] = (),
    sawn_thickness_mm: float | None = None,
) -> LogProfile:
    """The profile of a charted log, its ends taken `station_inset_mm` in, and what else was read.

    `further` are more stations (from_butt_mm, diameter_mm). Raises BadProfile: readings that are no positive
    numbers, at one place twice or outside the log, or that run out to nothing before its ends.
    """
    stations = (
        (station_inset_mm, butt_mm),
        (length_mm / 2, middle_mm),
        (length_mm - station_inset_mm, tip_mm),
        *further,
    )
    numbers = [length_mm, *(n for station in stations for n in station)]
    if sawn_thickness_mm is not None:
        numbers.append(sawn_thickness_mm)
    if not all(math.isfinite(n) for n in numbers):
        raise BadProfile("a length, a diameter or a position is not a number")
    if station_inset_mm < 0 or station_inset_mm * 2 >= length_mm:
        raise BadProfile(
            Sentence(
                "the ends were taken {inset:across} in, which leaves no log of {length:along} between",
                inset=station_inset_mm,
                length=length_mm,
            )
        )
    if any(diameter <= 0 for _, diameter in stations) or (sawn_thickness_mm or 1) <= 0:
        raise BadProfile("every diameter and thickness is more than nothing")
    if any(not 0 <= at <= length_mm for at, _ in stations):
        raise BadProfile(
            Sentence("a further station lies outside the log of {length:along}", length=length_mm)
        )
    profile = LogProfile(
        length_mm=length_mm, stations=tuple(sorted(stations)), sawn_thickness_mm=sawn_thickness_mm
    )
    for (before, _), (after, _) in pairwise(profile.stations):
        if after - before < 1:
            raise BadProfile(
                Sentence("two readings were taken at one place, {at:along} from the butt", at=after)
            )
    if min(diameter_mm_at(profile, 0.0), diameter_mm_at(profile, length_mm)) <= 0:
        raise BadProfile("the readings run out to nothing before the end of the log")
    return profile


def diameter_mm_at(profile: LogProfile, from_butt_mm: float) -> float:
    """Diameter (or face height) on the straight line between neighbouring stations.

    The outer lines run on to the ends. Raises BadPosition outside the log.
    """
    (near, near_weight), (far, far_weight) = _two_stations(profile, from_butt_mm)
    return near_weight * near + far_weight * far


def nearest_diameter_mm(profile: LogProfile, from_butt_mm: float) -> float:
    """Diameter at a position, or at the log's end where the position lies beyond it.

    For pieces that are cut already: a log measured again may have been written down shorter than what lies
    in the wall, and the wall stands all the same.
    """
    return diameter_mm_at(profile, min(max(from_butt_mm, 0.0), profile.length_mm))


def diameter_error_mm_at(
    profile: LogProfile, from_butt_mm: float, *, reading_sd_mm: float = READING_SD_MM
) -> float:
    """Standard deviation of the diameter at a position, from that of one reading.

    The two stations weigh by nearness, so the error is least half way between them (0.71 of a reading) and
    grows beyond the outer stations. What the log does between its stations is not in it: BETWEEN_READINGS.
    """
    if not (math.isfinite(reading_sd_mm) and reading_sd_mm >= 0):
        raise BadProfile(Sentence("a reading error of {sd:across} is none", sd=reading_sd_mm))
    (_, near_weight), (_, far_weight) = _two_stations(profile, from_butt_mm)
    return reading_sd_mm * math.hypot(near_weight, far_weight)


def section_area_mm2_at(profile: LogProfile, from_butt_mm: float) -> float:
    """Area of wood across the log: a circle, or a circle cut by the two sawn planes."""
    height = diameter_mm_at(profile, from_butt_mm)
    if profile.sawn_thickness_mm is None:
        return math.pi * height * height / 4
    half = profile.sawn_thickness_mm / 2
    diameter = round_diameter_mm(face_height_mm=height, thickness_mm=profile.sawn_thickness_mm)
    return circle_between_planes_area_mm2(diameter_mm=diameter, left_mm=-half, right_mm=half)


def piece_of(
    profile: LogProfile,
    *,
    from_butt_mm: float,
    length_mm: float,
    crown_mm: float | None = 0.0,
    crook_mm: float = 0.0,
    crook_at_mm: float | None = None,
) -> Piece:
    """The piece from `from_butt_mm` on: its ends, middle, crown and crook. Raises BadPosition.

    Crown is the arc of a circle and falls with the square of the length. A crook is sharp: the piece that
    holds it keeps all of it, any other has none (one whose place was not written counts for every piece).
    A crown that nobody looked at (None) stays unknown.
    """
    if not (math.isfinite(length_mm) and length_mm > 0):
        raise BadPosition(Sentence("a piece of {length:along} is none", length=length_mm))
    end_mm = from_butt_mm + length_mm
    crooked = crook_at_mm is None or from_butt_mm < crook_at_mm < end_mm
    return Piece(
        from_butt_mm=from_butt_mm,
        length_mm=length_mm,
        butt_end_mm=diameter_mm_at(profile, from_butt_mm),
        middle_mm=diameter_mm_at(profile, from_butt_mm + length_mm / 2),
        tip_end_mm=diameter_mm_at(profile, end_mm),
        crown_mm=None
        if crown_mm is None
        else piece_crown_mm(crown_mm=crown_mm, log_mm=profile.length_mm, piece_mm=length_mm),
        crook_mm=crook_mm if crooked else 0.0,
    )


def piece_crown_mm(*, crown_mm: float, log_mm: float, piece_mm: float) -> float:
    """Crown left in a piece of a log: `crown (piece / log)^2`. Raises BadProfile.

    The gap under a chord of a circle grows with the square of its length, s = L^2 / (8 R). Half has a
    quarter of the crown.
    """
    if not all(math.isfinite(n) for n in (crown_mm, log_mm, piece_mm)) or log_mm <= 0:
        raise BadProfile(
            Sentence("a crown of {crown:across} in {length:along} is none", crown=crown_mm, length=log_mm)
        )
    return crown_mm * (piece_mm / log_mm) ** 2


def _two_stations(
    profile: LogProfile, from_butt_mm: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """The two stations a position is read from, each as (diameter_mm, weight); the weights add up to one."""
    if not 0 <= from_butt_mm <= profile.length_mm:
        raise BadPosition(
            Sentence(
                "{at:along} from the butt is not on a log of {length:along}",
                at=from_butt_mm,
                length=profile.length_mm,
            )
        )
    places = [at for at, _ in profile.stations]
    right = min(max(bisect_right(places, from_butt_mm), 1), len(places) - 1)
    (x0, d0), (x1, d1) = profile.stations[right - 1 : right + 1]
    far = (from_butt_mm - x0) / (x1 - x0)
    return (d0, 1 - far), (d1, far)
