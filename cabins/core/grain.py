"""Spiral grain: in which part of the wall a twisted log may lie, by named rules that a crew can switch."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cabins.core.sources import ILBA_MEMORY, ILBA_SEEN, Source, SourceMark
from inventory.core.basis import Basis
from inventory.core.chart_line import GrainHand

CAUTION_UNKNOWN = "Nobody looked at this log's grain yet: look at it before the log is chosen for a place."
CAUTION_TWIST = (
    "A twisting log can lift its neighbours off their notches as it dries; local code and licensed practice "
    "decide what may carry a roof."
)


class GrainError(ValueError):
    """A grain, a place or a setting that cannot be judged."""


class SpiralStrength(StrEnum):
    """How strong the spiral is."""

    STRAIGHT = "straight"
    MODERATE = "moderate"
    SEVERE = "severe"
    UNKNOWN = "unknown"


class GrainWeight(StrEnum):
    """What a crew makes of a rule: not asked, said as a warning, or binding."""

    OFF = "off"
    WARN = "warn"
    BIND = "bind"


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainBands:
    """Runs for one across: grain longer than `straight_run` is straight, up to `moderate_run` moderate.

    The limits, 1 in 30 and 1 in 20, are ILBA 2000 Table 2.A, seen, but the copy had lost which hand each
    belongs to: both hands are held to the same limits here (assumption), and a crew may set its own.
    """

    straight_run: float = 30.0
    moderate_run: float = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Grain:
    """Spiral grain as charted: its hand, and its run for one across, 20 for 1 in 20; None: not read."""

    hand: GrainHand | None
    run: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spiral:
    """A log's spiral as the rules see it."""

    hand: GrainHand | None
    band: SpiralStrength

    @property
    def is_twisted(self) -> bool:
        """Whether the grain counts as more than straight."""
        return self.band in (SpiralStrength.MODERATE, SpiralStrength.SEVERE)


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainPlace:
    """What matters of the place: which round of how many, whether the log is cut short or by an opening.

    `cut_share`: share of the diameter that an opening's sill or head takes from the log. `full_notches`: how
    many notches of full depth hold it.
    """

    round: int
    rounds: int
    is_half_log: bool = False
    full_notches: int = 2
    cut_share: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainRule:
    """A named rule: `forbids` tells whether it speaks against a place. `weight` is its default."""

    id: str
    text: str
    source: Source
    weight: GrainWeight
    forbids: Callable[[Spiral, GrainPlace], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainObjection:
    """A rule that speaks against a place."""

    rule: str
    text: str
    source: str
    weight: GrainWeight


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainVerdict:
    """Whether a log may lie in a place as far as its grain goes, and every rule that speaks against it."""

    band: SpiralStrength
    may_lie: bool
    objections: tuple[GrainObjection, ...]
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def _lies_in_lowest(share: float, place: GrainPlace) -> bool:
    return place.round <= math.ceil(place.rounds * share)


def twist_low(spiral: Spiral, place: GrainPlace) -> bool:
    """The more twist, the lower: twisted logs lie in the lower half, held by the weight above."""
    return spiral.is_twisted and not _lies_in_lowest(1 / 2, place)


def twist_two_full_notches(spiral: Spiral, place: GrainPlace) -> bool:
    """A twisted log is held by two full notches at least."""
    return spiral.is_twisted and place.full_notches < 2


def twist_opening_cut(spiral: Spiral, place: GrainPlace) -> bool:
    """An opening takes at most two thirds of a twisted log's diameter."""
    return spiral.is_twisted and place.cut_share > 2 / 3


def left_severe_half_log_only(spiral: Spiral, place: GrainPlace) -> bool:
    """A severe left-hand spiral serves as a half log or in the first round, never as a full wall log."""
    is_severe = spiral.hand is GrainHand.LEFT and spiral.band is SpiralStrength.SEVERE
    return is_severe and not place.is_half_log and place.round > 1


def left_moderate_lowest_third(spiral: Spiral, place: GrainPlace) -> bool:
    """A moderate left-hand spiral lies in the lowest third of the wall."""
    is_moderate = spiral.hand is GrainHand.LEFT and spiral.band is SpiralStrength.MODERATE
    return is_moderate and not _lies_in_lowest(1 / 3, place)


def top_round_straight(spiral: Spiral, place: GrainPlace) -> bool:
    """Only straight grain lies in the top round."""
    return spiral.is_twisted and place.round == place.rounds


def _rule(forbids: Callable[[Spiral, GrainPlace], bool], source: Source, weight: GrainWeight) -> GrainRule:
    text = (forbids.__doc__ or "").strip()
    return GrainRule(id=forbids.__name__, text=text, source=source, weight=weight, forbids=forbids)


# A rule read in its source may bind; one from memory warns until a crew that knows it makes it bind. How low
# is "lower" the source does not say, so that rule warns too.
RULES = {
    rule.id: rule
    for rule in (
        _rule(twist_low, ILBA_SEEN, GrainWeight.WARN),
        _rule(twist_two_full_notches, ILBA_SEEN, GrainWeight.BIND),
        _rule(twist_opening_cut, ILBA_SEEN, GrainWeight.BIND),
        _rule(left_severe_half_log_only, ILBA_MEMORY, GrainWeight.WARN),
        _rule(left_moderate_lowest_third, ILBA_MEMORY, GrainWeight.WARN),
        _rule(top_round_straight, ILBA_MEMORY, GrainWeight.WARN),
    )
}


def grain_band(grain: Grain, *, bands: GrainBands | None = None) -> SpiralStrength:
    """How strong a spiral is; on a band's limit, and where its slope was not written down, the stronger band.

    Without a hand nobody looked at the grain, and nothing can be said of it.
    Raises GrainError for a run below 1 (steeper than 45 degrees) or bands out of order.
    """
    limits = bands or GrainBands()
    if not 1 <= limits.moderate_run <= limits.straight_run < math.inf:
        raise GrainError("bands are runs of 1 or more, that of straight grain the longer")
    if grain.run is not None and not 1 <= grain.run < math.inf:
        raise GrainError(f"{grain.run} is no slope of grain; it is the run for one across, 1 or more")
    if grain.hand is None:
        return SpiralStrength.UNKNOWN
    if grain.hand is GrainHand.STRAIGHT:
        return SpiralStrength.STRAIGHT
    if grain.run is None or grain.run <= limits.moderate_run:
        return SpiralStrength.SEVERE
    return SpiralStrength.MODERATE if grain.run <= limits.straight_run else SpiralStrength.STRAIGHT


def judge_grain(
    grain: Grain,
    place: GrainPlace,
    *,
    switched: Mapping[str, GrainWeight] | None = None,
    bands: GrainBands | None = None,
) -> GrainVerdict:
    """Whether a log of this grain may lie in a place. `switched`: a crew's own weight for named rules.

    Only rules that bind forbid; the others warn. Raises GrainError.
    """
    if not 1 <= place.round <= place.rounds or not 0 <= place.cut_share <= 1 or place.full_notches < 0:
        raise GrainError(f"there is no such place: {place}")
    weights = {rule.id: rule.weight for rule in RULES.values()} | dict(switched or {})
    unknown = sorted(set(weights) - set(RULES))
    if unknown:
        raise GrainError(f"there is no rule of grain named {', '.join(unknown)}")
    spiral = Spiral(hand=grain.hand, band=grain_band(grain, bands=bands))
    objections = tuple(
        GrainObjection(rule=rule.id, text=rule.text, source=str(rule.source), weight=weights[rule.id])
        for rule in RULES.values()
        if weights[rule.id] is not GrainWeight.OFF and rule.forbids(spiral, place)
    )
    return GrainVerdict(
        band=spiral.band,
        may_lie=all(objection.weight is not GrainWeight.BIND for objection in objections),
        objections=objections,
        basis=Basis(
            rule=", ".join(name for name, weight in weights.items() if weight is not GrainWeight.OFF),
            source=f"bands: {ILBA_SEEN}; each rule names its own",
            assumption="both hands are held to the same bands",
        ),
        uncertainty="a slope read on the surface is good to one part in five (common practice, no source); "
        "near a band's limit take the stronger band",
        cautions=(
            *([CAUTION_UNKNOWN] if spiral.band is SpiralStrength.UNKNOWN else []),
            CAUTION_TWIST,
            *_remembered(objections),
        ),
    )


def _remembered(objections: Sequence[GrainObjection]) -> tuple[str, ...]:
    if any(RULES[objection.rule].source.mark is SourceMark.MEMORY for objection in objections):
        return ("Some of these rules were written down from memory; check them against their source.",)
    return ()


def rounds_for_grain(
    grain: Grain,
    *,
    rounds: int,
    switched: Mapping[str, GrainWeight] | None = None,
    bands: GrainBands | None = None,
    heed_warnings: bool = False,
) -> tuple[int, ...]:
    """The rounds a full wall log of this grain may lie in; `heed_warnings`: where nothing speaks against it.

    Raises GrainError.
    """
    verdicts = {
        number: judge_grain(grain, GrainPlace(round=number, rounds=rounds), switched=switched, bands=bands)
        for number in range(1, rounds + 1)
    }
    return tuple(
        number
        for number, verdict in verdicts.items()
        if verdict.may_lie and not (heed_warnings and verdict.objections)
    )
