"""Moisture, shrinkage and gravity of wood against published tables."""

from inventory.core.moisture import equilibrium_moisture_pct, shrinkage
from inventory.core.wood import SpeciesFigures, gravity_at, seed_named
from tests.outside.registry import Compared, against, against_percent, outside_check, rows_of

INCH_MM = 25.4
CALLED_HERE = {"chestnut": "American chestnut"}


def species_called(name: str) -> SpeciesFigures:
    """The seeded species of a published name."""
    species = seed_named(CALLED_HERE.get(name, name))
    assert species, name
    return species


def table_wood(row: dict[str, str]) -> SpeciesFigures:
    """A wood of the handbook's table of shrinkage, of any gravity, without coefficients of change."""
    return SpeciesFigures(
        name=row["species"],
        basic_gravity=0.5,
        shrink_radial_pct=float(row["radial_pct"]),
        shrink_tangential_pct=float(row["tangential_pct"]),
    )


def example(what: str) -> float:
    """The value of one worked example."""
    return next(float(row["value"]) for row in rows_of("worked_examples.csv") if row["what"] == what)


@outside_check(
    what="Equilibrium moisture, every cell from 30 to 110 F and 5 to 95 % humidity",
    source="Wood Handbook FPL-GTR-190 Table 4-2",
    mark="seen",
    kind="printed",
    unit="% moisture",
    limit=0.1,
)
def equilibrium_moisture() -> list[Compared]:
    """The table is to a tenth of a percent, its temperatures in Fahrenheit."""
    return [
        against(
            f"{row['temp_F']} F, {row['rh_pct']} %",
            ours=equilibrium_moisture_pct(
                temperature_c=(float(row["temp_F"]) - 32) / 1.8, humidity_pct=float(row["rh_pct"])
            ),
            theirs=float(row["emc_pct"]),
        )
        for row in rows_of("emc.csv")
    ]


@outside_check(
    what="Gravity at 12 % moisture, from the basic gravity and the shrinkage",
    source="Wood Handbook FPL-GTR-190 Table 5-3; TM 5-852-4; Oregon State University",
    mark="seen",
    kind="printed",
    unit="%",
    limit=8,
)
def gravities_at_12_pct() -> list[Compared]:
    """Western hemlock is 0.45 in one table and 0.48 in another."""
    return [
        against_percent(
            f"{row['species']} {row['gravity']}",
            ours=gravity_at(species_called(row["species"]), moisture_pct=12),
            theirs=float(row["gravity"]),
        )
        for row in rows_of("gravities_at_12_pct.csv")
    ]


@outside_check(
    what="Volume lost from green to oven-dry by radial and tangential shrinkage together, 65 woods",
    source="Wood Handbook FPL-GTR-190 Table 4-3, column volumetric",
    mark="seen",
    kind="printed",
    unit="%",
    limit=17,
)
def volumetric_shrinkage() -> list[Compared]:
    """The sum of the two ways across the grain, as a density between green and dry has it."""
    return [
        against_percent(
            row["species"],
            ours=(1 - 0.5 / gravity_at(table_wood(row), moisture_pct=0)) * 100,
            theirs=float(row["volumetric_pct"]),
        )
        for row in rows_of("shrinkage.csv")
    ]


@outside_check(
    what="Change across the grain from 14 to 6 % moisture by green-to-dry shrinkage, against coefficients "
    "printed for that range (four woods are left out whose coefficients are those of others)",
    source="Wood Handbook FPL-GTR-190 Tables 4-3 and 13-5",
    mark="seen",
    kind="printed",
    unit="%",
    limit=5,
)
def change_coefficients() -> list[Compared]:
    """Radial and tangential; the wood has no coefficients of its own, so the full-range formula is tried."""
    compared = []
    for row in rows_of("shrinkage.csv"):
        if row["change_radial"] and not row["change_is_of"]:
            lost = shrinkage(
                table_wood(row), dimension_mm=1000.0, from_moisture_pct=14.0, to_moisture_pct=6.0
            )
            for way, mm in (("radial", lost.radial_mm), ("tangential", lost.tangential_mm)):
                ours, theirs = mm / 1000 / 8, float(row[f"change_{way}"])
                compared.append(against_percent(f"{row['species']}, {way}", ours=ours, theirs=theirs))
    return compared


@outside_check(
    what="Shrinkage of listed species",
    source="Wood Handbook FPL-GTR-190 Table 4-3",
    mark="seen",
    kind="same table",
    unit="%",
    limit=0,
)
def listed_shrinkage() -> list[Compared]:
    """Radial and tangential of every species of the table that a crew starts with."""
    compared = []
    for row in rows_of("shrinkage.csv"):
        species = seed_named(row["species"])
        if species:
            for way in ("radial", "tangential"):
                ours = getattr(species, f"shrink_{way}_pct")
                label = f"{row['species']}, {way}"
                compared.append(against_percent(label, ours=ours, theirs=float(row[f"{way}_pct"])))
    return compared


@outside_check(
    what="Change of a white oak board from 8 to 11 % moisture by its coefficient",
    source="Wood Handbook FPL-GTR-190 Table 13-5",
    mark="computed",
    kind="same formula",
    unit="in",
    limit=0.0005,
)
def white_oak_board() -> list[Compared]:
    """9.15 in wide, flat-sawn: it swells."""
    board = shrinkage(
        species_called("white oak"), dimension_mm=9.15 * INCH_MM, from_moisture_pct=8, to_moisture_pct=11
    )
    theirs = example("white oak 9.15 in flat-sawn from 8 to 11 %")
    return [against("swelling", ours=-board.tangential_mm / INCH_MM, theirs=theirs)]


@outside_check(
    what="Shrinkage of 96 in of wall from green to 12 %",
    source="Wood Handbook FPL-GTR-190 Table 4-3 by ICC 400's formula",
    mark="computed",
    kind="same formula",
    unit="in",
    limit=0.006,
)
def wall_shrinkage() -> list[Compared]:
    """Species whose shrinkage was seen, radial and tangential."""
    compared = []
    for name in ("Douglas-fir coast", "western redcedar", "yellow-poplar"):
        lost = shrinkage(species_called(name), dimension_mm=96 * INCH_MM)
        for way, mm in (("radial", lost.radial_mm), ("tangential", lost.tangential_mm)):
            label = f"{name} 96 in {way}"
            compared.append(against(label, ours=mm / INCH_MM, theirs=example(label)))
    return compared
