"""What every figure carries with it: the rule it follows, where that comes from, and what was assumed."""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """The named rule, its source (with a note if it is from memory) and the assumptions made."""

    rule: str
    source: str
    assumption: str


def is_positive(*numbers: float) -> bool:
    """Whether all are numbers greater than nothing; NaN and infinity are not."""
    return all(math.isfinite(number) and number > 0 for number in numbers)
