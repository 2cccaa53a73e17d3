"""Named sets of weights with what each is for, and the trade-off between them on one problem."""

from __future__ import annotations

from dataclasses import dataclass, replace

from planning.core.check import judge
from planning.core.problem import WallProblem, Weights

MEANING: dict[str, str] = {
    "level": "A millimetre that a wall's two ends differ after a round; rounds higher up count more.",
    "level_plate": "A millimetre that a wall's two ends differ after the last round, which carries the roof.",
    "corner": "A millimetre by which the high wall at a corner is not half a round above the low one.",
    "plate_spread": "A millimetre between highest and lowest end at the top, of low and of high walls.",
    "big_low": "A millimetre by which a round is thicker on average than the round below it.",
    "crown": "A millimetre that a piece bows beyond its limit, stricter in the first and last round.",
    "knot": "A large knot at a notch or cut.",
    "notch": "A millimetre that a notch is shallower or deeper than a good one.",
    "jamb": "A millimetre, beyond the tolerance, that an end at an opening is off its course's line.",
    "waste": "A millimetre of a used log that ends in no piece.",
    "culled": "A culled log used.",
    "short": "A place left empty.",
    "short_per_mm": "A millimetre of length of a place left empty.",
    "hard": "A notch beyond its limit, which makes the plan unfit.",
    "keep": "A piece of the plan in force that gets another log; less when turned or cut elsewhere, more "
    "when it is due soon or prepared.",
    "alternate": "A course whose butt lies over the butt of the course below it.",
    "late_level": "A millimetre that a wall's two ends differ after each of the last three rounds.",
    "long": "A metre by which the longest piece of a log is shorter than the longest it could be, by how "
    "much such logs are needed; three times that where some are to be left over.",
    "opening": "A millimetre that the log below or above a hole is off the sill or head asked for.",
    "grain": "A spiral log in the top round; lower rounds count less, straight grain nothing.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Preset:
    """A named set of weights and the job it is for."""

    name: str
    meaning: str
    weights: Weights


USUAL = Weights(
    level=1.0,
    level_plate=4.0,
    corner=0.5,
    plate_spread=2.0,
    big_low=2.0,
    crown=0.5,
    knot=20.0,
    notch=1.0,
    jamb=0.3,
    waste=0.005,
    culled=100.0,
    short=2000.0,
    short_per_mm=0.5,
    hard=1000.0,
    keep=5.0,
    alternate=3.0,
    late_level=0.5,
    long=5.0,
    opening=0.5,
)

PRESETS: tuple[Preset, ...] = (
    Preset(
        name="usual",
        meaning="Level walls, butts that change ends, thick logs low; gives up some wood. For most cabins.",
        weights=USUAL,
    ),
    Preset(
        name="level",
        meaning="Level and even corners before everything; gives up wood. For heavy roofs, learners' walls.",
        weights=replace(USUAL, level=2.0, level_plate=8.0, corner=1.0, plate_spread=4.0, waste=0.002),
    ),
    Preset(
        name="thrifty",
        meaning="Little waste and few logs; gives up level and even corners. When the yard is short.",
        weights=replace(USUAL, waste=0.03),
    ),
    Preset(
        name="easy_lifting",
        meaning="Thick logs low, straight ones at sill and plate; gives up level. When lifting is by hand.",
        weights=replace(USUAL, big_low=8.0, crown=1.0),
    ),
    Preset(
        name="fine_joints",
        meaning="Even notches and flush jambs; gives up level and wood. When they stay in sight.",
        weights=replace(USUAL, notch=3.0, jamb=1.0, corner=1.0, knot=40.0),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeOff:
    """What a plan made with one preset comes to, in the figures a lead weighs; all judged alike."""

    preset: str
    usual_objective: float
    feasible: bool
    worst_plate_mm: float
    mean_level_mm: float
    mean_corner_mm: float
    waste_pct: float
    logs_used: int
    notches_off: int


def trade_offs(
    problem: WallProblem, *, moves: int, seed: int = 0, presets: tuple[Preset, ...] = PRESETS
) -> list[TradeOff]:
    """One plan per preset, the same moves for each, side by side."""
    from planning.core.search import make_plan

    rows = []
    for preset in presets:
        asked = replace(problem, params=replace(problem.params, weights=preset.weights))
        plan = make_plan(asked, moves=moves, seed=seed).plan
        report = judge(problem, plan, weights=USUAL)
        levels = [
            abs(heights.top_mm[wall.id, r, 0] - heights.top_mm[wall.id, r, 1])
            for cabin in problem.cabins
            for heights in (report.heights[cabin.id],)
            for wall in cabin.walls
            for r in range(1, cabin.rounds + 1)
        ]
        rows.append(
            TradeOff(
                preset=preset.name,
                usual_objective=report.objective,
                feasible=report.feasible,
                worst_plate_mm=report.metrics["max_plate_out_of_level"],
                mean_level_mm=sum(levels) / len(levels),
                mean_corner_mm=report.metrics["mean_corner_mismatch"],
                waste_pct=report.metrics["waste_pct"],
                logs_used=int(report.metrics["logs_used"]),
                notches_off=int(report.metrics["notch_off"]),
            )
        )
    return rows
