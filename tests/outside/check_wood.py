"""Weight, moisture and shrinkage against published tables and worked examples."""

from dataclasses import replace

from inventory.core.lifting import two_leg_sling
from inventory.core.measure import FT3_PER_M3
from inventory.core.moisture import equilibrium_moisture_pct, shrinkage
from inventory.core.profile import LogProfile
from inventory.core.volume import MM3_PER_M3, volume_mm3
from inventory.core.weight import DensityRange, density_range, log_weight
from inventory.core.wood import KG_M3_PER_LB_FT3, Species, density_kg_m3, gravity_at, seed_named
from tests.outside.registry import Compared, against, against_percent, outside_check, rows_of, within

LB_PER_KG = 1 / 0.45359237
INCH_MM = 25.4
CALLED_HERE = {"chestnut": "American chestnut"}


def species_called(name: str) -> Species:
    """The seeded species of a published name."""
    species = seed_named(CALLED_HERE.get(name, name))
    assert species, name
    return species


def reckoned_alone(name: str) -> Species:
    """A species without its published green weight, so that a check of weight does not check itself."""
    return replace(species_called(name), green_density_kg_m3=None)


def green(row: dict[str, str]) -> DensityRange:
    """Our density of a green log of the diameter that a published weight is of."""
    return density_range(reckoned_alone(row["species"]), diameter_mm=float(row["log_in"]) * INCH_MM)


def published(row: dict[str, str]) -> float:
    """A published green density, in kg/m3."""
    return float(row["lb_per_ft3"]) * KG_M3_PER_LB_FT3


def contradicted() -> set[str]:
    """Species whose published figures contradict each other, so that no figure of ours can agree."""
    return {row["species"] for row in rows_of("green_densities.csv") if row["contradicted"]}


def example(what: str) -> float:
    """The value of one worked example."""
    return next(float(row["value"]) for row in rows_of("worked_examples.csv") if row["what"] == what)


def a_foot_of_log_m3(diameter_in: float) -> float:
    """Volume of one foot of an even log."""
    diameter = diameter_in * INCH_MM
    return volume_mm3(LogProfile(length_mm=304.8, stations=((0, diameter), (304.8, diameter)))) / MM3_PER_M3


@outside_check(
    what="Equilibrium moisture, every cell from 30 to 110 F and 5 to 95 % humidity",
    source="Wood Handbook FPL-GTR-190 Table 4-2",
    mark="seen",
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
    what="Green weight of a foot of log: density times area",
    source="NPS, Safety for Tree Workers, as reprinted",
    mark="second-hand",
    unit="lb/ft",
    limit=0.6,
)
def green_log_table() -> list[Compared]:
    """Six species at six diameters, printed to the pound."""
    return [
        against(
            f"{row['species']} {row['diameter_in']} in",
            ours=float(row["lb_per_ft3"]) * a_foot_of_log_m3(float(row["diameter_in"])) * FT3_PER_M3,
            theirs=float(row["lb_per_ft_of_log"]),
        )
        for row in rows_of("green_log_weights.csv")
    ]


@outside_check(
    what="Green weight of a foot of log lies within our range for the species, without its published weight",
    source="NPS, Safety for Tree Workers, as reprinted",
    mark="second-hand",
    unit="lb/ft",
    limit=0.6,
)
def green_log_table_within_range() -> list[Compared]:
    """Printed to the pound. Yellow-poplar is left out: two sources contradict each other."""
    compared = []
    for row in rows_of("green_log_weights.csv"):
        species = reckoned_alone(row["species"])
        if species.name in contradicted():
            continue
        diameter_in = float(row["diameter_in"])
        weight = log_weight(
            species, volume_m3=a_foot_of_log_m3(diameter_in), diameter_mm=diameter_in * INCH_MM
        )
        compared.append(
            within(
                f"{row['species']} {row['diameter_in']} in",
                value=float(row["lb_per_ft_of_log"]),
                low=weight.low_kg * LB_PER_KG,
                high=weight.lift_kg * LB_PER_KG,
            )
        )
    return compared


@outside_check(
    what="Published green densities against our likely one, which they are kept out of (logs of 18 in, Scots "
    "pine of 12; species whose published figures contradict each other are named in the data file)",
    source="Miles and Smith 2009 (NRS-38); Oregon State University; NPS; Millers and Magaznieks 2012",
    mark="second-hand",
    unit="%",
    limit=15,
)
def green_densities() -> list[Compared]:
    """Heartwood and sapwood by share; FPL's weights are of butt logs of grown trees."""
    return [
        against_percent(
            f"{row['species']} {row['lb_per_ft3']} lb/ft3",
            ours=green(row).likely_kg_m3,
            theirs=published(row),
        )
        for row in rows_of("green_densities.csv")
        if not row["contradicted"]
    ]


@outside_check(
    what="Published green densities lie within our range, which they are kept out of",
    source="Miles and Smith 2009 (NRS-38); Oregon State University; NPS; Millers and Magaznieks 2012",
    mark="second-hand",
    unit="kg/m3",
    limit=10,
)
def green_densities_within_range() -> list[Compared]:
    """The same species as are compared with our likely density; yellow-cedar lies 8 kg/m3 over our range."""
    compared = []
    for row in rows_of("green_densities.csv"):
        if not row["contradicted"]:
            ours = green(row)
            label = f"{row['species']} {row['lb_per_ft3']} lb/ft3"
            compared.append(within(label, value=published(row), low=ours.low_kg_m3, high=ours.high_kg_m3))
    return compared


@outside_check(
    what="How far green wood strays from its species' usual weight: 20 % either way",
    source="Forest Products Laboratory, Technical Note 218, 1931",
    mark="seen",
    unit="points of %",
    limit=5,
)
def green_spread() -> list[Compared]:
    """ "The variation may occasionally be as great as 20 per cent"."""
    compared = []
    for name in ("lodgepole pine", "ponderosa pine", "red pine", "Douglas-fir coast", "white spruce"):
        ours = density_range(reckoned_alone(name), diameter_mm=18 * INCH_MM)
        for side, density in (("low", ours.low_kg_m3), ("high", ours.high_kg_m3)):
            off = abs(density / ours.likely_kg_m3 - 1) * 100
            compared.append(against(f"{name}, {side}", ours=off, theirs=20))
    return compared


@outside_check(
    what="Gravity at 12 % moisture, from the basic gravity and the shrinkage",
    source="Wood Handbook FPL-GTR-190 Table 5-3; TM 5-852-4; Oregon State University",
    mark="seen",
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
    what="Volume lost from green to oven-dry: radial and tangential shrinkage together",
    source="Wood Handbook FPL-GTR-190 Table 4-3, column volumetric",
    mark="seen",
    unit="%",
    limit=14,
)
def volumetric_shrinkage() -> list[Compared]:
    """American chestnut is published 1.5 points over the sum of its two."""
    compared = []
    for row in rows_of("volumetric_shrinkage.csv"):
        species = species_called(row["species"])
        ours = (1 - species.basic_gravity / gravity_at(species, moisture_pct=0)) * 100
        compared.append(against_percent(row["species"], ours=ours, theirs=float(row["shrink_pct"])))
    return compared


@outside_check(
    what="Density, gravity 0.40 at 12 % moisture",
    source="LarsenDR forestry functions, Wood Handbook ch. 4",
    mark="seen",
    unit="kg/m3",
    limit=0.5,
)
def density() -> list[Compared]:
    """One worked example."""
    ours = density_kg_m3(gravity=0.40, moisture_pct=12)
    return [against("G 0.40", ours=ours, theirs=example("density G 0.40 at 12 %"))]


@outside_check(
    what="Change of a white oak board from 8 to 11 % moisture by its coefficient",
    source="Wood Handbook FPL-GTR-190 Table 13-5",
    mark="computed",
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


@outside_check(
    what="Tension of a two-leg sling", source="statics", mark="computed", unit="of the load", limit=0.0005
)
def sling() -> list[Compared]:
    """Sixty, forty-five and thirty degrees from the horizontal."""
    return [
        against(
            f"{angle} degrees",
            ours=two_leg_sling(weight_kg=1000, angle_deg=angle).tension_kg / 1000,
            theirs=example(f"sling at {angle} degrees"),
        )
        for angle in (60, 45, 30)
    ]
