"""Two ways of getting the same thing, timed in turn, so that a busy machine slows both alike."""

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One way: `work` is timed, `ready` makes it possible before every run and is not."""

    work: Callable[[], object]
    ready: Callable[[], object] = lambda: None


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """Medians in ms, their ratio, and the noise: half the span of the middle half of each side's runs."""

    ours_ms: float
    other_ms: float
    noise_pct: float

    @property
    def ratio(self) -> float:
        return self.ours_ms / self.other_ms


def compare(ours: Side, other: Side, *, runs: int) -> Compared:
    """Both sides once to warm up, then `runs` times in turn."""
    took: tuple[list[float], list[float]] = ([], [])
    for run in range(runs + 1):
        for side, times in zip((ours, other), took, strict=True):
            spent = _seconds(side)
            if run:
                times.append(spent)
    return Compared(
        ours_ms=statistics.median(took[0]) * 1000,
        other_ms=statistics.median(took[1]) * 1000,
        noise_pct=max(_noise_pct(times) for times in took),
    )


def _seconds(side: Side) -> float:
    side.ready()
    began = time.perf_counter()
    side.work()
    return time.perf_counter() - began


def _noise_pct(times: list[float]) -> float:
    first, _, third = statistics.quantiles(times, n=4)
    return 100 * (third - first) / 2 / statistics.median(times)
