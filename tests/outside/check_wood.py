"""Weight, moisture and shrinkage against published tables and worked examples."""

from inventory.core.lifting import two_leg_sling
from inventory.core.measure import FT3_PER_M3
from inventory.core.moisture import change_by_coefficient_mm, equilibrium_moisture_pct, shrinkage
from inventory.core.profile import LogProfile
from inventory.core.volume import MM3_PER_M3, volume_mm3
from inventory.core.weight import density_range, log_weight
from inventory.core.wood import KG_M3_PER_LB_FT3, Species, density_kg_m3, seed_species
from tests.outside.registry import Compared, against, outside_check, rows_of, within

LB_PER_KG = 1 / 0.45359237
CALLED_HERE = {"chestnut": "American chestnut"}


def species_called(name: str) -> Species | None:
    """The seeded species of a published name, None if it is not among them."""
    called = CALLED_HERE.get(name, name)
    return next((one for one in seed_species() if one.name == called), None)


def example(what: str) -> float:
    """The value of one worked example."""
    return next(float(row["value"]) for row in rows_of("worked_examples.csv") if row["what"] == what)


def a_foot_of_log_m3(diameter_in: float) -> float:
    """Volume of one foot of an even log."""
    diameter = diameter_in * 25.4
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
    what="Green weight of a foot of log lies within our range for the species",
    source="NPS, Safety for Tree Workers, as reprinted",
    mark="second-hand",
    unit="lb/ft",
    limit=0.6,
)
def green_log_table_within_range() -> list[Compared]:
    """The species of the table that are seeded; printed to the pound."""
    compared = []
    for row in rows_of("green_log_weights.csv"):
        if species := species_called(row["species"]):
            weight = log_weight(species, volume_m3=a_foot_of_log_m3(float(row["diameter_in"])))
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
    what="Published green densities lie within our range, also where they contradict each other",
    source="Oregon State University; NPS; gravity and moisture of the Wood Handbook",
    mark="second-hand",
    unit="lb/ft3",
    limit=0.001,
)
def green_densities_within_range() -> list[Compared]:
    """Yellow-poplar is 38 in one source and 46 to 51 in the other: the range covers both."""
    compared = []
    for row in rows_of("green_densities.csv"):
        species = next(one for one in seed_species() if one.name == row["species"])
        density = density_range(species)
        compared.append(
            within(
                f"{row['species']} {row['lb_per_ft3']}",
                value=float(row["lb_per_ft3"]),
                low=density.low_kg_m3 / KG_M3_PER_LB_FT3,
                high=density.high_kg_m3 / KG_M3_PER_LB_FT3,
            )
        )
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
    ours = change_by_coefficient_mm(
        dimension_mm=9.15 * 25.4, from_moisture_pct=8, to_moisture_pct=11, coefficient=0.00365
    )
    return [
        against("swelling", ours=-ours / 25.4, theirs=example("white oak 9.15 in flat-sawn from 8 to 11 %"))
    ]


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
        species = species_called(name)
        assert species
        lost = shrinkage(species, dimension_mm=96 * 25.4)
        for way, mm in (("radial", lost.radial_mm), ("tangential", lost.tangential_mm)):
            label = f"{name} 96 in {way}"
            compared.append(against(label, ours=mm / 25.4, theirs=example(label)))
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
