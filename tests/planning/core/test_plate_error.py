"""How sure a plan is: expected error at the plate from errors of reading and cutting; whole seasons."""

from dataclasses import replace

import pytest

from planning.core.plate_error import Estimate, MeasuringErrors, Readings, plate_error
from planning.core.problem import AsBuilt, ProblemSillFlat, WallPlan
from planning.core.search import make_plan
from tests.planning.core_problems import (
    a_cabin,
    a_log,
    a_problem,
    a_window,
    one_log_each,
    some_params,
    without,
)
from tests.tools.planner.seasons import CrewHabits, simulate_seasons

NO_ERROR = MeasuringErrors(diameter_mm=0.0, top_mm=0.0, cut_mm=0.0)
USUAL = MeasuringErrors()


def six_rounds(band_mm=(10.0, 10.0)):
    logs = tuple(a_log(f"{n}", middle_mm=340.0 - n, taper_mm=10.0) for n in range(30))
    house = a_cabin(rounds=6)
    house = replace(house, gap_band_mm=(house.gap_mm - band_mm[0], house.gap_mm + band_mm[1]))
    problem = a_problem(logs=logs, cabin=house)
    return problem, make_plan(problem, moves=30_000, seed=1).plan


def with_band(problem, below_mm, above_mm):
    [house] = problem.cabins
    band = (house.gap_mm - below_mm, house.gap_mm + above_mm)
    return replace(problem, cabins=(replace(house, gap_band_mm=band),))


@pytest.mark.parametrize("steered", [False, True])
def test_without_errors_the_plate_comes_out_as_planned(steered):
    problem, plan = six_rounds()

    found = plate_error(problem, plan, cabin="K1", errors=NO_ERROR, samples=10, steered=steered, tries=0)

    planned = make_plan(problem, moves=1, start=plan).report.metrics["max_plate_out_of_level"]
    assert found.mean_mm == pytest.approx(planned, abs=1e-6)


def test_one_wall_log_of_error_only_in_diameter_worked_by_hand():
    # given: one round, four logs; each end's diameter lies near a station, so the tilt of a wall has a
    # standard error of about 5 x sqrt(2) (4 of reading, 3 of the notch), and the worst of four walls is 1.46
    # times that on average
    logs = tuple(a_log(f"{n}", length_mm=3660.0, middle_mm=300.0, taper_mm=0.0) for n in range(4))
    problem = a_problem(logs=logs, cabin=a_cabin(rounds=1))
    plan = WallPlan(
        problem="small", pieces=tuple(replace(p, from_butt_mm=30.0) for p in one_log_each().pieces[:4])
    )

    found = plate_error(problem, plan, cabin="K1", samples=20_000)

    assert found.mean_mm == pytest.approx(5.0 * 2**0.5 * 1.46, rel=0.05)
    assert found.p90_mm > found.mean_mm


def test_perfect_readings_leave_what_the_last_cut_misses_worked_by_hand():
    # given: tops read without error, no notch limit in the way, the plate logs laid once: at each end only
    # the last cut's 3 mm is left, sqrt(2) of it in a wall's tilt and 1.46 times that in the worst of four
    problem, plan = six_rounds(band_mm=(200.0, 200.0))
    problem = replace(problem, params=some_params(notch_limit=(0.0, 1.0)))

    found = plate_error(problem, plan, cabin="K1", errors=replace(USUAL, top_mm=0.0), tries=0, samples=20_000)

    assert found.mean_mm == pytest.approx(3.0 * 2**0.5 * 1.46, rel=0.06)


def test_steering_trying_again_and_reading_better_each_make_the_plate_surer():
    problem, plan = six_rounds()

    def mean(**how):
        return plate_error(problem, plan, cabin="K1", **how).mean_mm

    unsteered, once, tried = mean(steered=False), mean(tries=0), mean()
    twice = mean(readings=Readings(last_rounds=2))
    by_level = mean(errors=replace(USUAL, top_mm=1.0))
    assert by_level < twice < tried < once < unsteered


def test_a_cabin_whose_gap_has_no_band_is_not_steered():
    problem, plan = six_rounds(band_mm=(0.0, 0.0))

    found = plate_error(problem, plan, cabin="K1")

    assert found == plate_error(problem, plan, cabin="K1", steered=False)
    assert (found.steering_mean_mm, found.walls_inside) == (0.0, 1.0)


def test_a_narrow_band_leaves_ends_outside_it():
    problem, plan = six_rounds()

    narrow = plate_error(with_band(problem, 1.0, 1.0), plan, cabin="K1")
    wide = plate_error(with_band(problem, 30.0, 30.0), plan, cabin="K1")

    assert narrow.ends_outside > wide.ends_outside
    assert narrow.walls_inside < wide.walls_inside
    assert narrow.mean_mm > wide.mean_mm


def test_the_notch_limit_holds_steering_back():
    problem, plan = six_rounds(band_mm=(30.0, 30.0))
    free = plate_error(problem, plan, cabin="K1")
    tight = replace(problem, params=some_params(notch_limit=(0.44, 0.46)))

    held = plate_error(tight, plan, cabin="K1")

    assert held.steering_mean_mm < free.steering_mean_mm


def test_rounds_already_measured_bring_only_the_reading_error():
    problem, plan = six_rounds()
    level = {wall: tuple((330.0 * r, 330.0 * r) for r in range(1, 6)) for wall in "ABCD"}
    built = replace(problem, cabins=(replace(problem.cabins[0], as_built=AsBuilt(round=5, tops_mm=level)),))

    left = plate_error(built, plan, cabin="K1", samples=400, steered=False)

    whole = plate_error(problem, plan, cabin="K1", samples=400, steered=False)
    assert left.p90_mm - left.mean_mm < 0.7 * (whole.p90_mm - whole.mean_mm)


def test_a_top_that_nobody_measured_keeps_the_error_of_its_log():
    problem, plan = six_rounds()
    house = problem.cabins[0]
    rows = dict.fromkeys("ABCD", ((330.0, 330.0),))
    one_missing = rows | {"A": ((330.0, None),)}

    def known(tops):
        built = replace(problem, cabins=(replace(house, as_built=AsBuilt(round=1, tops_mm=tops)),))
        return Estimate(built, plan, cabin="K1").ends.measured.sum()

    assert (known(rows), known(one_missing)) == (8, 7)


def test_empty_places_and_windows_and_further_stations_are_taken_as_they_are():
    logs = tuple(a_log(f"{n}", stations=((900.0, 315.0),)) for n in range(9))
    problem = with_band(a_problem(logs=logs, cabin=a_cabin(rounds=2, openings=(a_window(),))), 10.0, 10.0)
    plan = without(make_plan(problem, moves=2_000).plan, "B", 2)

    assert plate_error(problem, plan, cabin="K1", samples=50).mean_mm > 0


def test_a_second_reading_of_one_top_or_log_is_worth_something_and_less_than_of_all():
    problem, plan = six_rounds()
    estimate = Estimate(problem, plan, cabin="K1", samples=4000)
    loose = with_band(problem, 0.0, 0.0)
    unsteered = Estimate(loose, plan, cabin="K1", samples=4000)

    once = estimate.plate_error().mean_mm
    one_top = estimate.plate_error(readings=Readings(tops={("A", 6, 0): 2})).mean_mm
    all_tops = estimate.plate_error(readings=Readings(last_rounds=1)).mean_mm
    log = next(p.log for p in plan.pieces if (p.wall, p.round) == ("A", 6))
    one_log = unsteered.plate_error(readings=Readings(logs={log: 2})).mean_mm

    assert all_tops < one_top < once
    assert one_log < unsteered.plate_error().mean_mm


# Ways of working of which the estimate is held against whole seasons.
CREWS = {
    "does not steer": CrewHabits(errors=USUAL, steers=False, plans_again="never"),
    "as usual": CrewHabits(errors=USUAL),
    "laid once": CrewHabits(errors=USUAL, tries=0),
    "last two rounds read twice": CrewHabits(errors=USUAL, readings=Readings(last_rounds=2)),
    "by a level": CrewHabits(errors=replace(USUAL, top_mm=1.0)),
}


def never_searched(problem, plan, seed):
    return plan


@pytest.mark.parametrize("way", CREWS)
def test_the_estimate_is_within_15_percent_of_whole_seasons(way):
    problem, plan = six_rounds(band_mm=(9.0, 25.0))
    crew = CREWS[way]

    found = simulate_seasons(problem, plan, crew, seasons=150, seed=5, search=never_searched)

    estimate = plate_error(
        problem, plan, cabin="K1", errors=crew.errors, steered=crew.steers, tries=crew.tries,
        readings=crew.readings,
    )  # fmt: skip
    assert estimate.mean_mm == pytest.approx(found.plate.mean_mm, rel=0.15)
    assert estimate.p90_mm == pytest.approx(found.plate.p90_mm, rel=0.2)
    assert estimate.steering_mean_mm == pytest.approx(found.plate.steering_mean_mm, rel=0.15, abs=0.01)


def test_a_first_log_on_its_flat_is_steered_by_nothing_as_seasons_show():
    # given: two rounds, so that the second has all of the first's errors to mend, and little band for it
    logs = tuple(a_log(f"{n}", middle_mm=340.0 - n, taper_mm=10.0) for n in range(8))
    house = replace(a_cabin(rounds=2), sill_flat=ProblemSillFlat(depth_mm=30.0), gap_band_mm=(9.0, 17.0))
    problem = a_problem(logs=logs, cabin=house)
    plan = make_plan(problem, moves=5_000, seed=1).plan
    crew = CrewHabits(errors=replace(USUAL, diameter_mm=8.0), tries=0)

    found = simulate_seasons(problem, plan, crew, seasons=150, seed=5, search=never_searched).plate
    estimate = plate_error(problem, plan, cabin="K1", errors=crew.errors, tries=0)
    steered = replace(problem, cabins=(replace(house, sill_flat=None),))
    with_gap = plate_error(steered, plan, cabin="K1", errors=crew.errors, tries=0)

    assert estimate.mean_mm == pytest.approx(found.mean_mm, rel=0.15)
    assert estimate.mean_mm > 1.05 * with_gap.mean_mm
    assert estimate.ends_outside == pytest.approx(found.ends_outside, abs=0.05)
    assert estimate.steering_mean_mm == pytest.approx(found.steering_mean_mm, rel=0.15)


def test_a_season_without_errors_comes_out_as_planned_and_plans_nothing_again():
    problem, plan = six_rounds()

    found = simulate_seasons(
        problem, plan, CrewHabits(errors=NO_ERROR), seasons=2, seed=1, search=never_searched
    )

    assert found.plate.mean_mm == pytest.approx(
        plate_error(problem, plan, cabin="K1", errors=NO_ERROR, samples=10).mean_mm, abs=1e-6
    )
    assert (found.planned_again, found.plate.ends_outside) == (0, 0)


def test_a_crew_plans_again_only_when_the_band_cannot_mend_what_stands():
    problem, plan = six_rounds(band_mm=(9.0, 25.0))
    coarse = CrewHabits(errors=MeasuringErrors(diameter_mm=9.0, top_mm=3.0, cut_mm=6.0))
    asked = []

    def search(rest, so_far, seed):
        asked.append(rest.cabins[0].as_built.round)
        return make_plan(rest, moves=2_000, seed=seed, start=so_far).plan

    found = simulate_seasons(problem, plan, coarse, seasons=6, seed=1, search=search)

    every = simulate_seasons(
        problem,
        plan,
        replace(coarse, plans_again="after every round"),
        seasons=1,
        seed=1,
        search=never_searched,
    )
    assert every.planned_again == 5
    assert 0 < found.planned_again < 2 and min(asked) >= 3


def test_seasons_of_a_cabin_with_tees_are_refused():
    problem, plan = six_rounds()
    [house] = problem.cabins
    flat = replace(problem, cabins=(replace(house, tees=(object(),)),))

    with pytest.raises(ValueError, match="tees"):
        simulate_seasons(flat, plan, CREWS["as usual"], seasons=1, seed=1, search=never_searched)
