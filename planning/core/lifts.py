"""What a crew lifts: the weight of a log and of the piece cut from it, and where the piece balances."""

from dataclasses import dataclass

from inventory.core.basis import Basis
from inventory.core.lifting import balance_point
from inventory.core.profile import LogProfile
from inventory.core.volume import MM3_PER_M3, reading_spread, volume_mm3
from inventory.core.weight import Weight, log_weight
from inventory.core.wood import Species


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """Weights in kg of the green piece; `log_high_kg` is the most that the uncut log may weigh.

    `balance_from_butt_mm` is measured from the log's own butt end, cut or not.
    """

    weight_low_kg: float
    weight_kg: float
    weight_high_kg: float
    log_high_kg: float
    balance_from_butt_mm: float
    balance_low_mm: float
    balance_high_mm: float
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def lift_of(*, profile: LogProfile, species: Species, from_butt_mm: float, to_mm: float) -> Lift:
    """The lift of the piece between two positions of a green log. Raises BadPosition, BadWeight."""
    piece = _weight(profile, species, from_butt_mm, to_mm)
    whole = _weight(profile, species, 0.0, profile.length_mm)
    balance = balance_point(profile, from_butt_mm=from_butt_mm, to_mm=to_mm)
    return Lift(
        weight_low_kg=piece.low_kg,
        weight_kg=piece.likely_kg,
        weight_high_kg=piece.lift_kg,
        log_high_kg=whole.lift_kg,
        balance_from_butt_mm=from_butt_mm + balance.from_butt_end_mm,
        balance_low_mm=from_butt_mm + balance.low_mm,
        balance_high_mm=from_butt_mm + balance.high_mm,
        basis=piece.basis,
        uncertainty=piece.uncertainty,
        cautions=tuple(dict.fromkeys((*piece.cautions, *balance.cautions))),
    )


def _weight(profile: LogProfile, species: Species, from_butt_mm: float, to_mm: float) -> Weight:
    def volume_m3(log: LogProfile) -> float:
        return volume_mm3(log, from_butt_mm=from_butt_mm, to_mm=to_mm) / MM3_PER_M3

    volume = volume_m3(profile)
    spread = 2 * reading_spread(profile, volume_m3)
    return log_weight(species, volume_m3=volume, low_m3=max(volume - spread, 0.0), high_m3=volume + spread)
