"""Counts stretches into logs: short pieces share a log, and every log falls into a length class.

Lengths in mm. The rules are the planner's: a piece keeps the trim from the log's ends, two pieces of one log
lie two trims and a saw's kerf apart, and a log gives only so many pieces.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from planning.core.takeoff.needs import Stretch

# Lengths that are equal on paper must not fall into two classes by float dust.
DUST_MM = 0.01

Cut = tuple[Stretch, ...]


class TooLong(ValueError):
    """A piece is longer than the longest log that may be ordered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingRules:
    """How logs are cut, and in which steps of length they are sold."""

    trim_each_end_mm: float
    kerf_mm: float
    max_pieces_per_log: int
    class_step_mm: float


def needed_mm(lengths_mm: Sequence[float], rules: CuttingRules) -> float:
    """The least length of a log that gives these pieces."""
    trims = 2 * rules.trim_each_end_mm * len(lengths_mm)
    return sum(lengths_mm) + trims + rules.kerf_mm * (len(lengths_mm) - 1)


def class_mm(length_mm: float, step_mm: float) -> float:
    """The length class of a log: the least multiple of the step that is not shorter."""
    return max(1, math.ceil((length_mm - DUST_MM) / step_mm)) * step_mm


def cut_into_logs(stretches: Sequence[Stretch], *, longest_log_mm: float, rules: CuttingRules) -> list[Cut]:
    """Which stretches share a log: as few logs as this finds, then as short ones as it finds.

    The longest stretch first into the first log with room for it; then any two logs are cut anew as long as
    that saves a log or a length class. Raises TooLong.
    """
    for stretch in stretches:
        alone = needed_mm([stretch.length_mm], rules)
        if alone > longest_log_mm + DUST_MM:
            raise TooLong(
                f"a piece of {stretch.length_mm:g} mm takes a log of {alone:g} mm with its trim; "
                f"the longest log is {longest_log_mm:g} mm"
            )
    cuts = _first_fit_decreasing(stretches, longest_log_mm, rules)
    return _improved(cuts, longest_log_mm, rules)


def _first_fit_decreasing(
    stretches: Sequence[Stretch], longest_log_mm: float, rules: CuttingRules
) -> list[Cut]:
    cuts: list[Cut] = []
    for stretch in sorted(stretches, key=lambda stretch: -stretch.length_mm):
        for number, cut in enumerate(cuts):
            if _fits((*cut, stretch), longest_log_mm, rules):
                cuts[number] = (*cut, stretch)
                break
        else:
            cuts.append((stretch,))
    return cuts


def _fits(cut: Cut, longest_log_mm: float, rules: CuttingRules) -> bool:
    return len(cut) <= rules.max_pieces_per_log and _needed(cut, rules) <= longest_log_mm + DUST_MM


def _needed(cut: Cut, rules: CuttingRules) -> float:
    return needed_mm([stretch.length_mm for stretch in cut], rules)


def _improved(cuts: list[Cut], longest_log_mm: float, rules: CuttingRules) -> list[Cut]:
    """Every pair of logs cut anew until none gets better; each change lowers the score, so it ends."""
    # A log that is filled by one piece, with room for no other, is what it is.
    shortest = min((stretch.length_mm for cut in cuts for stretch in cut), default=0.0)
    full = [cut for cut in cuts if len(cut) == 1 and _is_full(cut, shortest, longest_log_mm, rules)]
    shared = [cut for cut in cuts if not (len(cut) == 1 and _is_full(cut, shortest, longest_log_mm, rules))]
    is_better = True
    while is_better:
        is_better = False
        for one, other in combinations(range(len(shared)), 2):
            anew = _cut_anew(shared[one], shared[other], longest_log_mm, rules)
            if anew is not None:
                shared = [cut for n, cut in enumerate(shared) if n not in (one, other)] + anew
                is_better = True
                break
    return full + shared


def _is_full(cut: Cut, shortest_mm: float, longest_log_mm: float, rules: CuttingRules) -> bool:
    return needed_mm([cut[0].length_mm, shortest_mm], rules) > longest_log_mm + DUST_MM


def _cut_anew(one: Cut, other: Cut, longest_log_mm: float, rules: CuttingRules) -> list[Cut] | None:
    """The best way to cut these stretches from two logs or one, if it is better than now."""
    stretches = (*one, *other)
    best, least = None, _score([one, other], rules)
    for size in range((len(stretches) + 1) // 2, min(len(stretches), rules.max_pieces_per_log) + 1):
        for chosen in combinations(range(len(stretches)), size):
            tried = [
                tuple(stretches[n] for n in chosen),
                tuple(stretch for n, stretch in enumerate(stretches) if n not in chosen),
            ]
            split = [cut for cut in tried if cut]
            score = _score(split, rules)
            if score < least and all(_fits(cut, longest_log_mm, rules) for cut in split):
                best, least = split, score
    return best


def _score(cuts: Sequence[Cut], rules: CuttingRules) -> tuple[int, int, int]:
    """Fewer logs, then shorter ones, then the room left over gathered in one log. Whole numbers, so that
    float dust is no gain."""
    lengths = [_needed(cut, rules) for cut in cuts]
    classes = sum(round(class_mm(length, rules.class_step_mm) / rules.class_step_mm) for length in lengths)
    return len(cuts), classes, -sum(round(length) ** 2 for length in lengths)
