"""Green weight, density and sling against published tables and worked examples."""

from collections import defaultdict
from dataclasses import replace

from inventory.core.lifting import two_leg_sling
from inventory.core.measure import FT3_PER_M3
from inventory.core.profile import LogProfile
from inventory.core.volume import MM3_PER_M3, volume_mm3
from inventory.core.weight import DensityRange, density_range
from inventory.core.wood import KG_M3_PER_LB_FT3, SpeciesFigures, density_kg_m3
from tests.outside.check_wood import INCH_MM, example, species_called
from tests.outside.registry import Compared, against, against_percent, outside_check, rows_of, within

FEWEST_FOR_A_MEAN = 4


def reckoned_alone(name: str) -> SpeciesFigures:
    """A species without its published green weight, so that a check of weight does not check itself."""
    return replace(species_called(name), green_density_kg_m3=None)


def green(row: dict[str, str]) -> DensityRange:
    """Our density of a green log of the diameter that a published weight is of."""
    return density_range(reckoned_alone(row["species"]), diameter_mm=float(row["log_in"]) * INCH_MM)


def published(row: dict[str, str]) -> float:
    """A published green density, in kg/m3."""
    return float(row["lb_per_ft3"]) * KG_M3_PER_LB_FT3


def agreeing() -> list[dict[str, str]]:
    """Published green densities of species whose published figures do not contradict each other."""
    return [row for row in rows_of("green_densities.csv") if not row["contradicted"]]


def a_foot_of_log_m3(diameter_in: float) -> float:
    """Volume of one foot of an even log."""
    diameter = diameter_in * INCH_MM
    return volume_mm3(LogProfile(length_mm=304.8, stations=((0, diameter), (304.8, diameter)))) / MM3_PER_M3


@outside_check(
    what="Green weight of a foot of log: density times area",
    source="NPS, Safety for Tree Workers, as reprinted",
    mark="second-hand",
    kind="printed",
    unit="lb/ft",
    limit=0.6,
    decides="lift",
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
    what="Published green densities against our likely one, which they are kept out of (logs of 18 in, Scots "
    "pine of 12; species whose published figures contradict each other are named in the data file)",
    source="Miles and Smith 2009 (NRS-38); Oregon State University; NPS; Millers and Magaznieks 2012",
    mark="second-hand",
    kind="printed",
    unit="%",
    limit=15,
    decides="lift",
)
def green_densities() -> list[Compared]:
    """Heartwood and sapwood by share; FPL's weights are of butt logs of grown trees."""
    return [
        against_percent(
            f"{row['species']} {row['lb_per_ft3']} lb/ft3",
            ours=green(row).likely_kg_m3,
            theirs=published(row),
        )
        for row in agreeing()
    ]


@outside_check(
    what="Our likely green density over the published one, on the mean of a source's species",
    source="Miles and Smith 2009 (NRS-38); Oregon State University; NPS; Millers and Magaznieks 2012",
    mark="second-hand",
    kind="printed",
    unit="%",
    limit=5,
    decides="lift",
)
def green_densities_on_the_mean() -> list[Compared]:
    """By source, so that one of many species does not hide another."""
    by_source = defaultdict(list)
    for row in agreeing():
        by_source[row["source"].partition(":")[0]].append(green(row).likely_kg_m3 / published(row))
    return [
        against_percent(f"{source}, {len(ratios)} species", ours=sum(ratios) / len(ratios), theirs=1.0)
        for source, ratios in by_source.items()
        if len(ratios) >= FEWEST_FOR_A_MEAN
    ]


@outside_check(
    what="What a lift is planned on, over the published green density: at least 0.98 (yellow-cedar 0.99), at "
    "most 1.36",
    source="Miles and Smith 2009 (NRS-38); Oregon State University; NPS; Millers and Magaznieks 2012",
    mark="second-hand",
    kind="printed",
    unit="of the published",
    limit=0,
    decides="lift",
)
def lifts_of_published_densities() -> list[Compared]:
    """The top of our range, which the published weight is kept out of."""
    return [
        within(
            f"{row['species']} {row['lb_per_ft3']} lb/ft3",
            ours=green(row).high_kg_m3 / published(row),
            low=0.98,
            high=1.36,
        )
        for row in agreeing()
    ]


@outside_check(
    what="How far green wood strays from its species' usual weight: 20 % either way",
    source="Forest Products Laboratory, Technical Note 218, 1931",
    mark="seen",
    kind="printed",
    unit="points of %",
    limit=4,
    decides="lift",
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
    what="Density, gravity 0.40 at 12 % moisture",
    source="LarsenDR forestry functions, Wood Handbook ch. 4",
    mark="seen",
    kind="worked",
    unit="kg/m3",
    limit=0.5,
    decides="lift",
)
def density() -> list[Compared]:
    """One worked example."""
    ours = density_kg_m3(gravity=0.40, moisture_pct=12)
    return [against("G 0.40", ours=ours, theirs=example("density G 0.40 at 12 %"))]


@outside_check(
    what="Tension of a two-leg sling at 90 to 30 degrees, against printed load factors",
    source="charts of a sling maker and of a hoist dealer, ashleysling.com and hoistcentral.com",
    mark="seen",
    kind="printed",
    unit="%",
    limit=0.12,
    decides="lift",
)
def sling() -> list[Compared]:
    """A factor is what a leg carries over its half of the load."""
    return [
        against_percent(
            f"{row['angle_deg']} degrees",
            ours=two_leg_sling(weight_kg=1000, angle_deg=float(row["angle_deg"])).tension_kg / 500,
            theirs=float(row["factor"]),
        )
        for row in rows_of("sling_factors.csv")
    ]
