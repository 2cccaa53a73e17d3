"""How sure a plan is: expected error at the plate from measuring error."""

from dataclasses import replace

import pytest

from planning.core.problem import AsBuilt, Plan
from planning.core.search import make_plan
from planning.core.sure import MeasuringErrors, plate_error, replanned_by_search
from tests.planning.core_problems import (
    a_cabin,
    a_log,
    a_problem,
    a_window,
    one_log_each,
    some_params,
    without,
)

NO_ERROR = MeasuringErrors(diameter_mm=0.0, top_mm=0.0, cut_mm=0.0)


def six_rounds():
    logs = tuple(a_log(f"{n}", middle_mm=340.0 - n, taper_mm=10.0) for n in range(30))
    problem = a_problem(logs=logs, cabin=a_cabin(rounds=6))
    return problem, make_plan(problem, moves=30_000, seed=1).plan


def test_without_measuring_error_the_plate_comes_out_as_planned():
    problem, plan = six_rounds()

    found = plate_error(problem, plan, cabin="K1", errors=NO_ERROR, samples=10)

    planned = make_plan(problem, moves=1, start=plan).report.metrics["max_plate_out_of_level"]
    assert found.mean_mm == pytest.approx(planned, abs=1e-6)


def test_one_wall_log_of_error_only_in_diameter_worked_by_hand():
    # given: one round, four logs; each end's diameter lies near a station, so the tilt of a wall has a
    # standard error of about 5 x sqrt(2) (4 of reading, 3 of the notch), and the worst of four walls is 1.46
    # times that on average
    logs = tuple(a_log(f"{n}", length_mm=3660.0, middle_mm=300.0, taper_mm=0.0) for n in range(4))
    problem = a_problem(logs=logs, cabin=a_cabin(rounds=1))
    plan = Plan(
        problem="small", pieces=tuple(replace(p, from_butt_mm=30.0) for p in one_log_each().pieces[:4])
    )

    found = plate_error(problem, plan, cabin="K1", samples=20_000)

    assert found.mean_mm == pytest.approx(5.0 * 2**0.5 * 1.46, rel=0.05)
    assert found.p90_mm > found.mean_mm


def test_planning_again_and_steering_each_make_the_plate_surer():
    problem, plan = six_rounds()

    plain = plate_error(problem, plan, cabin="K1")
    again = plate_error(problem, plan, cabin="K1", replanned=True)
    steered = plate_error(problem, plan, cabin="K1", replanned=True, band_mm=10.0)

    assert steered.mean_mm < again.mean_mm < plain.mean_mm
    assert (plain.steering_mean_mm, plain.walls_inside) == (0.0, 1.0)
    assert 0.0 < steered.steering_mean_mm <= 10.0
    assert steered.walls_inside > 0.9


def test_a_narrow_band_leaves_ends_outside_it():
    problem, plan = six_rounds()

    narrow = plate_error(problem, plan, cabin="K1", band_mm=1.0)
    wide = plate_error(problem, plan, cabin="K1", band_mm=30.0)

    assert narrow.ends_outside > wide.ends_outside
    assert narrow.walls_inside < wide.walls_inside
    assert narrow.mean_mm > wide.mean_mm


def test_the_notch_limit_holds_steering_back():
    problem, plan = six_rounds()
    free = plate_error(problem, plan, cabin="K1", band_mm=30.0)
    tight = replace(problem, params=some_params(notch_limit=(0.44, 0.46)))

    held = plate_error(tight, plan, cabin="K1", band_mm=30.0)

    assert held.steering_mean_mm < free.steering_mean_mm


def test_rounds_already_measured_bring_only_the_reading_error():
    problem, plan = six_rounds()
    level = {wall: tuple((330.0 * r, 330.0 * r) for r in range(1, 6)) for wall in "ABCD"}
    built = replace(problem, cabins=(replace(problem.cabins[0], as_built=AsBuilt(round=5, tops_mm=level)),))

    left = plate_error(built, plan, cabin="K1", samples=400)

    whole = plate_error(problem, plan, cabin="K1", samples=400)
    assert left.p90_mm - left.mean_mm < 0.7 * (whole.p90_mm - whole.mean_mm)


def test_empty_places_and_windows_and_further_stations_are_taken_as_they_are():
    logs = tuple(a_log(f"{n}", stations=((900.0, 315.0),)) for n in range(9))
    problem = a_problem(logs=logs, cabin=a_cabin(rounds=2, openings=(a_window(),)))
    plan = without(make_plan(problem, moves=2_000).plan, "B", 2)

    assert plate_error(problem, plan, cabin="K1", samples=50, band_mm=10.0).mean_mm > 0


def test_building_once_with_a_search_after_every_round_agrees_with_the_quick_estimate():
    problem, plan = six_rounds()

    plain = replanned_by_search(problem, plan, moves=20_000, samples=6, seed=2)
    steered = replanned_by_search(problem, plan, moves=20_000, samples=6, seed=2, band_mm=10.0)

    quick = plate_error(problem, plan, cabin="K1", replanned=True)
    assert 0.3 * quick.mean_mm < plain.mean_mm < 3.0 * quick.mean_mm
    assert steered.mean_mm < plain.mean_mm
    assert 0.0 <= steered.ends_outside < 0.3
