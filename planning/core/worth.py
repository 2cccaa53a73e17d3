"""What a second reading is worth: by how much it makes the plate surer, for tops and for logs.

The figures are differences of the estimate (`sure.py`) with the same chances, so that they compare. Where
the gap has a band, each round is steered by the tops as read: what counts are the readings of the last
rounds, and hardly any log. Where it has none, diameters add up: then logs count. A first log that lies on the
deck on its flat has no gap whatever the band is: there logs count for the level of the first round.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from planning.core.plate_error import EndSpot, Estimate, MeasuringErrors, Readings, has_band
from planning.core.problem import WallPlan, WallProblem

Named = TypeVar("Named")

LEAST_WORTH_MM = 0.05
"""Less than half of the last digit told is worth nobody's way round the wall."""
MOST_NAMED = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class TopWorth:
    """A top, by (wall, round, 0 for the start and 1 for the end), and what one reading more is worth."""

    spot: EndSpot
    worth_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LogWorth:
    """A log and what a second reading of its diameters is worth."""

    log: str
    worth_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsWorth:
    """Worst wall at the plate as expected now, and the readings that make it surer, worth most first.

    `tops_together_mm`: what all of `tops` are worth together. `first_logs`: logs that are to lie on the deck
    with no gap to steer by, and what each is worth to the first round, whose worst such wall is expected to
    lie `first_round_mm` out of level. Lengths in mm.
    """

    steered: bool
    plate_mm: float
    tops: tuple[TopWorth, ...]
    tops_together_mm: float
    logs: tuple[LogWorth, ...]
    first_round_mm: float
    first_logs: tuple[LogWorth, ...]


def what_readings_are_worth(
    problem: WallProblem,
    plan: WallPlan,
    *,
    cabin: str,
    errors: MeasuringErrors,
    read: Mapping[EndSpot, int],
    open_logs: frozenset[str],
    samples: int = 300,
    seed: int = 1,
) -> ReadingsWorth:
    """Which ends, and which of the logs still to be laid, are worth a second reading.

    `read`: how often each top was read already. The cabin's `as_built` holds the tops that were.
    """
    estimate = Estimate(problem, plan, cabin=cabin, errors=errors, samples=samples, seed=seed)
    steered = has_band(estimate.house)
    now = Readings(tops=dict(read))
    plate = estimate.plate_error(steered=steered, readings=now).mean_mm

    def worth(readings: Readings) -> float:
        return plate - estimate.plate_error(steered=steered, readings=readings).mean_mm

    def once_more(spots: tuple[EndSpot, ...]) -> Readings:
        return replace(now, tops={**now.tops, **{spot: read.get(spot, 1) + 1 for spot in spots}})

    spots = _candidates(estimate, read) if steered else []
    tops = _most_worth({spot: worth(once_more((spot,))) for spot in spots})
    if steered:
        asked = _last_logs(estimate, problem) & open_logs
        logs = {log: worth(replace(now, logs={log: 2})) for log in asked}
    else:
        logs = estimate.worth_of_logs()
    first_round, first_logs = estimate.worth_of_first_logs()
    return ReadingsWorth(
        steered=steered,
        plate_mm=plate,
        tops=tuple(TopWorth(spot=spot, worth_mm=mm) for spot, mm in tops),
        tops_together_mm=worth(once_more(tuple(spot for spot, _ in tops))) if tops else 0.0,
        logs=_logs_worth_most(logs, open_logs),
        first_round_mm=first_round,
        first_logs=_logs_worth_most(first_logs, open_logs),
    )


def _candidates(estimate: Estimate, read: Mapping[EndSpot, int]) -> list[EndSpot]:
    """The ends of the last two rounds, but those under a top that is read already."""
    rounds = estimate.house.rounds
    return [
        (wall.id, r, e)
        for wall in estimate.house.walls
        for e in (0, 1)
        for r in range(max(1, rounds - 1), rounds + 1)
        if not any((wall.id, above, e) in read for above in range(r + 1, rounds + 1))
    ]


def _last_logs(estimate: Estimate, problem: WallProblem) -> set[str]:
    """The logs of the last two rounds: what is laid below is measured and steered before the plate."""
    numbers = estimate.ends.log[:, -2:]
    return {problem.logs[int(number)].id for number in numbers[numbers >= 0]}


def _logs_worth_most(found: Mapping[str, float], open_logs: frozenset[str]) -> tuple[LogWorth, ...]:
    rows = _most_worth({log: mm for log, mm in found.items() if log in open_logs})
    return tuple(LogWorth(log=log, worth_mm=mm) for log, mm in rows)


def _most_worth(found: Mapping[Named, float]) -> list[tuple[Named, float]]:
    worth_it = [(named, mm) for named, mm in found.items() if mm >= LEAST_WORTH_MM]
    return sorted(worth_it, key=lambda row: (-row[1], str(row[0])))[:MOST_NAMED]
