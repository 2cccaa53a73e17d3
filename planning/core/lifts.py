"""What a crew lifts: the weight of a log as it hangs, the sling's pull, the balance point."""

from dataclasses import dataclass
from enum import StrEnum

from inventory.core.basis import Basis
from inventory.core.lifting import SlingTension, balance_point, two_leg_sling
from inventory.core.profile import LogProfile
from inventory.core.weight import Seasoning, piece_weight
from inventory.core.wood import SpeciesFigures

USUAL_SLING_DEG = 60.0
NO_SPECIES = "The log has no species, so its weight is not known: weigh it, or say its species."
CAUTION_UNKNOWN = (
    "Nobody knows what this log weighs: do not lift it before it was weighed or its species is said."
)
CAUTION_WHOLE = "This is the weight of the uncut log. Cut it on the ground first, and it is lighter."


class Hangs(StrEnum):
    """How a log hangs on the sling: uncut, or cut on the ground to the piece for its place."""

    WHOLE = "whole"
    CUT = "cut"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """How the crew lifts: the angle of two legs from the horizontal; `hangs` None: as the plan has it."""

    sling_angle_deg: float = USUAL_SLING_DEG
    hangs: Hangs | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLift:
    """Weights in kg of the log as it hangs; plan the lift on `weight_high_kg`, the top of the range.

    `sling`: what each of two legs carries then. Without a species there are no weights, and `why_no_weight`
    says so. `balance_from_butt_mm` is where that which hangs balances, from the log's own butt end.
    """

    hangs: Hangs
    seasoning: Seasoning | None
    weight_low_kg: float | None
    weight_kg: float | None
    weight_high_kg: float | None
    why_no_weight: str
    sling: SlingTension | None
    balance_from_butt_mm: float
    balance_low_mm: float
    balance_high_mm: float
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def hangs_whole_or_cut(*, pieces_of_log: int) -> Hangs:
    """How a log is lifted if nobody says: a log that gives one piece whole, to be cut where it lies.

    Common practice, no source: it is the heavier case. A log that gives more is cut on the ground.
    """
    return Hangs.CUT if pieces_of_log > 1 else Hangs.WHOLE


def lift_of(
    *,
    profile: LogProfile,
    species: SpeciesFigures | None,
    seasoning: Seasoning | None = None,
    from_butt_mm: float,
    to_mm: float,
    hangs: Hangs,
    sling_angle_deg: float = USUAL_SLING_DEG,
) -> PlannedLift:
    """The lift of a log for the piece between two positions. Raises BadPosition, BadWeight, BadSling."""
    if hangs is Hangs.WHOLE:
        from_butt_mm, to_mm = 0.0, profile.length_mm
    weight = sling = None
    if species is not None:
        weight = piece_weight(profile, species, from_butt_mm=from_butt_mm, to_mm=to_mm, seasoning=seasoning)
        sling = two_leg_sling(weight_kg=weight.lift_kg, angle_deg=sling_angle_deg)
    balance = balance_point(profile, from_butt_mm=from_butt_mm, to_mm=to_mm)
    known = weight or balance
    cautions = (
        *known.cautions,
        *([CAUTION_WHOLE] if hangs is Hangs.WHOLE and weight else ()),
        *balance.cautions,
        *(sling.cautions if sling else (CAUTION_UNKNOWN,)),
    )
    return PlannedLift(
        hangs=hangs,
        seasoning=seasoning,
        weight_low_kg=None if weight is None else weight.low_kg,
        weight_kg=None if weight is None else weight.likely_kg,
        weight_high_kg=None if weight is None else weight.lift_kg,
        why_no_weight="" if weight else NO_SPECIES,
        sling=sling,
        balance_from_butt_mm=from_butt_mm + balance.from_butt_end_mm,
        balance_low_mm=from_butt_mm + balance.low_mm,
        balance_high_mm=from_butt_mm + balance.high_mm,
        basis=known.basis,
        uncertainty=known.uncertainty,
        cautions=tuple(dict.fromkeys(cautions)),
    )
