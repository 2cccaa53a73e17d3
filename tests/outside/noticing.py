"""The smallest error of a figure that a check notices, found by trying: scaled until the check fails."""

import math
import statistics
from collections.abc import Iterable
from dataclasses import dataclass

from tests.outside.registry import Compared, OutsideCheck

# Errors that are tried, in percent, each as too much and as too little.
TRIED_PCT = (
    *(0.00001, 0.0001, 0.001, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 2.5),
    *(3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 15.0, 20.0, 24.0, 25.0, 30.0, 40.0, 50.0, 75.0),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Noticing:
    """Errors in percent, whichever their sign; infinite: none that was tried is noticed.

    `check_pct` is noticed by at least one value, `half_pct` by half of the values, each alone; `counted` is
    how many values alone notice an error that must not go unnoticed.
    """

    check_pct: float
    half_pct: float
    counted: int


def noticing(check: OutsideCheck, compared: Iterable[Compared]) -> Noticing:
    """What a check notices, tried on every one of its values."""
    alone = [(smallest_pct(one, check.limit, 1), smallest_pct(one, check.limit, -1)) for one in compared]
    each = [max(pair) for pair in alone]
    return Noticing(
        check_pct=max(min(up for up, _ in alone), min(down for _, down in alone)),
        half_pct=statistics.median_high(each),
        counted=sum(pct < check.most_unnoticed_pct for pct in each),
    )


def smallest_pct(one: Compared, limit: float, sign: int) -> float:
    """The smallest tried error, too much (1) or too little (-1), that takes one value beyond the limit."""
    return next((pct for pct in TRIED_PCT if not one.off(1 + sign * pct / 100) <= limit), math.inf)
