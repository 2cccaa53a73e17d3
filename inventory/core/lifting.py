"""Where a log balances on the sling, and what the sling's legs carry."""

import math
from dataclasses import dataclass

from inventory.core.basis import Basis, is_positive
from inventory.core.crew_units import Sentence
from inventory.core.profile import READING_SD_MM, LogProfile
from inventory.core.volume import integral_along, reading_spread, volume_mm3

FLATTEST_SLING_DEG, STEEPEST_SLING_DEG, ADVISED_SLING_DEG = 30.0, 90.0, 45.0
# Butt and tip of one log differ in heartwood and so in moisture; common practice, no source.
DENSITY_ALONG_SHARE = 0.10

LIFTING_CAUTIONS = (
    "Lift plans are decided by local code and a competent, licensed person; this is an estimate.",
    "Try the balance a hand's breadth off the ground first, stand clear, and never under the load.",
)


class BadLoad(ValueError):
    """There is nothing here to lift."""


class BadSling(ValueError):
    """A sling is not rigged at this angle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BalancePoint:
    """Where a log or piece balances, from its own end nearest the butt, in mm."""

    from_butt_end_mm: float
    low_mm: float
    high_mm: float
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlingTension:
    """What each of two equal legs carries, in kg of pull, at an angle from the horizontal."""

    angle_deg: float
    tension_kg: float
    share_of_load: float
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def balance_point_mm(profile: LogProfile, *, from_butt_mm: float = 0.0, to_mm: float | None = None) -> float:
    """Centre of the wood between two positions, measured from the first of them. Raises BadPosition."""
    moment = integral_along(profile, lambda at: at - from_butt_mm, from_butt_mm=from_butt_mm, to_mm=to_mm)
    return moment / volume_mm3(profile, from_butt_mm=from_butt_mm, to_mm=to_mm)


def balance_point(
    profile: LogProfile,
    *,
    from_butt_mm: float = 0.0,
    to_mm: float | None = None,
    reading_sd_mm: float = READING_SD_MM,
) -> BalancePoint:
    """The balance point with its range: readings, and one end denser than the other. Raises BadPosition."""
    point = balance_point_mm(profile, from_butt_mm=from_butt_mm, to_mm=to_mm)
    length = (profile.length_mm if to_mm is None else to_mm) - from_butt_mm
    by_reading = reading_spread(
        profile,
        lambda log: balance_point_mm(log, from_butt_mm=from_butt_mm, to_mm=to_mm),
        reading_sd_mm=reading_sd_mm,
    )
    # Density falling evenly by a share k over the length moves the centre of an even bar by k L / 12.
    spread = 2 * math.hypot(by_reading, DENSITY_ALONG_SHARE * length / 12)
    return BalancePoint(
        from_butt_end_mm=point,
        low_mm=max(point - spread, 0.0),
        high_mm=min(point + spread, length),
        basis=Basis(
            rule="first moment of the volume over the volume",
            source="geometry",
            assumption="the wood is equally dense all along; straight between stations",
        ),
        uncertainty=Sentence(
            "two standard deviations: {sd:error} a reading, and density uneven by {share:.0%} from end to "
            "end "
            "(common practice, no source)",
            sd=reading_sd_mm,
            share=DENSITY_ALONG_SHARE,
        ),
        cautions=LIFTING_CAUTIONS,
    )


def two_leg_sling(*, weight_kg: float, angle_deg: float) -> SlingTension:
    """Tension of each leg, W / (2 sin a), a from the horizontal: 0.577 W at 60 degrees, 0.707 W at 45.

    Raises BadLoad; BadSling under 30 degrees, where a leg would carry more than the whole load, and over 90.
    """
    if not is_positive(weight_kg):
        raise BadLoad(Sentence("a load of {load:weight} is none", load=weight_kg))
    if not FLATTEST_SLING_DEG <= angle_deg <= STEEPEST_SLING_DEG:
        raise BadSling(
            f"a leg at {angle_deg} degrees from the horizontal is not rigged: it is 30 to 90, better 60"
        )
    share = 1 / (2 * math.sin(math.radians(angle_deg)))
    flat = ("Under 45 degrees the legs are too flat: take longer slings or a spreader.",)
    return SlingTension(
        angle_deg=angle_deg,
        tension_kg=weight_kg * share,
        share_of_load=share,
        basis=Basis(
            rule="W / (2 sin a), a from the horizontal",
            source="statics; 45 degrees and steeper advised by Colorado DRMS, seen",
            assumption="two equal legs, the hook straight above the balance point, lifted without a jerk",
        ),
        uncertainty="that of the load: reckoned for the top of its range",
        cautions=(*(flat if angle_deg < ADVISED_SLING_DEG else ()), *LIFTING_CAUTIONS),
    )
