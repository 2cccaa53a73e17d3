"""Counts stretches into logs: short pieces share a log, and every log falls into a length class.

Lengths in mm. The rules are the planner's: a piece keeps the trim from the log's ends, two pieces of one log
lie two trims and a saw's kerf apart, and a log gives only so many pieces.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from inventory.core.crew_units import Sentence
from planning.core.takeoff.needs import DUST_MM, NeededStretch, without_dust

# So many pairs are tried in vain before what was found is taken: far more than a real cabin has.
MOST_PAIRS = 5_000

Cut = tuple[NeededStretch, ...]


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
    return without_dust(max(1, math.ceil((length_mm - DUST_MM) / step_mm)) * step_mm)


def cut_into_logs(
    stretches: Sequence[NeededStretch], *, longest_log_mm: float, rules: CuttingRules
) -> list[Cut]:
    """Which stretches that may share a log do: as few logs as this finds, then as short ones as it finds.

    The longest stretch first into the first log with room for it; then any two logs are cut anew as long as
    that saves a log or a length class. Raises TooLong.
    """
    for stretch in stretches:
        alone = needed_mm([stretch.length_mm], rules)
        if alone > longest_log_mm + DUST_MM:
            raise TooLong(
                Sentence(
                    "a piece of {piece:along} takes a log of {log:along} with its trim; the longest log is "
                    "{longest:along}",
                    piece=stretch.length_mm,
                    log=alone,
                    longest=longest_log_mm,
                )
            )
    own: list[Cut] = [(stretch,) for stretch in stretches if not stretch.may_share]
    sharing = [stretch for stretch in stretches if stretch.may_share]
    if not sharing:
        return own
    bench = _Bench(
        rules=rules,
        longest_log_mm=longest_log_mm,
        shortest_mm=min(stretch.length_mm for stretch in sharing),
    )
    open_cuts, full = _first_fit_decreasing(sharing, bench)
    return own + full + _improved(open_cuts, bench)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bench:
    """What decides whether pieces go together into a log; `shortest_mm` is the shortest piece of all."""

    rules: CuttingRules
    longest_log_mm: float
    shortest_mm: float

    def fits(self, lengths_mm: Sequence[float]) -> bool:
        return (
            len(lengths_mm) <= self.rules.max_pieces_per_log
            and needed_mm(lengths_mm, self.rules) <= self.longest_log_mm + DUST_MM
        )


def _lengths(cut: Cut) -> list[float]:
    return [stretch.length_mm for stretch in cut]


def _first_fit_decreasing(stretches: Sequence[NeededStretch], bench: _Bench) -> tuple[list[Cut], list[Cut]]:
    """Logs of several pieces or with room for one more, and logs that one piece fills."""
    cuts: list[Cut] = []
    full: list[Cut] = []
    for stretch in sorted(stretches, key=lambda stretch: -stretch.length_mm):
        if not bench.fits([stretch.length_mm, bench.shortest_mm]):
            full.append((stretch,))
            continue
        for number, cut in enumerate(cuts):
            if bench.fits([*_lengths(cut), stretch.length_mm]):
                cuts[number] = (*cut, stretch)
                break
        else:
            cuts.append((stretch,))
    return cuts, full


def _improved(cuts: list[Cut], bench: _Bench) -> list[Cut]:
    """Pairs of logs cut anew until none gets better; each change lowers the score, so it ends."""
    tried: set[tuple[tuple[float, ...], tuple[float, ...]]] = set()
    is_better = True
    while is_better:
        is_better = False
        for one, other in combinations(range(len(cuts)), 2):
            pair = (tuple(_lengths(cuts[one])), tuple(_lengths(cuts[other])))
            if pair in tried or not all(pair) or len(tried) >= MOST_PAIRS:
                continue
            anew = _cut_anew(cuts[one], cuts[other], bench)
            if anew is None:
                tried.add(pair)
            else:
                cuts[one], cuts[other] = anew
                is_better = True
    return [cut for cut in cuts if cut]


def _cut_anew(one: Cut, other: Cut, bench: _Bench) -> tuple[Cut, Cut] | None:
    """The best way to cut these stretches from two logs, or one and none, if it is better than now."""
    stretches = (*one, *other)
    best, least = None, _score((one, other), bench.rules)
    for size in range((len(stretches) + 1) // 2, min(len(stretches), bench.rules.max_pieces_per_log) + 1):
        for chosen in combinations(range(len(stretches)), size):
            split = (
                tuple(stretches[n] for n in chosen),
                tuple(stretch for n, stretch in enumerate(stretches) if n not in chosen),
            )
            score = _score(split, bench.rules)
            if score < least and all(bench.fits(_lengths(cut)) for cut in split):
                best, least = split, score
    return best


def _score(cuts: Sequence[Cut], rules: CuttingRules) -> tuple[int, int, int]:
    """Fewer logs, then shorter ones, then the room left over gathered in one log. Whole numbers, so that
    float dust is no gain."""
    lengths = [needed_mm(_lengths(cut), rules) for cut in cuts if cut]
    classes = sum(round(class_mm(length, rules.class_step_mm) / rules.class_step_mm) for length in lengths)
    return len(lengths), classes, -sum(round(length) ** 2 for length in lengths)
