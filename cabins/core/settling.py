"""How far a log wall will come down: a prediction from shrinkage and bedding-down, with its range.

The space to leave by a named rule is another thing, in settling_rules.py; the two are shown side by side and
never mixed.
"""

import math
from dataclasses import dataclass

from cabins.core.settling_rules import SettlingError
from cabins.core.sources import MP579, Source

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
class Shrinkage:
    """Shrinkage of the logs from now to the moisture in service, as fractions of size.

    Across a log it lies between the radial and the tangential shrinkage; `source` says from where.
    """

    radial: float
    tangential: float
    source: Source


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
    basis: str
    uncertainty: str
    cautions: tuple[str, ...]


def predict_settling(
    *,
    height_mm: float,
    shrinkage: Shrinkage,
    is_scribed: bool,
    bedding_down: tuple[float, float] = BEDDING_DOWN,
) -> Prediction:
    """How much a log wall of `height_mm` will come down by drying and bedding down.

    A scribed wall follows its logs' shrinkage in full; a chinked one stands on its notches, where part of
    the shrinkage may stay. `bedding_down`: low and high fraction of the height. Raises SettlingError.
    """
    if not (math.isfinite(height_mm) and height_mm >= 0):
        raise SettlingError(f"{height_mm} is no height of a wall")
    for fraction in (shrinkage.radial, shrinkage.tangential):
        if not 0 <= fraction <= MOST_SHRINKAGE:
            raise SettlingError(f"{fraction} is no shrinkage of wood; it lies between 0 and {MOST_SHRINKAGE}")
    if not 0 <= bedding_down[0] <= bedding_down[1] <= MOST_SHRINKAGE:
        raise SettlingError(f"bedding down runs from low to high, not {bedding_down[0]} to {bedding_down[1]}")
    least = min(shrinkage.radial, shrinkage.tangential) * (1.0 if is_scribed else CHINKED_LEAST_SHARE)
    most = max(shrinkage.radial, shrinkage.tangential)
    bedding_low, bedding_high = (fraction * height_mm for fraction in bedding_down)
    wall = (
        "scribed: follows its logs in full" if is_scribed else f"chinked: half may stay at notches, {MP579}"
    )
    return Prediction(
        height_mm=height_mm,
        low_mm=least * height_mm + bedding_low,
        high_mm=most * height_mm + bedding_high,
        shrinkage_low_mm=least * height_mm,
        shrinkage_high_mm=most * height_mm,
        bedding_low_mm=bedding_low,
        bedding_high_mm=bedding_high,
        is_scribed=is_scribed,
        basis=f"rule: shrinkage between radial and tangential plus bedding down; {wall}; "
        f"source of shrinkage: {shrinkage.source}; assumption: posts and frames keep their length",
        uncertainty="low to high: radial to tangential shrinkage, and least to most bedding down",
        cautions=(CAUTION_PREDICTION,),
    )
