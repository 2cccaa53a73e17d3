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
USUAL_SAPWOOD_MM = 40.0  # where neither the species nor a relative has a figure; common practice, no source


class BadWood(ValueError):
    """There is no such wood."""


class BadMoisture(ValueError):
    """Wood cannot hold this much water."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeciesFigures:
    """Properties of a species; None where no value is known. Raises BadWood for wood that cannot be.

    `basic_gravity` is oven-dry mass over green volume, moisture is percent of oven-dry mass, shrinkage
    percent from green to oven-dry. `sapwood_mm` is the usual thickness of the ring of sapwood.
    `change_radial` and `change_tangential` are published coefficients of dimensional change, per point of
    moisture between 6 and 14 %. `green_density_kg_m3` is a weight of green logs, published or the crew's
    own, kept beside what gravity and moisture give because the two contradict each other for some species.
    """

    name: str
    basic_gravity: float
    moisture_heart_pct: float | None = None
    moisture_sap_pct: float | None = None
    shrink_radial_pct: float | None = None
    shrink_tangential_pct: float | None = None
    fibre_saturation_pct: float = 30.0
    sapwood_mm: float | None = None
    change_radial: float | None = None
    change_tangential: float | None = None
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
        for change in (self.change_radial, self.change_tangential):
            if change is not None and not 0 <= change <= 0.01:
                raise BadWood(f"{self.name}: wood changes by 0 to 0.01 per point of moisture, not {change}")
        if self.sapwood_mm is not None and not 0 <= self.sapwood_mm <= 500:
            raise BadWood(
                Sentence(
                    "{name}: sapwood is 0 to {most:across} thick, not {thick:across}",
                    name=self.name,
                    most=500,
                    thick=self.sapwood_mm,
                )
            )
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
class GreenWood:
    """Fresh wood of a species: moisture of heartwood and sapwood, and the sapwood's usual thickness."""

    heart_pct: float
    sap_pct: float
    sapwood_mm: float
    assumption: str


def check_moisture(species: SpeciesFigures, *, moisture_pct: float) -> None:
    """Raises BadMoisture for less than none, or more than the hollows of this wood can hold.

    A tenth more than the mean gravity has room for is let pass for the spread of gravity.
    """
    most = 1.1 * full_of_water_pct(species.basic_gravity)
    if not (math.isfinite(moisture_pct) and 0 <= moisture_pct <= most):
        raise BadMoisture(f"{species.name} holds 0 to {most:.0f} % of water, not {moisture_pct}")


def full_of_water_pct(gravity: float) -> float:
    """The most water that wood of this basic gravity can hold, in percent of oven-dry mass.

    100 (1.54 - G) / (1.54 G), every hollow full, 1.54 being the gravity of the cell wall: Wood Handbook ch. 4
    (from memory; it follows from geometry).
    """
    return 100 * (CELL_WALL_GRAVITY - gravity) / (CELL_WALL_GRAVITY * gravity)


def green_wood(species: SpeciesFigures) -> GreenWood:
    """Fresh heartwood and sapwood of a species; what is not known of it is its nearest relative's."""
    heart, sap = species.moisture_heart_pct, species.moisture_sap_pct
    relative = None
    said: str = "heartwood and sapwood each at their usual green moisture"
    if heart is None or sap is None:
        relative = nearest_relative(species)
        names = {"heartwood": heart, "sapwood": sap}
        lacking = " and ".join(name for name, pct in names.items() if pct is None)
        if relative is None:
            heart = sap = heart if sap is None else sap
            said = f"green moisture of {lacking} is not known: that of the other"
        else:
            heart = relative.moisture_heart_pct if heart is None else heart
            sap = relative.moisture_sap_pct if sap is None else sap
            said = f"green moisture of {lacking} is not known: that of {relative.name}, its nearest relative"
    thickness = species.sapwood_mm
    if thickness is None:
        listed = seed_named(species.name) or relative
        thickness = USUAL_SAPWOOD_MM if listed is None or listed.sapwood_mm is None else listed.sapwood_mm
        said = Sentence("{before}; sapwood {thick:across} thick as is usual", before=said, thick=thickness)
    assert heart is not None and sap is not None
    most = full_of_water_pct(species.basic_gravity)
    return GreenWood(
        heart_pct=min(heart, most), sap_pct=min(sap, most), sapwood_mm=thickness, assumption=said
    )


def nearest_relative(species: SpeciesFigures) -> SpeciesFigures | None:
    """The listed species whose green moisture stands for this one's; None if it has one of the two itself.

    As the table names it for a listed species, else of the same kind by the last word of its name ("pine"),
    else any; nearest in gravity.
    """
    named = _relatives().get(species.name.lower())
    if named is not None:
        return seed_named(named)
    if species.moisture_heart_pct is not None or species.moisture_sap_pct is not None:
        return None
    whole = [one for one in seed_species() if None not in (one.moisture_heart_pct, one.moisture_sap_pct)]
    kind = _kind(species.name)
    return min(
        [one for one in whole if _kind(one.name) == kind] or whole,
        key=lambda one: (abs(one.basic_gravity - species.basic_gravity), one.name),
    )


def _kind(name: str) -> str:
    words = name.lower().replace("-", " ").split()
    return words[-1] if words else ""


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


def gravity_at(species: SpeciesFigures, *, moisture_pct: float) -> float:
    """Oven-dry mass over the volume at a moisture: above fibre saturation the basic gravity, below it more.

    The volume shrinks in proportion from fibre saturation to oven-dry by the sum of radial and tangential
    shrinkage (unknown: not at all).
    """
    check_moisture(species, moisture_pct=moisture_pct)
    dried = max(species.fibre_saturation_pct - moisture_pct, 0.0) / species.fibre_saturation_pct
    shrink_pct = (species.shrink_radial_pct or 0.0) + (species.shrink_tangential_pct or 0.0)
    return species.basic_gravity / (1 - dried * shrink_pct / 100)


@cache
def seed_species() -> tuple[SpeciesFigures, ...]:
    """The species every crew starts with, from species.csv, each value with its source and mark there."""
    return tuple(_species(row) for row in _rows())


@cache
def seed_named(name: str) -> SpeciesFigures | None:
    """The listed species of this name, whatever its case."""
    return next((one for one in seed_species() if one.name.lower() == name.lower()), None)


@cache
def _rows() -> tuple[dict[str, str], ...]:
    with SPECIES_FILE.open(newline="", encoding="utf-8") as rows:
        return tuple(csv.DictReader(rows))


@cache
def _relatives() -> dict[str, str]:
    """Whose green moisture stands for a listed species' own, where that is not known."""
    return {row["name"].lower(): row["moisture_like"] for row in _rows() if row["moisture_like"]}


def _species(row: dict[str, str]) -> SpeciesFigures:
    def number(column: str) -> float | None:
        return float(row[column]) if row[column] else None

    published = number("green_density_lb_ft3")
    said = [
        f"{group.replace('_', ' ')}: {row[f'{group}_source']} ({_mark(row[f'{group}_mark'])})"
        for group in (
            "gravity",
            "moisture",
            "sapwood",
            "shrink",
            "change",
            "fibre_saturation",
            "green_density",
        )
        if row[f"{group}_source"]
    ]
    return SpeciesFigures(
        name=row["name"],
        basic_gravity=float(row["basic_gravity"]),
        moisture_heart_pct=number("moisture_heart_pct"),
        moisture_sap_pct=number("moisture_sap_pct"),
        shrink_radial_pct=number("shrink_radial_pct"),
        shrink_tangential_pct=number("shrink_tangential_pct"),
        fibre_saturation_pct=float(row["fibre_saturation_pct"]),
        sapwood_mm=number("sapwood_mm"),
        change_radial=number("change_radial"),
        change_tangential=number("change_tangential"),
        green_density_kg_m3=None if published is None else published * KG_M3_PER_LB_FT3,
        source="; ".join(said),
    )


def _mark(mark: str) -> str:
    return "from memory" if mark == "memory" else mark


def species_basis(species: SpeciesFigures, *, rule: str, assumption: str) -> Basis:
    """The basis of a figure of this species."""
    return Basis(rule=rule, source=species.source or "values of the crew's own", assumption=assumption)
