"""Water in wood: what the air leaves in it, and how much the wood shrinks on the way there."""

import math
from dataclasses import dataclass

from inventory.core.basis import Basis
from inventory.core.wood import BadWood, SpeciesFigures, check_moisture, species_basis

COLDEST_C, HOTTEST_C = -20.0, 60.0
SHRINKAGE_SPREAD = 0.15  # coefficient of variation of shrinkage within a species; Wood Handbook, from memory
SERVICE_MOISTURE_PCT = 12.0  # presumed if nothing else is known; ICC 400 as quoted on a third-party page

SHRINKAGE_CAUTIONS = (
    "This is the mean of clear wood: a single log may shrink a third more or less, and it checks in drying.",
)


class BadAir(ValueError):
    """There is no such air."""


class BadShrinkage(ValueError):
    """No shrinkage follows from this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EquilibriumMoisture:
    """Moisture that wood comes to in this air, in percent of oven-dry mass."""

    moisture_pct: float
    low_pct: float
    high_pct: float
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shrinkage:
    """Loss of a dimension in mm, along the rays and along the rings; negative: it swells.

    A log's diameter and a wall's height lose something between the two; low and high are beyond both by the
    spread within a species.
    """

    radial_mm: float
    tangential_mm: float
    low_mm: float
    high_mm: float
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def equilibrium_moisture_pct(*, temperature_c: float, humidity_pct: float) -> float:
    """Equilibrium moisture of wood by the two-hydrate Hailwood-Horrobin equation, in percent.

    As in ConSciR calcEMC_wood.R (seen); matches Wood Handbook FPL-GTR-190 Table 4-2 within 0.06. Raises
    BadAir outside -20 to 60 C or 0 to 100 % relative humidity.
    """
    t, h = temperature_c, humidity_pct / 100
    if not (COLDEST_C <= t <= HOTTEST_C and 0 <= h <= 1):
        raise BadAir(f"{temperature_c} C at {humidity_pct} % humidity is outside -20 to 60 C and 0 to 100 %")
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    dissolved = kh / (1 - kh)
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (dissolved + bound)


def equilibrium_moisture(*, temperature_c: float, humidity_pct: float) -> EquilibriumMoisture:
    """Equilibrium moisture with its basis; the range is one point of moisture either way. Raises BadAir."""
    moisture = equilibrium_moisture_pct(temperature_c=temperature_c, humidity_pct=humidity_pct)
    return EquilibriumMoisture(
        moisture_pct=moisture,
        low_pct=max(moisture - 1, 0.0),
        high_pct=moisture + 1,
        basis=Basis(
            rule="Hailwood-Horrobin equation, two hydrates",
            source="ConSciR calcEMC_wood.R, seen; checked against Wood Handbook FPL-GTR-190 Table 4-2, seen",
            assumption="one curve for every species, air that stays as it is",
        ),
        uncertainty="one point of moisture either way (common practice, no source); species differ",
        cautions=("A log follows the mean of many months of air, not a day's; a thick one takes years.",),
    )


def shrinkage_mm(
    *,
    dimension_mm: float,
    from_moisture_pct: float,
    to_moisture_pct: float,
    shrink_pct: float,
    fibre_saturation_pct: float,
) -> float:
    """Loss of a dimension that measures `dimension_mm` at the first moisture; negative: it swells.

    D (M1 - M2) / (Mfs 100 / S - Mfs + M1), both moistures at most fibre saturation, S the shrinkage in
    percent from green to oven-dry. ICC 400 as quoted on a third-party page (second-hand); its
    form is the full-range equation of Wood Handbook ch. 13 (from memory). Raises BadShrinkage.
    """
    numbers = (dimension_mm, from_moisture_pct, to_moisture_pct, shrink_pct, fibre_saturation_pct)
    if not all(math.isfinite(n) and n >= 0 for n in numbers):
        raise BadShrinkage("dimension, moistures and shrinkage are numbers of nothing or more")
    if not 0 < fibre_saturation_pct <= 50 or not 0 <= shrink_pct <= 25:
        raise BadShrinkage(f"no wood shrinks by {shrink_pct} % from saturation at {fibre_saturation_pct} %")
    if shrink_pct == 0:
        return 0.0
    start, end = min(from_moisture_pct, fibre_saturation_pct), min(to_moisture_pct, fibre_saturation_pct)
    return (
        dimension_mm
        * (start - end)
        / (fibre_saturation_pct * 100 / shrink_pct - fibre_saturation_pct + start)
    )


def change_by_coefficient_mm(
    *, dimension_mm: float, from_moisture_pct: float, to_moisture_pct: float, coefficient: float
) -> float:
    """Loss by the dimensional change coefficient, D C (M1 - M2), for indoor moistures of 6 to 14 % only.

    Wood Handbook FPL-GTR-190 Table 13-5 and extension.org 66444, seen. Raises BadShrinkage outside 6 to 14 %.
    """
    if not all(6 <= m <= 14 for m in (from_moisture_pct, to_moisture_pct)):
        raise BadShrinkage("the coefficient holds from 6 to 14 % moisture only")
    if not (math.isfinite(dimension_mm) and dimension_mm >= 0 and 0 <= coefficient <= 0.01):
        raise BadShrinkage("a dimension is nothing or more, a coefficient 0 to 0.01 per point of moisture")
    return dimension_mm * coefficient * (from_moisture_pct - to_moisture_pct)


def shrinkage(
    species: SpeciesFigures,
    *,
    dimension_mm: float,
    from_moisture_pct: float | None = None,
    to_moisture_pct: float = SERVICE_MOISTURE_PCT,
) -> Shrinkage:
    """Shrinkage across the grain from green (None) or a measured moisture to an expected one.

    Between 6 and 14 % by the species' published coefficients of dimensional change, where it has them.
    Raises BadWood where the species' shrinkage is not known, BadMoisture, BadShrinkage.
    """
    if species.shrink_radial_pct is None or species.shrink_tangential_pct is None:
        raise BadWood(f"the shrinkage of {species.name} is not known")
    start_pct = species.fibre_saturation_pct if from_moisture_pct is None else from_moisture_pct
    for moisture in (start_pct, to_moisture_pct):
        check_moisture(species, moisture_pct=moisture)

    by_coefficient = None not in (species.change_radial, species.change_tangential) and all(
        6 <= moisture <= 14 for moisture in (start_pct, to_moisture_pct)
    )

    def loss(shrink_pct: float, coefficient: float | None) -> float:
        if by_coefficient and coefficient is not None:
            return change_by_coefficient_mm(
                dimension_mm=dimension_mm,
                from_moisture_pct=start_pct,
                to_moisture_pct=to_moisture_pct,
                coefficient=coefficient,
            )
        return shrinkage_mm(
            dimension_mm=dimension_mm,
            from_moisture_pct=start_pct,
            to_moisture_pct=to_moisture_pct,
            shrink_pct=shrink_pct,
            fibre_saturation_pct=species.fibre_saturation_pct,
        )

    radial = loss(species.shrink_radial_pct, species.change_radial)
    tangential = loss(species.shrink_tangential_pct, species.change_tangential)
    spread = SHRINKAGE_SPREAD * max(abs(radial), abs(tangential))
    green = "green" if from_moisture_pct is None else f"{from_moisture_pct:g} %"
    return Shrinkage(
        radial_mm=radial,
        tangential_mm=tangential,
        low_mm=min(radial, tangential) - spread,
        high_mm=max(radial, tangential) + spread,
        basis=species_basis(
            species,
            rule="D C (M1 - M2), from 6 to 14 % moisture"
            if by_coefficient
            else "D (M1 - M2) / (Mfs 100 / S - Mfs + M1)",
            assumption=f"from {green} to {to_moisture_pct:g} %, "
            f"fibres saturated at {species.fibre_saturation_pct:g} %",
        ),
        uncertainty=f"between radial and tangential, and {SHRINKAGE_SPREAD:.0%} of the greater beyond both",
        cautions=SHRINKAGE_CAUTIONS,
    )
