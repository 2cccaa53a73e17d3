"""What a log weighs: a range, never one number, because heartwood, sapwood and drying differ so much.

Lifts are planned on the top of the range.
"""

from dataclasses import dataclass
from enum import StrEnum

from inventory.core.basis import Basis, is_positive
from inventory.core.wood import (
    GRAVITY_SPREAD,
    Species,
    check_moisture,
    density_kg_m3,
    gravity_at,
    green_moisture,
    species_basis,
)

MOISTURE_READING_PCT = 3.0  # common practice, no source: a meter's error, and the log is wetter inside
AIR_DRY_PCT = 12.0  # presumed service moisture, ICC 400 as quoted on a third-party page, second-hand

WEIGHT_CAUTIONS = (
    "Weights are estimates: plan the lift on the top of the range, and weigh a log where it matters.",
    "Lift plans, rigging and cranes are decided by local code and a competent, licensed person.",
)


class BadWeight(ValueError):
    """No weight follows from this."""


class Seasoning(StrEnum):
    """How long a log has dried since it was felled."""

    GREEN = "green"
    PARTLY_SEASONED = "partly_seasoned"
    AIR_DRY = "air_dry"


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityRange:
    """Density of the wood as it lies, in kg/m3; `likely` is a published green weight, else the middle."""

    low_kg_m3: float
    likely_kg_m3: float
    high_kg_m3: float
    basis: Basis


@dataclass(frozen=True, slots=True, kw_only=True)
class Weight:
    """Weight in kg; `lift_kg` is what to plan a lift on."""

    low_kg: float
    likely_kg: float
    high_kg: float
    lift_kg: float
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def density_range(
    species: Species, *, seasoning: Seasoning = Seasoning.GREEN, moisture_pct: float | None = None
) -> DensityRange:
    """Density of logs of a species as they lie: by measured moisture if known, else by seasoning.

    One spread of gravity (10 %) either way comes on top of the moisture. Green, a published weight of green
    logs is taken into the range as well. Raises BadMoisture.
    """
    low_pct, high_pct, said = _moisture_span(species, seasoning=seasoning, moisture_pct=moisture_pct)
    densities = [
        _density(species, low_pct) * (1 - GRAVITY_SPREAD),
        _density(species, high_pct) * (1 + GRAVITY_SPREAD),
    ]
    likely = None
    if moisture_pct is None and seasoning is Seasoning.GREEN and species.green_density_kg_m3 is not None:
        densities.append(species.green_density_kg_m3)
        said += "; a published green weight lies within the range"
        likely = species.green_density_kg_m3
    low, high = min(densities), max(densities)
    return DensityRange(
        low_kg_m3=low,
        likely_kg_m3=likely or (low + high) / 2,
        high_kg_m3=high,
        basis=species_basis(
            species,
            rule="density 1000 G (1 + M / 100), G on the volume at that moisture",
            assumption=f"{said}; gravity {GRAVITY_SPREAD:.0%} either way (from memory)",
        ),
    )


def log_weight(
    species: Species,
    *,
    volume_m3: float,
    low_m3: float | None = None,
    high_m3: float | None = None,
    seasoning: Seasoning = Seasoning.GREEN,
    moisture_pct: float | None = None,
) -> Weight:
    """Weight of a volume of wood, given with its own low and high if known. Raises BadWeight, BadMoisture."""
    low_volume = volume_m3 if low_m3 is None else low_m3
    high_volume = volume_m3 if high_m3 is None else high_m3
    if not is_positive(volume_m3, high_volume) or not 0 <= low_volume <= volume_m3 <= high_volume:
        raise BadWeight("a volume is a number of m3 greater than nothing, between its low and its high")
    density = density_range(species, seasoning=seasoning, moisture_pct=moisture_pct)
    return Weight(
        low_kg=low_volume * density.low_kg_m3,
        likely_kg=volume_m3 * density.likely_kg_m3,
        high_kg=high_volume * density.high_kg_m3,
        lift_kg=high_volume * density.high_kg_m3,
        basis=density.basis,
        uncertainty="least volume of the lightest wood to most volume of the heaviest",
        cautions=WEIGHT_CAUTIONS,
    )


def _moisture_span(
    species: Species, *, seasoning: Seasoning, moisture_pct: float | None
) -> tuple[float, float, str]:
    green = green_moisture(species)
    dry = min(AIR_DRY_PCT, green.low_pct)
    saturated = min(species.fibre_saturation_pct, green.high_pct)
    if moisture_pct is not None:
        check_moisture(species, moisture_pct=moisture_pct)
        span = max(moisture_pct - MOISTURE_READING_PCT, 0.0), moisture_pct + MOISTURE_READING_PCT
        return *span, f"moisture measured as {moisture_pct:g} %, {MOISTURE_READING_PCT:g} points either way"
    match seasoning:
        case Seasoning.GREEN:
            return green.low_pct, green.high_pct, green.assumption
        case Seasoning.PARTLY_SEASONED:
            half_dry = (saturated + green.high_pct) / 2
            said = (
                "from fibre saturation to half way up to the wettest green wood (common practice, no source)"
            )
            return saturated, half_dry, said
        case _:
            said = "from service moisture to fibre saturation (common practice, no source)"
            return dry, max(saturated, dry), said


def _density(species: Species, moisture_pct: float) -> float:
    return density_kg_m3(gravity=gravity_at(species, moisture_pct=moisture_pct), moisture_pct=moisture_pct)
