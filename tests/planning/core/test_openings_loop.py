"""Planning and cutting in turn: until the courses are cut as the plan's own heights have them."""

from dataclasses import dataclass, replace

import pytest

from planning.core.check import Report, judge
from planning.core.files import read_problem, write_problem
from planning.core.openings_loop import (
    TURN_SHARES,
    cut_by_plan,
    share_of_budget,
    take_turns,
    write_courses,
)
from planning.core.places import course_places
from planning.core.planned_openings import planned_openings
from planning.core.problem import ProblemCabin, ProblemOpening, WallPlan, WallProblem
from planning.core.search import make_plan
from tests.planning.core_problems import a_cabin, a_log, a_piece, a_problem, a_window


@dataclass(frozen=True)
class Found:
    plan: WallPlan
    report: Report
    moves: int = 10
    seconds: float = 0.5
    searched: bool = True


def whole(cabin: ProblemCabin) -> ProblemCabin:
    """The cabin with every course whole so far, cut from now on where more than half of a log is taken."""
    spans = tuple(((-300.0, 3300.0),) for _ in range(cabin.rounds))
    return replace(cabin, courses_mm={wall.id: spans for wall in cabin.walls}, cut_share=0.5)


def even_problem(opening: ProblemOpening, *, rounds: int = 3) -> WallProblem:
    """Twenty even logs of 300: course n of a low wall lies from 313 n - 300 to 313 n."""
    logs = tuple(a_log(f"{n}", middle_mm=300.0, taper_mm=0.0) for n in range(20))
    return a_problem(logs=logs, cabin=whole(a_cabin(rounds=rounds, openings=(opening,))))


def planned_once(problem: WallProblem) -> Found:
    """A log in every place, without a search."""
    pieces, number = [], 0
    for cabin in problem.cabins:
        for wall in cabin.walls:
            for r in range(1, cabin.rounds + 1):
                for n, _ in enumerate(course_places(cabin, wall, r, problem.params)):
                    pieces.append(a_piece(wall.id, r, f"{number}", piece=n))
                    number += 1
    plan = WallPlan(problem=problem.name, pieces=tuple(pieces))
    return Found(plan=plan, report=judge(problem, plan))


def test_a_course_of_which_the_plans_heights_give_more_than_half_is_cut_and_planned_again():
    # The hole from 320 to 900: of round 2 (326 to 626) all, of round 3 (639 to 939) 261 of 300.
    problem = even_problem(a_window(sill_mm=320.0, head_mm=820.0, space_mm=80.0))
    seen = []

    def make(cut: WallProblem, start: WallPlan | None, turn: int) -> Found:
        seen.append((turn, cut.cabins[0].courses_mm["A"], start is None))
        return planned_once(cut)

    turns = take_turns(problem, make)

    cut = ((-300.0, 1000.0), (1900.0, 3300.0))
    assert [courses for _, courses, _ in seen] == [
        (((-300.0, 3300.0),),) * 3,
        (((-300.0, 3300.0),), cut, cut),
    ]
    assert [is_first for _, _, is_first in seen] == [True, False]
    assert (turns.turns, turns.agree, turns.moves, turns.seconds) == (2, True, 20, 1.0)
    assert write_courses(turns.problem)["K1"]["A"][1] == [[-300.0, 1000.0], [1900.0, 3300.0]]


def test_a_log_of_which_less_is_taken_stays_whole_and_is_cut_into():
    # Up to 739: 100 of round 3.
    problem = even_problem(a_window(sill_mm=320.0, head_mm=659.0, space_mm=80.0))

    turns = take_turns(problem, lambda cut, *_: planned_once(cut))
    (window,) = planned_openings(turns.problem, turns.plan, turns.report)

    assert window.fit.through == (2,)
    assert window.fit.sill.infill_mm == (pytest.approx(7), pytest.approx(7))
    assert window.fit.header is not None
    assert window.fit.header.cut_mm == (pytest.approx(100), pytest.approx(100))


def test_a_course_with_a_pinned_piece_stays_as_it_is_cut():
    problem = even_problem(a_window(sill_mm=320.0, head_mm=820.0, space_mm=80.0))
    problem = replace(problem, pinned=(a_piece("A", 2, "19"),))

    cut = cut_by_plan(problem, planned_once(problem).plan, planned_once(problem).report)

    assert len(cut.cabins[0].courses_mm["A"][1]) == 1
    assert len(cut.cabins[0].courses_mm["A"][2]) == 2


def test_planning_ends_after_the_last_turn_even_if_courses_and_heights_never_agree():
    problem = even_problem(a_window(sill_mm=320.0, head_mm=820.0, space_mm=80.0))
    whole_again = problem.cabins[0].courses_mm

    def make(cut: WallProblem, start: WallPlan | None, turn: int) -> Found:
        # A plan whose heights turn with every turn: thin logs where the courses were cut.
        is_cut = cut.cabins[0].courses_mm != whole_again
        logs = tuple(
            replace(log, butt_mm=d, middle_mm=d, tip_mm=d)
            for log in cut.logs
            for d in [150.0 if is_cut else 300.0]
        )
        thin = replace(cut, logs=logs)
        return Found(plan=planned_once(thin).plan, report=planned_once(thin).report)

    turns = take_turns(problem, make)

    assert turns.turns <= len(TURN_SHARES)


def test_a_problem_that_names_no_share_is_planned_once():
    problem = a_problem(cabin=a_cabin(rounds=3, openings=(a_window(),)))

    turns = take_turns(problem, lambda cut, *_: planned_once(cut))

    assert (turns.turns, turns.agree, turns.problem) == (1, True, problem)


def test_the_turns_share_the_budget_and_the_first_takes_most():
    assert sum(TURN_SHARES) == pytest.approx(1.0)
    assert share_of_budget(0, moves=1000, seconds=10.0) == (550, 5.5)
    assert share_of_budget(4, moves=None, seconds=10.0) == (None, 0.5)


def test_the_file_keeps_share_and_threshold():
    door = a_window(kind="door", threshold="flattened", flatten_mm=40.0, space_mm=90.0)
    problem = even_problem(door)

    again = read_problem(write_problem(problem))

    assert again.cabins[0].cut_share == 0.5
    assert again.cabins[0].openings == (door,)
    assert again.cabins[0].courses_mm == problem.cabins[0].courses_mm


def test_a_searched_plan_agrees_with_its_own_courses():
    logs = tuple(a_log(f"{n}", middle_mm=340.0 - 3 * n, taper_mm=8.0) for n in range(30))
    opening = a_window(sill_mm=500.0, head_mm=1150.0, space_mm=60.0)
    problem = a_problem(logs=logs, cabin=whole(a_cabin(rounds=5, openings=(opening,))))

    def make(cut: WallProblem, start: WallPlan | None, turn: int) -> object:
        return make_plan(cut, moves=20_000, seed=3, start=start)

    turns = take_turns(problem, make)  # type: ignore[arg-type]

    assert turns.agree
    assert turns.report.complete
    (window,) = planned_openings(turns.problem, turns.plan, turns.report)
    edges = [window.fit.sill, window.fit.header]
    assert all(edge is not None and edge.share <= 0.55 for edge in edges)
