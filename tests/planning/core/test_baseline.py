"""The two baselines the search is held against."""

import pytest

from planning.core.check import judge
from planning.core.search import make_plan
from tests.planning.core_problems import a_log, a_problem, shared_problem
from tests.tools.planner.baseline import careful_plan, paper_plan


def test_paper_takes_the_biggest_middle_first_and_alternates_butts():
    problem = a_problem()

    plan = paper_plan(problem)

    assert [p.log for p in plan.pieces] == [f"{n}" for n in range(8)]
    assert [p.butt_at for p in plan.pieces if p.wall == "A"] == ["start", "end"]
    assert judge(problem, plan).feasible


def test_paper_leaves_a_place_empty_when_no_log_fits():
    plan = paper_plan(a_problem(logs=(a_log("1"), a_log("2", length_mm=2000.0))))

    assert [p.log for p in plan.pieces] == ["1"]


def test_the_careful_builder_lays_every_round_and_does_better_than_paper():
    problem = shared_problem("S-1")

    careful = judge(problem, careful_plan(problem, moves_per_place=3_000))

    assert careful.complete and careful.errors == []
    assert careful.objective < judge(problem, paper_plan(problem)).objective / 2


@pytest.mark.no_cover  # a large problem, judged often; traced it takes a minute
def test_the_search_does_better_than_the_careful_builder():
    problem = shared_problem("M-1")

    found = make_plan(problem, moves=3_000_000).report

    assert found.objective < 0.8 * judge(problem, careful_plan(problem)).objective
