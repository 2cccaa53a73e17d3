"""Spare logs: what a take-off counts of them, what a plan is charged that uses them up, and what is left."""

from dataclasses import replace

import pytest

from cabins.core.layout import read_layout
from planning.core.check import SpareLeft, judge
from planning.core.problem import Spare, WallPlan
from planning.core.search import make_plan
from planning.core.takeoff.needs import CabinToBuild
from planning.core.takeoff.take_off import Choices, spare_to_leave, take_off
from planning.core.weights import USUAL
from tests.cabins.core.drawings import a_rectangle
from tests.planning.core_problems import (
    a_cabin,
    a_log,
    a_piece,
    a_problem,
    a_window,
    one_log_each,
    some_params,
    some_weights,
)


def test_as_many_spare_logs_are_to_be_left_over_as_the_take_off_counts():
    cabin = CabinToBuild(name="Lake cabin", layout=read_layout(a_rectangle(openings=[])))
    done = replace(cabin, filled=frozenset((w, r, 0) for w in "ABCD" for r in range(9)))

    spare = spare_to_leave([cabin], rounds=2)

    # A and C: 4700 and two overhangs of 380; B and D: 3500 and the same.
    assert [(row.length_mm, row.count) for row in spare] == [(4260.0, 4), (5460.0, 4)]
    assert sum(row.count for row in spare) == take_off(cabins=[cabin], choices=Choices(spare_rounds=2)).spare
    assert spare_to_leave([done], rounds=2) == ()


def test_whole_sound_logs_in_no_place_are_left_the_longest_for_the_longest():
    # given: eight logs of 4000 in their places, and beside them one of 6000, a culled one, one left out
    more = (a_log("long", length_mm=6000.0), a_log("culled", culled=True), a_log("kept"), a_log("free"))
    logs = tuple(a_log(f"{n}") for n in range(8)) + more
    spare = (Spare(length_mm=3600.0, count=3), Spare(length_mm=5950.0, count=1))
    problem = a_problem(logs=logs, spare=spare, excluded=frozenset({"kept"}))

    found = judge(problem, one_log_each()).spare

    assert found == [
        SpareLeft(length_mm=5950.0, counted=1, left=1),
        SpareLeft(length_mm=3600.0, counted=3, left=1),
    ]


@pytest.mark.parametrize(("length_mm", "left"), [(3649, 0), (3650, 1)])
def test_a_log_is_left_for_a_spare_only_with_its_trim_at_both_ends(length_mm, left):
    # given: a spare of 3600, which with 25 off each end needs a log of 3650
    logs = (*(a_log(f"{n}") for n in range(8)), a_log("free", length_mm=length_mm))
    problem = a_problem(logs=logs, spare=(Spare(length_mm=3600.0, count=1),))

    assert judge(problem, one_log_each()).spare == [SpareLeft(length_mm=3600.0, counted=1, left=left)]


@pytest.mark.parametrize(("length_mm", "charged"), [(3649, False), (3650, True)])
def test_a_log_is_charged_for_a_long_place_only_if_it_reaches_with_its_trim(length_mm, charged):
    house = a_cabin(rounds=2, openings=(a_window(),))
    params = some_params(weights=some_weights(long=5.0))
    problem = a_problem(cabin=house, params=params, logs=(a_log("0", length_mm=length_mm),))
    cut_short = WallPlan(problem="small", pieces=(a_piece("A", 2, "0", from_butt_mm=25.0),))

    longest_m = judge(problem, cut_short).terms["long"] / 5.0

    # The places beside the window are 1300 and 1400 long, the whole ones 3600.
    assert longest_m == pytest.approx(3.6 - 1.3 if charged else 1.4 - 1.3)


@pytest.mark.parametrize(("spare", "times"), [(0, 1), (2, 3)])
def test_a_log_that_is_to_be_left_over_costs_three_times_as_much_when_it_is_cut_short(spare, times):
    # given: ten logs that can give 3600; places of 3600 and, beside the window, of 1300 and 1400
    house = a_cabin(rounds=2, openings=(a_window(),))
    asked = (Spare(length_mm=3600.0, count=spare),) if spare else ()
    params = some_params(weights=some_weights(long=5.0))
    problem = a_problem(cabin=house, params=params, spare=asked)
    plan = WallPlan(problem="small", pieces=(a_piece("A", 2, "0"),))

    report = judge(problem, plan)

    needed, cut_short_m = 7 + spare, 3.6 - 1.3
    assert report.terms["long"] == pytest.approx(5.0 * times * needed / 10 * cut_short_m)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_search_leaves_the_spare_over_where_short_logs_would_do_worse(seed):
    # given: short logs that are thin and crooked, and as many long ones as the long places and the spare take
    house = a_cabin(rounds=4, openings=tuple(a_window(wall) for wall in "ABCD"))
    long = tuple(a_log(f"L{n}", middle_mm=318.0 - n, length_mm=3700.0) for n in range(16))
    short = tuple(
        a_log(f"S{n}", middle_mm=270.0 - 6 * n, taper_mm=30.0, crown_mm=30.0, length_mm=1500.0 + n % 3 * 100)
        for n in range(18)
    )
    asked = (Spare(length_mm=3600.0, count=8),)
    problem = a_problem(logs=long + short, cabin=house, params=some_params(weights=USUAL), spare=asked)

    found = make_plan(problem, moves=30_000, seed=seed).report

    assert found.feasible
    assert found.spare == [SpareLeft(length_mm=3600.0, counted=8, left=8)]
