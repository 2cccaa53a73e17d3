"""How openings fall in plans: courses cut by the plan's own heights beside courses cut by a nominal pitch."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from random import Random

from cabins.core.courses import settling_space_mm
from cabins.core.expected import middles_by_round
from cabins.core.layout_parts import Opening as LaidOpening
from cabins.core.layout_parts import OpeningKind
from cabins.core.openings import CUT_SHARE, HYSTERESIS, NOTHING_MM, OpeningFit
from cabins.core.settling_rules import RULES, USUAL_RULE
from planning.core.heights import heights_of
from planning.core.openings_loop import Made, Turns, cut_courses, take_turns
from planning.core.places import columns_mm
from planning.core.planned_openings import planned_openings
from planning.core.problem import ProblemCabin, ProblemLog, ProblemOpening, ProblemWall, WallPlan, WallProblem
from planning.core.problem_builder import USUAL_PARAMS

# A hole may be off by so much without a word; beyond it the sheet names the cut or the infill.
UNTOLD_MM = 10.0

Make = Callable[[WallProblem, WallPlan | None, int], Made]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningRow:
    """One opening of one cabin as it was planned, in mm: the most at a jamb.

    `nominal_*`: the same opening where the courses were cut by the nominal pitch; `deepest_share`: the most
    of a whole log's height that is cut away.
    """

    problem: str
    cabin: str
    opening: str
    turns: int
    asked_mm: float
    hole_mm: float
    sill_cut_mm: float
    header_cut_mm: float
    infill_mm: float
    deepest_share: float
    nominal_hole_mm: float
    nominal_infill_mm: float
    nominal_share: float

    @property
    def is_told(self) -> bool:
        """Whether the hole is as asked, or what it has over is named as infill."""
        return abs(self.hole_mm - self.asked_mm - self.infill_mm) <= UNTOLD_MM

    @property
    def is_sound(self) -> bool:
        """Whether no whole log is cut deeper than its share, as far as the hysteresis goes."""
        return self.deepest_share <= CUT_SHARE + HYSTERESIS + 1e-6


def opening_rows(problem: WallProblem, make: Make) -> list[OpeningRow]:
    """Every opening of a problem planned in turns, and beside it as one plan by the nominal pitch has it."""
    spaced = with_spaces(problem)
    turns = take_turns(cut_as_expected(_priced(spaced)), make)
    nominal = cut_by_pitch(spaced)
    once = make(nominal, None, 0)
    by_heights = planned_openings(turns.problem, turns.plan, turns.report)
    by_pitch = planned_openings(nominal, once.plan, once.report)
    return [
        _row(
            problem.name,
            turns,
            one.cabin,
            f"{one.opening.kind} {one.number + 1}, wall {one.wall}",
            one.fit,
            other.fit,
        )
        for one, other in zip(by_heights, by_pitch, strict=True)
    ]


def _row(
    problem: str, turns: Turns, cabin: str, opening: str, fit: OpeningFit, nominal: OpeningFit
) -> OpeningRow:
    return OpeningRow(
        problem=problem,
        cabin=cabin,
        opening=opening,
        turns=turns.turns,
        asked_mm=fit.asked_mm,
        hole_mm=max(fit.hole_mm),
        sill_cut_mm=max(fit.sill.cut_mm),
        header_cut_mm=max(fit.header.cut_mm) if fit.header else 0.0,
        infill_mm=_infill_mm(fit),
        deepest_share=_deepest(fit),
        nominal_hole_mm=max(nominal.hole_mm),
        nominal_infill_mm=_infill_mm(nominal),
        nominal_share=_deepest(nominal),
    )


def _infill_mm(fit: OpeningFit) -> float:
    over = [fit.sill.infill_mm[n] + (fit.header.infill_mm[n] if fit.header else 0.0) for n in (0, 1)]
    at = 0 if fit.hole_mm[0] >= fit.hole_mm[1] else 1
    return over[at] if over[at] > NOTHING_MM else 0.0


def _deepest(fit: OpeningFit) -> float:
    return max(fit.sill.share, fit.header.share if fit.header else 0.0)


def with_spaces(problem: WallProblem) -> WallProblem:
    """The problem with settling space over its openings by the usual rule, where it names none."""
    return replace(
        problem,
        cabins=tuple(
            replace(cabin, openings=tuple(_spaced(one) for one in cabin.openings)) for cabin in problem.cabins
        ),
    )


def _spaced(opening: ProblemOpening) -> ProblemOpening:
    if opening.space_mm:
        return opening
    laid = LaidOpening(
        id="",
        kind=OpeningKind.DOOR if opening.kind == "door" else OpeningKind.WINDOW,
        wall=opening.wall,
        offset_mm=opening.offset_mm,
        width_mm=opening.width_mm,
        sill_mm=opening.sill_mm,
        head_mm=opening.head_mm,
    )
    return replace(opening, space_mm=settling_space_mm(laid, RULES[USUAL_RULE]))


def _priced(problem: WallProblem) -> WallProblem:
    """The problem with the usual price of cutting and filling at openings, where it names none."""
    weights = problem.params.weights
    priced = replace(weights, opening=weights.opening or USUAL_PARAMS.weights.opening)
    return replace(problem, params=replace(problem.params, weights=priced))


def cut_by_pitch(problem: WallProblem) -> WallProblem:
    """The problem with its courses cut by the nominal pitch."""
    cabins = tuple(replace(cabin, courses_mm={}, cut_share=None) for cabin in problem.cabins)
    return replace(problem, cabins=cabins)


def cut_as_expected(problem: WallProblem) -> WallProblem:
    """The problem with its courses cut by the heights expected of its logs, thickest low."""
    middles = [log.middle_mm for log in problem.logs if not log.culled]
    return replace(
        problem,
        cabins=tuple(
            replace(cabin, cut_share=CUT_SHARE, courses_mm=_expected(problem, cabin, middles))
            for cabin in problem.cabins
        ),
    )


def _expected(
    problem: WallProblem, cabin: ProblemCabin, middles_mm: list[float]
) -> dict[str, tuple[tuple[tuple[float, float], ...], ...]]:
    rounds = middles_by_round(middles_mm, cabin.rounds)
    diameters = {
        (wall.id, r, n): rounds[r - 1]
        for wall in cabin.walls
        for r in range(1, cabin.rounds + 1)
        for n in range(len(columns_mm(cabin, wall)))
    }
    return cut_courses(
        problem,
        replace(cabin, cut_share=CUT_SHARE),
        heights_of(cabin, diameters),
        pieces={},
        logs={},
        is_new=True,
    )


def made_up_problems(count: int, *, seed: int) -> Iterable[WallProblem]:
    """Rectangles of random size, logs and openings: a door and two windows each, from a seed."""
    chance = Random(seed)
    for number in range(count):
        yield _made_up(chance, f"made up {number + 1}")


def _made_up(chance: Random, name: str) -> WallProblem:
    along, across = chance.uniform(4000, 7000), chance.uniform(3500, 6000)
    middle, gap, rounds = chance.uniform(230, 340), chance.uniform(-20, 20), chance.randint(8, 10)
    walls = tuple(
        ProblemWall(
            id=wall,
            length_mm=along if n % 2 == 0 else across,
            overhangs_mm=(350.0, 350.0),
            start="low" if n % 2 == 0 else "high",
            corners=(n, (n + 1) % 4),
        )
        for n, wall in enumerate("ABCD")
    )
    height = rounds * (middle + gap)
    openings = [_made_up_opening(chance, "door", "A", along, (0.0, 0.25 * middle), 0.78 * height)]
    for wall, length in (("B", across), ("C", along)):
        sill = chance.uniform(0.2, 0.4) * height
        openings.append(
            _made_up_opening(chance, "window", wall, length, (sill, sill), chance.uniform(0.6, 0.78) * height)
        )
    cabin = ProblemCabin(
        id="K1", rounds=rounds, gap_mm=gap, pitch_mm=middle + gap, walls=walls, openings=tuple(openings)
    )
    logs = tuple(
        _made_up_log(chance, f"{n}", middle, max(along, across) + 900.0) for n in range(4 * rounds + 12)
    )
    return WallProblem(name=name, params=USUAL_PARAMS, cabins=(cabin,), logs=logs)


def _made_up_opening(
    chance: Random, kind: str, wall: str, length: float, sill: tuple[float, float], head: float
) -> ProblemOpening:
    width = chance.uniform(700, 1200)
    return ProblemOpening(
        kind=kind,
        wall=wall,
        offset_mm=chance.uniform(400, length - width - 400),
        width_mm=width,
        sill_mm=chance.uniform(*sill),
        head_mm=head,
    )


def _made_up_log(chance: Random, name: str, middle: float, length: float) -> ProblemLog:
    own = middle * chance.uniform(0.88, 1.12)
    return ProblemLog(
        id=name,
        length_mm=length + chance.uniform(0, 600),
        butt_mm=own + chance.uniform(10, 30),
        middle_mm=own,
        tip_mm=own - chance.uniform(8, 22),
        crown_mm=chance.uniform(0, 20),
    )
