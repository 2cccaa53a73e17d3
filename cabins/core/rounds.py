"""How many rounds a wall needs: from a nominal pitch, or from the middles of the logs in a yard."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cabins.core.sources import PRACTICE
from inventory.core.basis import Basis
from inventory.core.crew_units import Sentence

# A hundredth of a millimetre: heights that are equal on paper must not differ by float dust.
DUST_MM = 0.01


class ImpossibleRise(ValueError):
    """A round that does not rise: its logs with their gap or overlap add nothing to the wall."""


class NoLogs(ValueError):
    """There are no logs to estimate a height from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightEstimate:
    """Rounds and height with the logs of a yard. `low_mm`/`high_mm`: with its thinnest or its thickest logs.

    `rounds_least`/`rounds_most` reach the height with the thickest or thinnest logs; `logs_short` is what
    the yard lacks for `rounds`.
    """

    rounds: int
    rounds_least: int
    rounds_most: int
    height_mm: float
    low_mm: float
    high_mm: float
    mean_middle_mm: float
    logs_needed: int
    logs_short: int
    basis: Basis


def rounds_for_height(height_mm: float, pitch_mm: float) -> int:
    """The least number of rounds whose low walls' top reaches `height_mm`; at least 1.

    Raises ImpossibleRise where `pitch_mm` is not positive.
    """
    if not pitch_mm > 0:
        raise ImpossibleRise(Sentence("a pitch of {pitch:across} does not raise a wall", pitch=pitch_mm))
    return max(1, math.ceil((height_mm - DUST_MM) / pitch_mm))


def height_estimate(
    *, middles_mm: Sequence[float], gap_mm: float, wall_height_mm: float, logs_per_round: int
) -> HeightEstimate:
    """Rounds needed for `wall_height_mm` if a round rises by its logs' mean middle diameter plus the gap.

    `middles_mm`: the logs that may be used. `logs_per_round`: places of one log each in a round.
    Raises NoLogs without logs, ImpossibleRise where middle plus gap is not positive.
    """
    if not middles_mm or logs_per_round < 1:
        raise NoLogs("an estimate needs at least one log and one place in a round")
    thinnest_first = sorted(middles_mm)
    mean = sum(middles_mm) / len(middles_mm)
    rounds = rounds_for_height(wall_height_mm, mean + gap_mm)
    needed = rounds * logs_per_round
    taken = min(needed, len(thinnest_first))
    thin = sum(thinnest_first[:taken]) / taken
    thick = sum(thinnest_first[-taken:]) / taken
    return HeightEstimate(
        rounds=rounds,
        rounds_least=rounds_for_height(wall_height_mm, thick + gap_mm),
        rounds_most=rounds_for_height(wall_height_mm, thin + gap_mm),
        height_mm=rounds * (mean + gap_mm),
        low_mm=rounds * (thin + gap_mm),
        high_mm=rounds * (thick + gap_mm),
        mean_middle_mm=mean,
        logs_needed=needed,
        logs_short=max(0, needed - len(thinnest_first)),
        basis=Basis(
            rule="a round rises by the mean middle diameter of its logs plus the target gap",
            source=str(PRACTICE),
            assumption="all the yard's logs alike; range: its thinnest or its thickest used for all rounds",
        ),
    )
