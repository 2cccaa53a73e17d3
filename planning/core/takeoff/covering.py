"""Which free log of the yards covers which log that is needed: a real assignment, never a mere count.

Lengths and diameters in mm. As many needed logs as possible are covered, those first in the list before the
others, and of all ways to do that the one that leaves the least length over.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.core.profile import LogProfile, diameter_mm_at
from planning.core.takeoff.needs import MiddleBand


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
    band: MiddleBand
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
    # Here, because it brings numpy: a web process that counts no take-off is spared it.
    from planning.core.takeoff.assigning import Assignment, costs_of

    kinds = list(dict.fromkeys(demands))
    if not kinds or not logs:
        return [None] * len(demands)
    number = {kind: n for n, kind in enumerate(kinds)}
    covering = Assignment(costs_of(kinds, logs))
    for demand in demands:
        covering.add(number[demand])
    given = [iter(covering.logs_of(kind)) for kind in range(len(kinds))]
    return [
        None if (found := next(given[number[demand]], None)) is None else logs[found].id for demand in demands
    ]
