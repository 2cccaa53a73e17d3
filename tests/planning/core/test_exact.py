"""The proven optimum of the smallest cabins, and what must hold for it."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.core.problem import ProblemHazard, WallProblem
from planning.core.search import make_plan
from tests.planning.core_problems import a_cabin, a_log, a_problem, a_window, shared_problem, some_params
from tests.tools.planner.exact import NotSuited, prove_two_rounds


def proven(problem: WallProblem) -> float:
    found = make_plan(problem, moves=300_000, seed=1).report
    assert found.feasible
    return prove_two_rounds(problem, upper=found.objective).optimum


def a_yard(draw_middles: list[int], **more):
    return tuple(
        a_log(f"{n}", length_mm=3654.0 + 6 * (n % 4), middle_mm=float(m), taper_mm=5.0 + 2 * (n % 3), **more)
        for n, m in enumerate(draw_middles)
    )


MIDDLES = st.lists(st.integers(300, 340), min_size=8, max_size=9, unique=True)


def test_the_search_reaches_the_proven_optimum_of_the_smallest_cabin():
    problem = shared_problem("tiny2-1")
    found = make_plan(problem, moves=3_000_000, seed=4).report

    proof = prove_two_rounds(problem, upper=found.objective)

    assert proof.optimum == pytest.approx(269.4226, abs=1e-3)
    assert found.objective == pytest.approx(proof.optimum, abs=0.01)
    assert 0 < proof.programs < proof.pairs_of_walls


def test_a_bound_too_low_leaves_no_plan():
    proof = prove_two_rounds(shared_problem("tiny2-1"), upper=200.0)

    assert proof.optimum == float("inf")


@settings(max_examples=3, deadline=None)
@given(middles=MIDDLES, more=st.integers(300, 340))
def test_one_more_log_in_the_yard_never_makes_the_optimum_worse(middles, more):
    few, many = a_problem(logs=a_yard(middles)), a_problem(logs=a_yard([*middles, more]))

    assert proven(many) <= proven(few) + 1e-6


@settings(max_examples=2, deadline=None)
@given(middles=MIDDLES)
def test_a_cabin_and_its_mirror_image_have_the_same_optimum(middles):
    problem = a_problem(logs=a_yard(middles))
    walls = tuple(replace(w, corners=(w.corners[1], w.corners[0])) for w in problem.cabins[0].walls)
    mirrored = replace(problem, cabins=(replace(problem.cabins[0], walls=walls),))

    assert proven(mirrored) == pytest.approx(proven(problem), abs=1e-6)


def test_metal_knots_culls_and_further_stations_are_weighed_in_the_proof_as_by_the_judge():
    hazards = {
        0: (ProblemHazard(from_butt_mm=700.0, kind="metal"),),
        1: (ProblemHazard(from_butt_mm=640.0, kind="knot"), ProblemHazard(from_butt_mm=1800.0, kind="knot")),
    }
    logs = tuple(
        replace(
            log,
            hazards=hazards.get(n, ()),
            culled=n == 2,
            crown_mm=18.0 if n == 3 else 0.0,
            stations=((1200.0, log.middle_mm + 4.0),) if n == 4 else (),
        )
        for n, log in enumerate(a_yard([330, 328, 326, 324, 322, 320, 318, 316, 314]))
    )
    problem = a_problem(logs=logs, params=some_params(cull_longest_mm=5000.0))

    found = make_plan(problem, moves=2_000_000, seed=1).report

    assert found.objective == pytest.approx(
        prove_two_rounds(problem, upper=found.objective).optimum, abs=0.02
    )


def test_metal_everywhere_and_culls_too_long_leave_logs_out():
    spoiled = tuple(ProblemHazard(from_butt_mm=x, kind="metal") for x in range(100, 3800, 300))
    logs = (
        *a_yard([331, 328, 326, 323, 322, 320, 317, 315]),
        a_log("8", hazards=spoiled),
        a_log("9", culled=True),
        a_log("10", length_mm=3000.0),
    )
    problem = a_problem(logs=logs, params=some_params(cull_longest_mm=1000.0))
    without = replace(problem, logs=logs[:8])

    assert proven(problem) == pytest.approx(proven(without), abs=1e-6)


@pytest.mark.parametrize(
    "problem",
    [
        a_problem(cabin=a_cabin(rounds=3)),
        a_problem(cabin=a_cabin(openings=(a_window(),))),
        a_problem(excluded=frozenset({"1"})),
        a_problem(logs=tuple(a_log(f"{n}", length_mm=7400.0) for n in range(9))),
    ],
)
def test_other_cabins_are_not_proven(problem):
    with pytest.raises(NotSuited):
        prove_two_rounds(problem, upper=1000.0)
