"""What a crew lifts: weights of a log and of the piece cut from it, the sling's pull, the balance point."""

from dataclasses import dataclass

from inventory.core.basis import Basis
from inventory.core.lifting import SlingTension, balance_point, two_leg_sling
from inventory.core.profile import LogProfile
from inventory.core.volume import MM3_PER_M3, reading_spread, volume_mm3
from inventory.core.weight import Weight, log_weight
from inventory.core.wood import Species

USUAL_SLING_DEG = 60.0
NO_SPECIES = "The log has no species, so its weight is not known: weigh it, or say its species."
CAUTION_UNKNOWN = (
    "Nobody knows what this log weighs: do not lift it before it was weighed or its species is said."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """Weights in kg of the green piece; `log_high_kg` is the most that the uncut log may weigh.

    `sling`: what each of two legs carries of the uncut log at its heaviest. Without a species there are no
    weights, and `why_no_weight` says so. `balance_from_butt_mm` is measured from the log's own butt end, cut
    or not.
    """

    weight_low_kg: float | None
    weight_kg: float | None
    weight_high_kg: float | None
    log_high_kg: float | None
    why_no_weight: str
    sling: SlingTension | None
    balance_from_butt_mm: float
    balance_low_mm: float
    balance_high_mm: float
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def lift_of(
    *,
    profile: LogProfile,
    species: Species | None,
    from_butt_mm: float,
    to_mm: float,
    sling_angle_deg: float = USUAL_SLING_DEG,
) -> Lift:
    """The lift of the piece between two positions of a green log. Raises BadPosition, BadWeight, BadSling."""
    piece = whole = sling = None
    if species is not None:
        piece = _weight(profile, species, from_butt_mm, to_mm)
        whole = _weight(profile, species, 0.0, profile.length_mm)
        sling = two_leg_sling(weight_kg=whole.lift_kg, angle_deg=sling_angle_deg)
    balance = balance_point(profile, from_butt_mm=from_butt_mm, to_mm=to_mm)
    known = piece or balance
    cautions = (*known.cautions, *balance.cautions, *(sling.cautions if sling else (CAUTION_UNKNOWN,)))
    return Lift(
        weight_low_kg=None if piece is None else piece.low_kg,
        weight_kg=None if piece is None else piece.likely_kg,
        weight_high_kg=None if piece is None else piece.lift_kg,
        log_high_kg=None if whole is None else whole.lift_kg,
        why_no_weight="" if piece else NO_SPECIES,
        sling=sling,
        balance_from_butt_mm=from_butt_mm + balance.from_butt_end_mm,
        balance_low_mm=from_butt_mm + balance.low_mm,
        balance_high_mm=from_butt_mm + balance.high_mm,
        basis=known.basis,
        uncertainty=known.uncertainty,
        cautions=tuple(dict.fromkeys(cautions)),
    )


def _weight(profile: LogProfile, species: Species, from_butt_mm: float, to_mm: float) -> Weight:
    def volume_m3(log: LogProfile) -> float:
        return volume_mm3(log, from_butt_mm=from_butt_mm, to_mm=to_mm) / MM3_PER_M3

    volume = volume_m3(profile)
    spread = 2 * reading_spread(profile, volume_m3)
    return log_weight(species, volume_m3=volume, low_m3=max(volume - spread, 0.0), high_m3=volume + spread)
