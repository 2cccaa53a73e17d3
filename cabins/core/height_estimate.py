"""How many rounds a wall takes with the logs that lie in the yards, and how high its walls then end."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from cabins.core.layout_parts import Layout, Start
from cabins.core.places import half_logs_of
from cabins.core.rounds import ImpossibleRise
from cabins.core.sources import PRACTICE
from cabins.core.wall_ends import wall_ends
from inventory.core.basis import Basis
from inventory.core.crew_errors import USUAL_ERRORS, CrewErrors
from inventory.core.crew_units import Sentence

# How many standard deviations of a top the range reaches beyond the yards' thinnest and thickest logs.
DEVIATIONS = 2.0

BASIS = Basis(
    rule="a round rises by the mean middle diameter of the logs plus the target gap; flats, half logs, a "
    "raised deck and even tops as the layout has them; the count of rounds whose low walls end nearest the "
    "height wanted",
    source=str(PRACTICE),
    assumption="range: the thinnest, or the thickest, logs used for all rounds, those that are short as thin "
    "or as thick as the thinnest or thickest there, and twice the crew's error of a top beyond",
)


class NoLogs(ValueError):
    """There are no logs to estimate a height from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndEstimate:
    """Where the low, or the high, walls end: with logs of the mean middle, and from `low_mm` to `high_mm`."""

    start: Start
    top_mm: float
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightEstimate:
    """Rounds and heights with the logs of the yards.

    `rounds` bring the low walls nearest to the height wanted; `rounds_least`/`rounds_most` with the thickest
    or the thinnest logs. `ends`: low walls, then high ones; `rise_mm`: what one round more or fewer changes.
    `logs_short`: what the yards lack for `logs_needed`.
    """

    rounds: int
    rounds_least: int
    rounds_most: int
    ends: tuple[EndEstimate, ...]
    rise_mm: float
    mean_middle_mm: float
    logs_needed: int
    logs_short: int
    basis: Basis


def height_estimate(
    layout: Layout, *, middles_mm: Sequence[float], errors: CrewErrors = USUAL_ERRORS
) -> HeightEstimate:
    """Rounds and heights if `layout` is built from logs of these middle diameters.

    `errors`: how far the crew's readings and cuts may be off. Raises NoLogs without logs, ImpossibleRise
    where the thinnest logs do not raise a wall.
    """
    if not middles_mm:
        raise NoLogs("an estimate needs at least one log")
    mean = math.fsum(middles_mm) / len(middles_mm)
    rounds = _nearest_rounds(layout, mean)
    needed = _logs_needed(layout, rounds)
    thin, thick = _thin_and_thick_mm(middles_mm, needed)
    beyond = DEVIATIONS * errors.top_mm(rounds_since_measured=rounds)
    tops = [_tops_mm(layout, middle, rounds) for middle in (mean, thin, thick)]
    return HeightEstimate(
        rounds=rounds,
        rounds_least=_nearest_rounds(layout, thick),
        rounds_most=_nearest_rounds(layout, thin),
        ends=tuple(
            EndEstimate(
                start=start,
                top_mm=tops[0][start],
                low_mm=tops[1][start] - beyond,
                high_mm=tops[2][start] + beyond,
            )
            for start in Start
        ),
        rise_mm=mean + layout.gap.target_mm,
        mean_middle_mm=mean,
        logs_needed=needed,
        logs_short=max(0, needed - len(middles_mm)),
        basis=BASIS,
    )


def _thin_and_thick_mm(middles_mm: Sequence[float], needed: int) -> tuple[float, float]:
    """The mean middle of the thinnest, and of the thickest, logs that the wall needs."""
    ordered = sorted(middles_mm)
    short = max(0, needed - len(ordered))
    thin, thick = ordered[:needed] + [ordered[0]] * short, ordered[-needed:] + [ordered[-1]] * short
    return math.fsum(thin) / needed, math.fsum(thick) / needed


def _tops_mm(layout: Layout, middle_mm: float, rounds: int) -> dict[Start, float]:
    """Where the walls end: rounds over the first rise alike, so one is laid out and the rest counted."""
    rise = middle_mm + layout.gap.target_mm
    if not rise > 0:
        raise ImpossibleRise(Sentence("a pitch of {pitch:across} does not raise a wall", pitch=rise))
    first = wall_ends(replace(layout, rounds=1), middle_mm=middle_mm)
    return {end.start: end.top_mm + (rounds - 1) * rise for end in first}


def _nearest_rounds(layout: Layout, middle_mm: float) -> int:
    """The count of rounds, from 1, whose low walls end nearest the height wanted; of two the lower."""
    first = _tops_mm(layout, middle_mm, 1)[Start.LOW]
    more = (layout.wall_height_mm - first) / (middle_mm + layout.gap.target_mm)
    return 1 + max(0, math.ceil(more - 0.5))


def _logs_needed(layout: Layout, rounds: int) -> int:
    """A log for each wall in each round, and one for two half logs."""
    return rounds * len(layout.log_walls) + math.ceil(len(half_logs_of(layout)) / 2)
