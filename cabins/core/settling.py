"""How far a log wall will come down: a prediction from shrinkage and bedding-down, with its range.

The space to leave by a named rule is another thing, in settling_rules.py; the two are shown side by side and
never mixed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cabins.core.settling_rules import SettlingError
from cabins.core.sources import MP579
from inventory.core.basis import Basis
from inventory.core.crew_units import Sentence
from inventory.core.moisture import SERVICE_MOISTURE_PCT, shrinkage
from inventory.core.wood import SpeciesFigures

# Up to 1 % of the height by compaction where coped logs bear on each other (seen on a drafting firm's page,
# no standard). A chinked wall bears on its notches; the same range is assumed for it.
BEDDING_DOWN = (0.0, 0.01)
# MP 579: at a round notch half of the shrinkage between the logs stays at the corner and holds the wall up.
CHINKED_LEAST_SHARE = 0.5
MOST_SHRINKAGE = 0.25

CAUTION_PREDICTION = (
    "A prediction from averages of a species: single logs and walls differ. Leave the space your local code "
    "or rule allows, and more where the prediction exceeds it."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShrinkageShare:
    """How much of their height logs lose from now to service, as fractions from low to high."""

    low: float
    high: float
    basis: Basis


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """How much of `height_mm` will be lost, from low to high, and what of it is which. Not an allowance."""

    height_mm: float
    low_mm: float
    high_mm: float
    shrinkage_low_mm: float
    shrinkage_high_mm: float
    bedding_low_mm: float
    bedding_high_mm: float
    is_scribed: bool
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def shrinkage_share(
    species: SpeciesFigures,
    *,
    from_moisture_pct: float | None = None,
    to_moisture_pct: float = SERVICE_MOISTURE_PCT,
) -> ShrinkageShare:
    """What logs of a species lose from green (None) or a measured moisture to service.

    Wood that would swell loses nothing. Raises BadWood, BadMoisture, BadShrinkage.
    """
    of_a_metre = shrinkage(
        species, dimension_mm=1000.0, from_moisture_pct=from_moisture_pct, to_moisture_pct=to_moisture_pct
    )
    return ShrinkageShare(
        low=max(0.0, of_a_metre.low_mm / 1000.0),
        high=max(0.0, of_a_metre.high_mm / 1000.0),
        basis=of_a_metre.basis,
    )


def widest_share(shares: Sequence[ShrinkageShare]) -> ShrinkageShare:
    """The share of a wall of several species: from the least of one to the most of another.

    Raises SettlingError without any.
    """
    if not shares:
        raise SettlingError("a wall is of one species at least")
    bases = [share.basis for share in shares]
    return ShrinkageShare(
        low=min(share.low for share in shares),
        high=max(share.high for share in shares),
        basis=Basis(
            rule=bases[0].rule,
            source="; ".join(dict.fromkeys(basis.source for basis in bases)),
            assumption="; ".join(dict.fromkeys(basis.assumption for basis in bases)),
        ),
    )


def check_bedding_down(bedding_down: tuple[float, float]) -> None:
    """Raises SettlingError unless it runs from low to high, as fractions of the height."""
    low, high = bedding_down
    if not 0 <= low <= high <= MOST_SHRINKAGE:
        raise SettlingError(f"bedding down runs from low to high within 0 to {MOST_SHRINKAGE}")


def predict_settling(
    *,
    height_mm: float,
    share: ShrinkageShare,
    is_scribed: bool,
    bedding_down: tuple[float, float] = BEDDING_DOWN,
) -> Prediction:
    """How much a log wall of `height_mm` will come down by drying and bedding down.

    A scribed wall follows its logs' shrinkage in full; a chinked one stands on its notches, where part of
    the shrinkage may stay. `bedding_down`: low and high fraction of the height. Raises SettlingError.
    """
    if not (math.isfinite(height_mm) and height_mm >= 0):
        raise SettlingError(Sentence("{height:along} is no height of a wall", height=height_mm))
    if not 0 <= share.low <= share.high <= MOST_SHRINKAGE:
        raise SettlingError(
            f"logs shrink from low to high within 0 to {MOST_SHRINKAGE}, not {share.low} to {share.high}"
        )
    check_bedding_down(bedding_down)
    least, most = share.low * (1.0 if is_scribed else CHINKED_LEAST_SHARE), share.high
    bedding_low, bedding_high = (fraction * height_mm for fraction in bedding_down)
    wall = "a scribed wall follows its logs in full"
    if not is_scribed:
        wall = f"in a chinked wall half of it may stay at the notches, {MP579}"
    return Prediction(
        height_mm=height_mm,
        low_mm=least * height_mm + bedding_low,
        high_mm=most * height_mm + bedding_high,
        shrinkage_low_mm=least * height_mm,
        shrinkage_high_mm=most * height_mm,
        bedding_low_mm=bedding_low,
        bedding_high_mm=bedding_high,
        is_scribed=is_scribed,
        basis=Basis(
            rule="shrinkage of the height, plus bedding down",
            source=share.basis.source,
            assumption=f"{share.basis.assumption}; {wall}; bedding down of {100 * bedding_down[0]:g} to "
            f"{100 * bedding_down[1]:g} % of the height; posts and frames keep their length",
        ),
        uncertainty="low to high: least shrinkage with least bedding down, most with most",
        cautions=(CAUTION_PREDICTION,),
    )
