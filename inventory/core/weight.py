"""What a log weighs: a range, never one number, because heartwood, sapwood and drying differ so much.

Lifts are planned on the top of the range.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from inventory.core.basis import Basis, is_positive
from inventory.core.crew_units import Sentence
from inventory.core.profile import LogProfile, diameter_mm_at
from inventory.core.section import BadSection, circle_between_planes_area_mm2, round_diameter_mm
from inventory.core.volume import MM3_PER_M3, reading_spread, volume_mm3
from inventory.core.wood import (
    GRAVITY_SPREAD,
    SpeciesFigures,
    check_moisture,
    density_kg_m3,
    full_of_water_pct,
    gravity_at,
    green_wood,
    species_basis,
)

MOISTURE_READING_PCT = 3.0  # common practice, no source: a meter's error, and the log is wetter inside
AIR_DRY_PCT = 12.0  # presumed service moisture, ICC 400 as quoted on a third-party page, second-hand
# Sapwood of one log against the usual of its species; common practice, no source.
SAPWOOD_SPREAD = 0.5
# Of the water above fibre saturation, what a partly dry log still holds: least, likely, most; common
# practice, no source. The most counts for a lift, so a log that only looks dry is not taken for dry.
WATER_LEFT = (0.25, 0.5, 0.75)

WEIGHT_CAUTIONS = (
    "Weights are estimates: plan the lift on the top of the range, and weigh a log where it matters.",
    "Lift plans, rigging and cranes are decided by local code and a competent, licensed person.",
)


class BadWeight(ValueError):
    """No weight follows from this."""


class Seasoning(StrEnum):
    """How far a log has dried since it was felled."""

    GREEN = "green"
    PARTLY_DRY = "partly_dry"
    DRY = "dry"


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityRange:
    """Density of the wood as it lies, in kg/m3."""

    low_kg_m3: float
    likely_kg_m3: float
    high_kg_m3: float
    basis: Basis


@dataclass(frozen=True, slots=True, kw_only=True)
class LogWeight:
    """Weight in kg; `lift_kg` is what to plan a lift on."""

    low_kg: float
    likely_kg: float
    high_kg: float
    lift_kg: float
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """One end of a range, or its middle: gravity and sapwood against the usual, how dry within the state."""

    gravity: float
    sapwood: float
    drying: int


_LOW = _Case(gravity=1 - GRAVITY_SPREAD, sapwood=1 - SAPWOOD_SPREAD, drying=0)
_LIKELY = _Case(gravity=1.0, sapwood=1.0, drying=1)
_HIGH = _Case(gravity=1 + GRAVITY_SPREAD, sapwood=1 + SAPWOOD_SPREAD, drying=2)
_CASES = (_LOW, _LIKELY, _HIGH)
_Three = tuple[float, float, float]


def sapwood_share(*, diameter_mm: float, sapwood_mm: float, sawn_thickness_mm: float | None = None) -> float:
    """Share of a log's section that is sapwood: what lies outside a circle of heartwood.

    For a log sawn on two faces `diameter_mm` is the height of the face. Raises BadWeight for no log.
    """
    if not is_positive(diameter_mm) or not (math.isfinite(sapwood_mm) and sapwood_mm >= 0):
        raise BadWeight(
            Sentence(
                "a log of {size:across} with {sapwood:across} of sapwood is none",
                size=diameter_mm,
                sapwood=sapwood_mm,
            )
        )
    half = across = diameter_mm
    if sawn_thickness_mm is not None:
        half = sawn_thickness_mm / 2
        try:
            across = round_diameter_mm(face_height_mm=diameter_mm, thickness_mm=sawn_thickness_mm)
        except BadSection as bad:
            raise BadWeight(str(bad)) from bad
    heart_mm = across - 2 * sapwood_mm
    if heart_mm <= 0:
        return 1.0
    whole = circle_between_planes_area_mm2(diameter_mm=across, left_mm=-half, right_mm=half)
    heart = circle_between_planes_area_mm2(diameter_mm=heart_mm, left_mm=-half, right_mm=half)
    return 1 - heart / whole


def density_range(
    species: SpeciesFigures,
    *,
    diameter_mm: float,
    sawn_thickness_mm: float | None = None,
    seasoning: Seasoning | None = None,
    moisture_pct: float | None = None,
) -> DensityRange:
    """Density of a log of a species as it lies: by measured moisture if known, else by its seasoning.

    Heartwood and sapwood count by their share of the section (`diameter_mm` at the middle of the wood). The
    range is one spread of gravity (10 %) and half the sapwood's thickness either way; it reaches to a weight
    of green logs that is known, and `likely` is then half way between the two. No figure is heavier than
    waterlogged wood of its gravity, and none is heavier than in a wetter state. Seasoning None: not known,
    reckoned as green. Raises BadMoisture, BadWeight.
    """
    if moisture_pct is not None:
        return _measured(species, moisture_pct=moisture_pct)
    wood = green_wood(species)
    shares = [
        sapwood_share(
            diameter_mm=diameter_mm,
            sapwood_mm=wood.sapwood_mm * case.sapwood,
            sawn_thickness_mm=sawn_thickness_mm,
        )
        for case in _CASES
    ]

    def reckoned(state: Seasoning) -> _Three:
        found = []
        for share, case in zip(shares, _CASES, strict=True):
            heart, sap = (
                _density(species, _moisture_pct(species, pct, state, case), case=case)
                for pct in (wood.heart_pct, wood.sap_pct)
            )
            found.append((1 - share) * heart + share * sap)
        return min(found), found[1], max(found)

    densities = reckoned(Seasoning.GREEN)
    said = [
        wood.assumption,
        Sentence("sapwood {thick:across} thick, half of that either way", thick=wood.sapwood_mm),
    ]
    if (known := species.green_density_kg_m3) is not None:
        low, likely, high = densities
        densities = min(low, known), (likely + known) / 2, max(high, known)
        said.append(Sentence("half way to a weight of green logs, {known:density}", known=known))
    if seasoning is None:
        said.append("nobody charted how dry the log is: reckoned as green")
    elif seasoning is not Seasoning.GREEN:
        states = list(Seasoning)  # from the wettest on
        for drier in map(reckoned, states[1 : states.index(seasoning) + 1]):
            densities = min(drier[0], densities[0]), min(drier[1], densities[1]), min(drier[2], densities[2])
        said.append(_DRYING[seasoning])
    return _range(species, densities, Sentence.joined(said, by="; "))


def _measured(species: SpeciesFigures, *, moisture_pct: float) -> DensityRange:
    check_moisture(species, moisture_pct=moisture_pct)
    off = MOISTURE_READING_PCT
    return _range(
        species,
        (
            _density(species, moisture_pct - off, case=_LOW),
            _density(species, moisture_pct, case=_LIKELY),
            _density(species, moisture_pct + off, case=_HIGH),
        ),
        f"moisture measured as {moisture_pct:g} %, {off:g} points either way",
    )


def log_weight(
    species: SpeciesFigures,
    *,
    volume_m3: float,
    diameter_mm: float,
    sawn_thickness_mm: float | None = None,
    low_m3: float | None = None,
    high_m3: float | None = None,
    seasoning: Seasoning | None = None,
    moisture_pct: float | None = None,
) -> LogWeight:
    """Weight of a volume of wood, given with its own low and high if known; the rest as for `density_range`.

    Raises BadWeight, BadMoisture.
    """
    low_volume = volume_m3 if low_m3 is None else low_m3
    high_volume = volume_m3 if high_m3 is None else high_m3
    if not is_positive(volume_m3, high_volume) or not 0 <= low_volume <= volume_m3 <= high_volume:
        raise BadWeight("a volume is a number of m3 greater than nothing, between its low and its high")
    density = density_range(
        species,
        diameter_mm=diameter_mm,
        sawn_thickness_mm=sawn_thickness_mm,
        seasoning=seasoning,
        moisture_pct=moisture_pct,
    )
    return LogWeight(
        low_kg=low_volume * density.low_kg_m3,
        likely_kg=volume_m3 * density.likely_kg_m3,
        high_kg=high_volume * density.high_kg_m3,
        lift_kg=high_volume * density.high_kg_m3,
        basis=density.basis,
        uncertainty="least volume of the lightest wood to most volume of the heaviest",
        cautions=WEIGHT_CAUTIONS,
    )


def piece_weight(
    profile: LogProfile,
    species: SpeciesFigures,
    *,
    from_butt_mm: float,
    to_mm: float,
    seasoning: Seasoning | None = None,
    moisture_pct: float | None = None,
) -> LogWeight:
    """Weight of the wood between two positions of a log, its volume uncertain by two spreads of reading.

    Raises BadWeight, BadMoisture, BadPosition.
    """

    def volume_m3(log: LogProfile) -> float:
        return volume_mm3(log, from_butt_mm=from_butt_mm, to_mm=to_mm) / MM3_PER_M3

    volume = volume_m3(profile)
    spread = 2 * reading_spread(profile, volume_m3)
    return log_weight(
        species,
        volume_m3=volume,
        low_m3=max(volume - spread, 0.0),
        high_m3=volume + spread,
        diameter_mm=diameter_mm_at(profile, (from_butt_mm + to_mm) / 2),
        sawn_thickness_mm=profile.sawn_thickness_mm,
        seasoning=seasoning,
        moisture_pct=moisture_pct,
    )


_DRYING = {
    Seasoning.PARTLY_DRY: "partly dry: a quarter to three quarters of the water above fibre saturation left "
    "(common practice, no source)",
    Seasoning.DRY: f"dry: from {AIR_DRY_PCT:g} % to fibre saturation (common practice, no source)",
}


def _moisture_pct(species: SpeciesFigures, green_pct: float, state: Seasoning, case: _Case) -> float:
    """Moisture of heartwood or sapwood that was `green_pct` wet, in this state."""
    saturated = min(species.fibre_saturation_pct, green_pct)
    match state:
        case Seasoning.GREEN:
            return green_pct
        case Seasoning.PARTLY_DRY:
            return saturated + WATER_LEFT[case.drying] * (green_pct - saturated)
        case _:
            dry = min(AIR_DRY_PCT, saturated)
            return dry + (saturated - dry) * case.drying / 2


def _density(species: SpeciesFigures, moisture_pct: float, *, case: _Case) -> float:
    """Density at a moisture, of wood as light or heavy as the case says; never over full of water."""
    basic = species.basic_gravity * case.gravity
    moisture = min(max(moisture_pct, 0.0), full_of_water_pct(basic))
    gravity = gravity_at(species, moisture_pct=moisture) * case.gravity
    return density_kg_m3(gravity=gravity, moisture_pct=moisture)


def _range(species: SpeciesFigures, densities: _Three, said: str) -> DensityRange:
    low, likely, high = densities
    return DensityRange(
        low_kg_m3=low,
        likely_kg_m3=likely,
        high_kg_m3=high,
        basis=species_basis(
            species,
            rule="density 1000 G (1 + M / 100), G on the volume at that moisture; heartwood and sapwood by "
            "their share of the section",
            assumption=Sentence.joined(
                (said, f"gravity {GRAVITY_SPREAD:.0%} either way (from memory)"), by="; "
            ),
        ),
    )
