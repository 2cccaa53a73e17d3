"""Wood by species: gravity, green moisture, shrinkage and fibre saturation, each with its source."""

import csv
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from inventory.core.basis import Basis, is_positive
from inventory.core.crew_units import Sentence

SPECIES_FILE = Path(__file__).with_name("species.csv")
WATER_KG_M3 = 1000.0
KG_M3_PER_LB_FT3 = 0.45359237 / 0.3048**3
HEAVIEST_GRAVITY = 1.5  # the wall of a wood cell itself; no wood without hollows is heavier
CELL_WALL_GRAVITY = 1.54  # Wood Handbook, from memory
GRAVITY_SPREAD = 0.10  # one coefficient of variation of gravity within a species; Wood Handbook, from memory
# Where a species' green moisture is not known: the driest heartwood and wettest sapwood of those listed.
UNKNOWN_GREEN_MOISTURE_PCT = (32.0, 249.0)


class BadWood(ValueError):
    """There is no such wood."""


class BadMoisture(ValueError):
    """Wood cannot hold this much water."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Species:
    """Properties of a species; None where no value is known. Raises BadWood for wood that cannot be.

    `basic_gravity` is oven-dry mass over green volume, moisture is percent of oven-dry mass, shrinkage
    percent from green to oven-dry. `green_density_kg_m3` is a published weight of green logs, kept beside
    what gravity and moisture give because the two contradict each other for some species.
    """

    name: str
    basic_gravity: float
    moisture_heart_pct: float | None = None
    moisture_sap_pct: float | None = None
    shrink_radial_pct: float | None = None
    shrink_tangential_pct: float | None = None
    fibre_saturation_pct: float = 30.0
    green_density_kg_m3: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        if not (is_positive(self.basic_gravity) and self.basic_gravity <= HEAVIEST_GRAVITY):
            raise BadWood(
                f"{self.name}: a gravity of {self.basic_gravity} is no wood (0 to {HEAVIEST_GRAVITY})"
            )
        if not 5 <= self.fibre_saturation_pct <= 50:
            raise BadWood(
                f"{self.name}: fibres are saturated between 5 and 50 %, not {self.fibre_saturation_pct}"
            )
        for shrink in (self.shrink_radial_pct, self.shrink_tangential_pct):
            if shrink is not None and not 0 <= shrink <= 25:
                raise BadWood(f"{self.name}: wood shrinks by 0 to 25 %, not {shrink}")
        density = self.green_density_kg_m3
        if density is not None and not (is_positive(density) and density <= 2 * WATER_KG_M3):
            raise BadWood(
                Sentence(
                    "{name}: a green density of {density:density} is no wood", name=self.name, density=density
                )
            )
        for moisture in (self.moisture_heart_pct, self.moisture_sap_pct):
            if moisture is not None:
                check_moisture(self, moisture_pct=moisture)


@dataclass(frozen=True, slots=True, kw_only=True)
class GreenMoisture:
    """Moisture of fresh wood: heartwood and sapwood, the drier one first."""

    low_pct: float
    high_pct: float
    assumption: str


def check_moisture(species: Species, *, moisture_pct: float) -> None:
    """Raises BadMoisture for less than none, or more than the hollows of this wood can hold.

    The most is (1.54 - G) / (1.54 G): every hollow full of water (Wood Handbook, from memory); a tenth more
    is let pass for the spread of gravity.
    """
    most = 1.1 * _full_of_water_pct(species.basic_gravity)
    if not (math.isfinite(moisture_pct) and 0 <= moisture_pct <= most):
        raise BadMoisture(f"{species.name} holds 0 to {most:.0f} % of water, not {moisture_pct}")


def green_moisture(species: Species) -> GreenMoisture:
    """The moisture of fresh logs: from all heartwood to all sapwood, whatever is known of them."""
    known = [m for m in (species.moisture_heart_pct, species.moisture_sap_pct) if m is not None]
    if not known:
        low, high = UNKNOWN_GREEN_MOISTURE_PCT
        most = _full_of_water_pct(species.basic_gravity)
        return GreenMoisture(
            low_pct=min(low, most),
            high_pct=min(high, most),
            assumption="green moisture of this species is not known: the widest range of the listed species",
        )
    if len(known) == 1:
        said = "green moisture known for one of heartwood and sapwood only"
    else:
        said = "green moisture anywhere between all heartwood and all sapwood"
    return GreenMoisture(low_pct=min(known), high_pct=max(known), assumption=said)


def density_kg_m3(*, gravity: float, moisture_pct: float) -> float:
    """1000 G (1 + M / 100), with G on the volume at that moisture; green wood: the basic gravity.

    Source: Wood Handbook ch. 4 as cited in published forestry functions (Larsen), seen. Raises BadWood,
    BadMoisture.
    """
    if not (is_positive(gravity) and gravity <= HEAVIEST_GRAVITY):
        raise BadWood(f"a gravity of {gravity} is no wood (0 to {HEAVIEST_GRAVITY})")
    if not (math.isfinite(moisture_pct) and 0 <= moisture_pct <= 1000):
        raise BadMoisture(f"no wood holds {moisture_pct} % of water")
    return WATER_KG_M3 * gravity * (1 + moisture_pct / 100)


def gravity_at(species: Species, *, moisture_pct: float) -> float:
    """Oven-dry mass over the volume at a moisture: above fibre saturation the basic gravity, below it more.

    The volume shrinks in proportion from fibre saturation to oven-dry by the sum of radial and tangential
    shrinkage (unknown: not at all).
    """
    check_moisture(species, moisture_pct=moisture_pct)
    dried = max(species.fibre_saturation_pct - moisture_pct, 0.0) / species.fibre_saturation_pct
    shrink_pct = (species.shrink_radial_pct or 0.0) + (species.shrink_tangential_pct or 0.0)
    return species.basic_gravity / (1 - dried * shrink_pct / 100)


def _full_of_water_pct(gravity: float) -> float:
    return 100 * (CELL_WALL_GRAVITY - gravity) / (CELL_WALL_GRAVITY * gravity)


@cache
def seed_species() -> tuple[Species, ...]:
    """The species every crew starts with, from species.csv, each value with its source and mark there."""
    with SPECIES_FILE.open(newline="", encoding="utf-8") as rows:
        return tuple(_species(row) for row in csv.DictReader(rows))


def _species(row: dict[str, str]) -> Species:
    def number(column: str) -> float | None:
        return float(row[column]) if row[column] else None

    published = number("green_density_lb_ft3")
    groups = ("gravity", "moisture", "shrink", "fibre_saturation", "green_density")
    said = [
        f"{group.replace('_', ' ')}: {row[f'{group}_source']} ({_mark(row[f'{group}_mark'])})"
        for group in groups
        if row[f"{group}_source"]
    ]
    return Species(
        name=row["name"],
        basic_gravity=float(row["basic_gravity"]),
        moisture_heart_pct=number("moisture_heart_pct"),
        moisture_sap_pct=number("moisture_sap_pct"),
        shrink_radial_pct=number("shrink_radial_pct"),
        shrink_tangential_pct=number("shrink_tangential_pct"),
        fibre_saturation_pct=float(row["fibre_saturation_pct"]),
        green_density_kg_m3=None if published is None else published * KG_M3_PER_LB_FT3,
        source="; ".join(said),
    )


def _mark(mark: str) -> str:
    return "from memory" if mark == "memory" else mark


def species_basis(species: Species, *, rule: str, assumption: str) -> Basis:
    """The basis of a figure of this species."""
    return Basis(rule=rule, source=species.source or "values of the crew's own", assumption=assumption)
