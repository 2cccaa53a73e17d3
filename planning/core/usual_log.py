"""What a log whose crown or grain nobody looked at is taken for: a little worse than this crew's logs are.

The planner has to reckon with something. Nought and straight would make such a log look best of all and send
it to sill, plate and ridge; so it bows and winds as the charted logs of the same yards do on average, and
half their spread more (common practice, no source). A grain so assumed is steep only where most logs wind:
what nobody saw must not be forbidden by a rule that binds.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

SPREAD_SHARE = 0.5
# Of 4,510 logs 83 % had a sweep of 1 in or less (USDA Forest Service, Research Note NE-172, 1973), here taken
# over a log of 16 ft: what counts where no crown was charted at all.
CROWN_SHARE_OF_OTHERS = 25.4 / 4876.8
# A spiral whose slope nobody read counts as 1 in 20, as in the model's grain term.
UNREAD_TWIST = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class BowAndGrain:
    """A log's crown and grain as charted; None: nobody looked. `twist` is the slope (0.05 is 1:20)."""

    length_mm: float
    crown_mm: float | None
    grain: str | None
    twist: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class UsualLog:
    """What counts for a log nobody looked at: crown as a share of its length, slope and hand of its grain."""

    crown_share: float
    twist: float
    grain: Literal["left", "right"]

    def crown_mm(self, length_mm: float) -> float:
        """The crown of a log of this length."""
        return self.crown_share * length_mm


def usual_log(logs: Iterable[BowAndGrain]) -> UsualLog:
    """The usual log of the yards that these logs lie in, from those that somebody looked at."""
    charted = list(logs)
    crowns = [log.crown_mm / log.length_mm for log in charted if log.crown_mm is not None]
    twists = [_twist(log) for log in charted if log.grain is not None]
    hands = [log.grain for log in charted if log.grain in ("left", "right")]
    return UsualLog(
        crown_share=_mean_and_more(crowns) if crowns else CROWN_SHARE_OF_OTHERS,
        twist=_mean_and_more(twists) if twists else 0.0,
        grain="left" if hands.count("left") > hands.count("right") else "right",
    )


def _twist(log: BowAndGrain) -> float:
    if log.grain == "straight":
        return 0.0
    return UNREAD_TWIST if log.twist is None else log.twist


def _mean_and_more(values: Sequence[float]) -> float:
    mean = math.fsum(values) / len(values)
    spread = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / len(values))
    return mean + SPREAD_SHARE * spread
