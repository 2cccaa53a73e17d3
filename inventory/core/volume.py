"""Cubic volume of a log by the rules a mill may name, and by the sum of all that was measured.

Formulas take end areas in mm2 and a length in mm and give mm3; a log's answer is in m3.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

from inventory.core.basis import Basis, is_positive
from inventory.core.crew_units import Sentence
from inventory.core.profile import (
    READING_SD_MM,
    BadPosition,
    LogProfile,
    diameter_mm_at,
    section_area_mm2_at,
)

MM3_PER_M3 = 1e9
# Nodes and weights of five-point Gauss-Legendre on [-1, 1]: exact to the ninth power, so a round log's volume
# and first moment are exact and a sawn one's are good to a part in a million.
_GAUSS = (
    (0.0, 128 / 225),
    (math.sqrt(5 - 2 * math.sqrt(10 / 7)) / 3, (322 + 13 * math.sqrt(70)) / 900),
    (-math.sqrt(5 - 2 * math.sqrt(10 / 7)) / 3, (322 + 13 * math.sqrt(70)) / 900),
    (math.sqrt(5 + 2 * math.sqrt(10 / 7)) / 3, (322 - 13 * math.sqrt(70)) / 900),
    (-math.sqrt(5 + 2 * math.sqrt(10 / 7)) / 3, (322 - 13 * math.sqrt(70)) / 900),
)
FLARE_TO_WARN_OF = 1.02  # mean of the ends over the middle


class BadVolume(ValueError):
    """These measures enclose no volume."""


class CubicRule(StrEnum):
    """How a cubic volume is reckoned from diameters."""

    FRUSTUMS = "frustums"
    HUBER = "huber"
    SMALIAN = "smalian"
    NEWTON = "newton"


@dataclass(frozen=True, slots=True, kw_only=True)
class CubicVolume:
    """Volume in m3; low and high are two standard deviations of the diameter readings apart from it."""

    rule: CubicRule
    volume_m3: float
    low_m3: float
    high_m3: float
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def huber_mm3(*, middle_mm2: float, length_mm: float) -> float:
    """Middle area times length."""
    _check(middle_mm2, length_mm)
    return middle_mm2 * length_mm


def smalian_mm3(*, small_mm2: float, large_mm2: float, length_mm: float) -> float:
    """Mean of the end areas times length; exact for a paraboloid, too much for a flared butt."""
    _check(small_mm2, large_mm2, length_mm)
    return (small_mm2 + large_mm2) / 2 * length_mm


def newton_mm3(*, small_mm2: float, middle_mm2: float, large_mm2: float, length_mm: float) -> float:
    """Ends and four times the middle, by length over six; exact for cone, paraboloid and neiloid."""
    _check(small_mm2, middle_mm2, large_mm2, length_mm)
    return (small_mm2 + 4 * middle_mm2 + large_mm2) * length_mm / 6


def cone_frustum_mm3(*, small_mm2: float, large_mm2: float, length_mm: float) -> float:
    """Frustum of a cone: straight taper between round ends."""
    _check(small_mm2, large_mm2, length_mm)
    return (small_mm2 + math.sqrt(small_mm2 * large_mm2) + large_mm2) * length_mm / 3


def neiloid_frustum_mm3(*, small_mm2: float, large_mm2: float, length_mm: float) -> float:
    """Frustum of a neiloid: the hollow flare of a butt."""
    _check(small_mm2, large_mm2, length_mm)
    between = math.cbrt(small_mm2**2 * large_mm2) + math.cbrt(small_mm2 * large_mm2**2)
    return (small_mm2 + between + large_mm2) * length_mm / 4


def volume_mm3(profile: LogProfile, *, from_butt_mm: float = 0.0, to_mm: float | None = None) -> float:
    """Wood between two positions, straight between all stations: the sum of frustums. Raises BadPosition."""
    return integral_along(profile, lambda _: 1.0, from_butt_mm=from_butt_mm, to_mm=to_mm)


def integral_along(
    profile: LogProfile,
    weight: Callable[[float], float],
    *,
    from_butt_mm: float = 0.0,
    to_mm: float | None = None,
) -> float:
    """Integral of section area times `weight(from_butt_mm)` between two positions. Raises BadPosition."""
    end = profile.length_mm if to_mm is None else to_mm
    if not 0 <= from_butt_mm < end <= profile.length_mm:
        raise BadPosition(
            Sentence(
                "{start:along} to {end:along} is no part of a log of {length:along}",
                start=from_butt_mm,
                end=end,
                length=profile.length_mm,
            )
        )
    inner = [at for at, _ in profile.stations if from_butt_mm < at < end]
    total = 0.0
    for start, stop in pairwise((from_butt_mm, *inner, end)):
        half, centre = (stop - start) / 2, (start + stop) / 2
        for node, share in _GAUSS:
            at = centre + half * node
            total += half * share * section_area_mm2_at(profile, at) * weight(at)
    return total


def cubic_volume(
    profile: LogProfile,
    *,
    rule: CubicRule = CubicRule.FRUSTUMS,
    reading_sd_mm: float = READING_SD_MM,
) -> CubicVolume:
    """The volume of a whole log by a named rule, and what the reading error makes of it. Raises BadVolume."""

    def reckon(log: LogProfile) -> float:
        return _RECKON[rule](log) / MM3_PER_M3

    volume = reckon(profile)
    spread = 2 * reading_spread(profile, reckon, reading_sd_mm=reading_sd_mm)
    return CubicVolume(
        rule=rule,
        volume_m3=volume,
        low_m3=max(volume - spread, 0.0),
        high_m3=volume + spread,
        basis=_BASIS[rule],
        uncertainty=Sentence("two standard deviations of {sd:error} in each diameter read", sd=reading_sd_mm),
        cautions=_cautions(profile, rule),
    )


def reading_spread(
    profile: LogProfile, figure: Callable[[LogProfile], float], *, reading_sd_mm: float = READING_SD_MM
) -> float:
    """Standard deviation of a figure of this log if each station errs by `reading_sd_mm` on its own."""
    if not is_positive(reading_sd_mm):
        raise BadVolume(Sentence("a reading error of {sd:across} is none", sd=reading_sd_mm))
    step = 0.5
    variance = 0.0
    for index in range(len(profile.stations)):
        slope = (figure(_moved(profile, index, step)) - figure(_moved(profile, index, -step))) / (2 * step)
        variance += (slope * reading_sd_mm) ** 2
    return math.sqrt(variance)


def _moved(profile: LogProfile, index: int, by_mm: float) -> LogProfile:
    stations = list(profile.stations)
    at, diameter = stations[index]
    stations[index] = (at, diameter + by_mm)
    return replace(profile, stations=tuple(stations))


def _check(*measures: float) -> None:
    if not is_positive(*measures):
        raise BadVolume("areas and lengths are numbers greater than nothing")


def _ends(profile: LogProfile) -> tuple[float, float, float]:
    small, large = sorted(
        (section_area_mm2_at(profile, 0.0), section_area_mm2_at(profile, profile.length_mm))
    )
    return small, section_area_mm2_at(profile, profile.length_mm / 2), large


def _huber(profile: LogProfile) -> float:
    return huber_mm3(middle_mm2=_ends(profile)[1], length_mm=profile.length_mm)


def _smalian(profile: LogProfile) -> float:
    small, _, large = _ends(profile)
    return smalian_mm3(small_mm2=small, large_mm2=large, length_mm=profile.length_mm)


def _newton(profile: LogProfile) -> float:
    small, middle, large = _ends(profile)
    return newton_mm3(small_mm2=small, middle_mm2=middle, large_mm2=large, length_mm=profile.length_mm)


_RECKON: dict[CubicRule, Callable[[LogProfile], float]] = {
    CubicRule.FRUSTUMS: volume_mm3,
    CubicRule.HUBER: _huber,
    CubicRule.SMALIAN: _smalian,
    CubicRule.NEWTON: _newton,
}
_ENDS_RUN_ON = "diameters at the very ends are those of the lines through the stations, run on"
_BASIS = {
    CubicRule.FRUSTUMS: Basis(
        rule="sum of frustums through every station",
        source="geometry; cone frustum as in published forestry functions (Larsen), seen",
        assumption=f"straight between stations; {_ENDS_RUN_ON}",
    ),
    CubicRule.HUBER: Basis(
        rule="Huber: middle area times length",
        source="Goulding 1977, in words; formula from memory",
        assumption="the middle stands for the whole log; little low on a flared butt log",
    ),
    CubicRule.SMALIAN: Basis(
        rule="Smalian: mean of the end areas times length",
        source="published forestry functions (Larsen), seen",
        assumption=f"{_ENDS_RUN_ON}; exact for a paraboloid only",
    ),
    CubicRule.NEWTON: Basis(
        rule="Newton: ends and four middles over six, times length",
        source="Goulding 1977 ranks it most accurate; formula from memory, it is Simpson's rule",
        assumption=_ENDS_RUN_ON,
    ),
}


def _cautions(profile: LogProfile, rule: CubicRule) -> tuple[str, ...]:
    ends = (diameter_mm_at(profile, 0.0) + diameter_mm_at(profile, profile.length_mm)) / 2
    flared = ends > FLARE_TO_WARN_OF * diameter_mm_at(profile, profile.length_mm / 2)
    if rule is CubicRule.SMALIAN and flared:
        return ("The butt flares: Smalian's rule overstates this log, by 7 to 17 % in published butt logs.",)
    if rule is CubicRule.HUBER and flared:
        return ("The butt flares: Huber's rule understates this log by a few percent.",)
    return ()
