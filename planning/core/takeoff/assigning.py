"""The cheapest assignment of logs to kinds of demand, one demand after another: shortest augmenting paths."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planning.core.takeoff.covering import Demand, YardLog, excess_bow_mm
from planning.core.takeoff.needs import DUST_MM

# A log that bows over the limit is taken last, as if so many times the excess were cut off and lost.
BOW_COST = 100.0
FAR = np.int64(2**40)

Costs = NDArray[np.int64]


def costs_of(kinds: Sequence[Demand], logs: Sequence[YardLog]) -> Costs:
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


class Assignment:
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
