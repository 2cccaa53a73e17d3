"""What an order weighs, as a range, and how many truckloads that makes."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.core.order import ClassLine, Terms, nominal_profile
from inventory.core.volume import MM3_PER_M3, volume_mm3
from inventory.core.weight import WEIGHT_CAUTIONS, Seasoning, log_weight
from inventory.core.wood import SpeciesFigures

TRUCK_CAUTIONS = (
    *WEIGHT_CAUTIONS,
    "Truckloads are by weight of peeled green logs alone; bark, bunks and axle limits come on top.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """Weight of many logs in kg, green: all thin and light, or all thick and heavy."""

    low_kg: float
    high_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Truckloads:
    """The fewest and the most truckloads that a weight range makes, at the payload asked for."""

    payload_kg: float
    fewest: int
    most: int


def load_of_line(line: ClassLine, *, terms: Terms, wood: SpeciesFigures) -> Load:
    """The weight of a line's logs, from its least to its largest middle. Raises BadOrder."""

    def m3(middle_mm: Decimal) -> float:
        profile = nominal_profile(
            length_mm=line.length_mm,
            middle_mm=middle_mm,
            taper_mm_per_m=terms.taper_mm_per_m,
            sawn_thickness_mm=line.sawn_thickness_mm,
        )
        return volume_mm3(profile) / MM3_PER_M3

    weight = log_weight(
        wood,
        seasoning=Seasoning.GREEN,
        volume_m3=m3(line.middle_mm),
        diameter_mm=float(line.middle_mm),
        sawn_thickness_mm=None if line.sawn_thickness_mm is None else float(line.sawn_thickness_mm),
        low_m3=m3(line.least_middle_mm),
        high_m3=m3(line.largest_middle_mm),
    )
    return Load(low_kg=weight.low_kg * line.count, high_kg=weight.high_kg * line.count)


def load_of_lines(
    lines: Iterable[ClassLine], *, terms: Terms, woods: Mapping[str, SpeciesFigures]
) -> tuple[Load | None, tuple[str, ...]]:
    """The weight of all lines, and the species whose wood is not known; None if that leaves it open.

    `woods` is keyed by the line's species as written there.
    """
    loads, unknown = [], []
    for line in lines:
        wood = woods.get(line.species)
        if wood is None:
            unknown.append(line.species)
        else:
            loads.append(load_of_line(line, terms=terms, wood=wood))
    if unknown:
        return None, tuple(dict.fromkeys(unknown))
    return Load(low_kg=sum(one.low_kg for one in loads), high_kg=sum(one.high_kg for one in loads)), ()


def truckloads(load: Load, *, payload_kg: float) -> Truckloads:
    """How often a truck of this payload drives. Raises ValueError for a payload that is none."""
    if not (math.isfinite(payload_kg) and payload_kg > 0):
        raise ValueError("a payload is a weight greater than nothing")
    return Truckloads(
        payload_kg=payload_kg,
        fewest=math.ceil(load.low_kg / payload_kg),
        most=math.ceil(load.high_kg / payload_kg),
    )
