"""Which free log of the yards covers which log that is needed: a real assignment, never a mere count.

Lengths and diameters in mm. As many needed logs as possible are covered, those first in the list before the
others, and of all ways to do that the one that leaves the least length over.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.core.profile import LogProfile, diameter_mm_at
from planning.core.takeoff.needs import DUST_MM, Band

# A log that bows over the limit is taken last, as if so many times the excess were cut off and lost.
BOW_COST = 100.0
FAR = np.int64(2**40)

Costs = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class YardLog:
    """A log, or the longest stretch of it that is clear of metal. `cabin`: the only one it may go to."""

    id: str
    length_mm: float
    middle_mm: float
    crown_mm: float = 0.0
    cabin: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """What a log must be to cover a need; its longest piece, `longest_mm`, may bow `crown_limit_mm`."""

    length_mm: float
    band: Band
    longest_mm: float
    crown_limit_mm: float
    cabin: str | None = None


def yard_log(
    *,
    id: str,
    profile: LogProfile,
    crown_mm: float,
    metal_mm: Sequence[tuple[float, float]] = (),
    hazard_clear_mm: float,
    cabin: str | None = None,
) -> YardLog | None:
    """A charted log as the take-off counts it, or None if metal leaves nothing of it.

    `metal_mm` are (from, to) from the butt. Of a log with metal only the longest stretch that stays clear of
    it counts: shorter than what a plan may get out of it, since pieces may hold metal away from cuts.
    """
    near, far = _longest_clear(profile.length_mm, metal_mm, hazard_clear_mm)
    if far <= near:
        return None
    length = far - near
    return YardLog(
        id=id,
        length_mm=length,
        middle_mm=diameter_mm_at(profile, (near + far) / 2),
        crown_mm=crown_mm * (length / profile.length_mm) ** 2,
        cabin=cabin,
    )


def _longest_clear(
    length_mm: float, metal_mm: Sequence[tuple[float, float]], clear_mm: float
) -> tuple[float, float]:
    edges, at = [], 0.0
    for near, far in sorted(metal_mm):
        edges.append((at, near - clear_mm))
        at = max(at, far + clear_mm)
    edges.append((at, length_mm))
    return max(edges, key=lambda edge: edge[1] - edge[0])


def excess_bow_mm(log: YardLog, demand: Demand) -> float:
    """By how much the longest piece would bow over its limit; a bow falls with the square of the length."""
    bow = log.crown_mm * min(1.0, demand.longest_mm / log.length_mm) ** 2
    return max(0.0, bow - demand.crown_limit_mm)


def cover(demands: Sequence[Demand], logs: Sequence[YardLog]) -> list[str | None]:
    """For every demand the id of the log that covers it, or None where the yards fall short.

    A log covers one demand if it is long enough, its middle lies in the band, and it is not kept for another
    cabin. Shortest augmenting paths over kinds of demand: a demand once covered stays covered.
    """
    kinds = list(dict.fromkeys(demands))
    if not kinds or not logs:
        return [None] * len(demands)
    number = {kind: n for n, kind in enumerate(kinds)}
    covering = _Covering(_costs(kinds, logs))
    for demand in demands:
        covering.add(number[demand])
    given = [iter(covering.logs_of(kind)) for kind in range(len(kinds))]
    return [
        None if (found := next(given[number[demand]], None)) is None else logs[found].id for demand in demands
    ]


def _costs(kinds: Sequence[Demand], logs: Sequence[YardLog]) -> Costs:
    """Tenths of a mm left over, and FAR where the log does not do; one row for each kind of demand."""
    length = np.array([log.length_mm for log in logs])
    middle = np.array([log.middle_mm for log in logs])
    costs = np.full((len(kinds), len(logs)), FAR, dtype=np.int64)
    for row, kind in enumerate(kinds):
        kept = np.array([log.cabin in (None, kind.cabin) for log in logs])
        does = (length >= kind.length_mm - DUST_MM) & kept
        does &= (middle >= kind.band.least_mm - DUST_MM) & (middle <= kind.band.largest_mm + DUST_MM)
        bow = np.array([excess_bow_mm(log, kind) for log in logs])
        left = np.maximum(length - kind.length_mm, 0.0) + BOW_COST * bow
        costs[row, does] = np.rint(10 * left[does]).astype(np.int64)
    return costs


class _Covering:
    """Logs given to kinds of demand so far, always the cheapest way to cover what has been added."""

    def __init__(self, costs: Costs) -> None:
        self.costs = costs
        kinds, logs = costs.shape
        self.holder = np.full(logs, -1, dtype=np.int64)
        # What it costs that one kind takes a log from another, and which log that is.
        self.swap = np.full((kinds, kinds), FAR, dtype=np.int64)
        self.swapped = np.zeros((kinds, kinds), dtype=np.int64)
        # A kind that could not be covered once cannot be later either: the yards only get emptier.
        self.is_short = [False] * kinds

    def logs_of(self, kind: int) -> list[int]:
        return [int(log) for log in np.flatnonzero(self.holder == kind)]

    def add(self, kind: int) -> None:
        """Cover one more demand of this kind, if any shifting of logs between kinds makes that possible."""
        if self.is_short[kind]:
            return
        reach, came_from = self._reach(kind)
        free = np.where(self.holder == -1, self.costs, FAR)
        total = reach + free.min(axis=1)
        end = int(total.argmin())
        if total[end] >= FAR // 2:
            self.is_short[kind] = True
            return
        log, at, changed = int(free[end].argmin()), end, [end]
        while at != kind:
            before = int(came_from[at])
            passed_on = int(self.swapped[before, at])
            self.holder[log] = at
            log, at = passed_on, before
            changed.append(at)
        self.holder[log] = kind
        self._measure_swaps(changed)

    def _reach(self, kind: int) -> tuple[Costs, Costs]:
        """Cheapest cost to free a log of each kind for this one, and the kind before it on the way."""
        reach = np.full(len(self.swap), FAR, dtype=np.int64)
        came_from = np.full(len(self.swap), kind, dtype=np.int64)
        reach[kind] = 0
        for _ in range(len(self.swap)):
            through = np.where(reach[:, None] < FAR // 2, reach[:, None] + self.swap, FAR)
            nearer = through.min(axis=0)
            better = nearer < reach
            if not better.any():
                break
            came_from[better] = through.argmin(axis=0)[better]
            reach[better] = nearer[better]
        return reach, came_from

    def _measure_swaps(self, kinds: Sequence[int]) -> None:
        for kind in kinds:
            held = np.flatnonzero(self.holder == kind)
            cost = np.where(self.costs[:, held] < FAR, self.costs[:, held] - self.costs[kind, held], FAR)
            self.swap[:, kind] = cost.min(axis=1)
            self.swapped[:, kind] = held[cost.argmin(axis=1)]
