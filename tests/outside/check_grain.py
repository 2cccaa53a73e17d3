"""Rules of spiral grain against the standard they were read in."""

from itertools import pairwise

from cabins.core.grain import Grain, GrainPlace, judge_grain, rounds_for_grain
from inventory.core.chart_line import GrainHand
from tests.outside.registry import Compared, against, outside_check, rows_of, within

FINEST_RUN = 0.01


@outside_check(
    what="Limits of spiral grain: bands, full notches, cut at an opening",
    source="ILBA Log Building Standards 2000, section 2.A",
    mark="seen",
    kind="same table",
    unit="as given",
    limit=0.001,
)
def limits_of_grain() -> list[Compared]:
    """Where our verdict changes, found by trying, is where the standard says it does."""
    theirs = {row["id"]: float(row["value"]) for row in rows_of("grain.csv")}
    runs = [number * FINEST_RUN for number in range(100, 5_000)]
    bands = [judge_grain(_right(run), GrainPlace(round=1, rounds=9)).band.value for run in runs]
    held = [n for n in range(5) if _may_lie(GrainPlace(round=1, rounds=9, full_notches=n))]
    cuts = [
        n / 10_000 for n in range(10_001) if _may_lie(GrainPlace(round=1, rounds=9, cut_share=n / 10_000))
    ]
    return [
        against("straight beyond", ours=runs[bands.index("straight") - 1], theirs=theirs["spiral_straight"]),
        against("moderate beyond", ours=runs[bands.index("moderate") - 1], theirs=theirs["spiral_moderate"]),
        against("full notches", ours=min(held), theirs=theirs["spiral_full_notches"]),
        against("cut at an opening", ours=max(cuts), theirs=theirs["spiral_opening_cut_max"]),
    ]


@outside_check(
    what="The more twist, the lower in the wall: rounds more that straighter grain may lie in",
    source="ILBA Log Building Standards 2000, commentary 2.A.4",
    mark="seen",
    kind="same table",
    unit="rounds",
    limit=0.0,
)
def twist_lies_low() -> list[Compared]:
    """Of two logs the more twisted one never may lie higher. Right-hand: no remembered rule decides there."""
    highest = [
        max(rounds_for_grain(_right(run), rounds=12, heed_warnings=True)) for run in (10, 15, 22, 28, 35, 60)
    ]
    return [
        within(f"log {number + 1} against log {number}", ours=float(lower), low=0.0, high=float(higher))
        for number, (lower, higher) in enumerate(pairwise(highest), 1)
    ]


def _right(run: float) -> Grain:
    return Grain(hand=GrainHand.RIGHT, run=run)


def _may_lie(place: GrainPlace) -> bool:
    return judge_grain(_right(25), place).may_lie
