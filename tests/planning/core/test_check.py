"""The judge: known answers by hand, and what must hold for any plan."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.core.check import diameter_at, grain_severity, judge
from planning.core.places import course_places
from planning.core.problem import (
    AsBuilt,
    PlanPiece,
    ProblemHazard,
    ProblemMember,
    ProblemTee,
    ProblemWall,
    WallPlan,
)
from tests.planning.core_problems import (
    a_cabin,
    a_log,
    a_piece,
    a_problem,
    a_window,
    one_log_each,
    some_params,
    some_weights,
    without,
)

ONE_ROUND = {n: a_log(f"{n}", middle_mm=300.0, taper_mm=0.0) for n in range(8)}


def test_diameter_runs_straight_between_stations_and_on_to_the_ends():
    log = a_log(length_mm=4000, butt_mm=360, middle_mm=320, tip_mm=310)

    found = [diameter_at(log, x, station_inset_mm=305) for x in (0, 305, 1152.5, 2000, 3695, 4000)]

    assert found == pytest.approx([367.198, 360, 340, 320, 310, 308.201], abs=1e-3)


def test_a_further_station_bends_the_line_where_it_was_taken():
    log = a_log(length_mm=4000, stations=((1000.0, 350.0),))

    assert diameter_at(log, 1000.0, station_inset_mm=305) == 350.0
    assert diameter_at(log, 1500.0, station_inset_mm=305) == pytest.approx(330.0)


def test_a_log_turned_end_for_end_keeps_its_middle():
    problem, plan = a_problem(), one_log_each()

    straight, turned = judge(problem, plan), judge(problem, one_log_each(turned="ABCD"))

    one, other = (r.heights["K1"].diameter_mm for r in (straight, turned))
    assert one["A", 1, 0] == pytest.approx(other["A", 1, 1])
    assert one["A", 1, 0] + one["A", 1, 1] == pytest.approx(other["A", 1, 0] + other["A", 1, 1])


def test_heights_of_cylinders_worked_by_hand():
    # given: eight logs of 300 mm all along, gap 13: a round rises 313, high walls begin at 156.5
    problem = a_problem(logs=tuple(ONE_ROUND.values()))

    report = judge(problem, one_log_each())

    tops = report.heights["K1"].top_mm
    assert [tops["A", r, 0] for r in (0, 1, 2)] == pytest.approx([0, 313, 626])
    assert [tops["B", r, 1] for r in (0, 1, 2)] == pytest.approx([156.5, 469.5, 782.5])


def test_notches_of_cylinders_worked_by_hand():
    # given: as above; B over A in round 1: 313 - (156.5 + 13); A over B in round 2: 469.5 - (313 + 13)
    problem = a_problem(logs=tuple(ONE_ROUND.values()))

    report = judge(problem, one_log_each())

    assert len(report.notches) == 12
    assert {round(notch.depth_mm, 6) for notch in report.notches} == {143.5}
    assert report.notches[0].share == pytest.approx(143.5 / 300)
    assert report.terms["corner"] == pytest.approx(0)
    assert report.metrics["notch_off"] == 0


def test_out_of_level_of_one_tapered_log_worked_by_hand():
    # given: all cylinders but log 0 in wall A: butt 320 at station 305, middle 300, tip 280 of 4000 mm,
    # its piece from 100 on, corners 300 inside: at 400 and 3400 from the butt
    logs = (a_log("0", middle_mm=300, taper_mm=20), *list(ONE_ROUND.values())[1:])
    per_mm = 20 / (2000 - 305)

    report = judge(a_problem(logs=logs), one_log_each())

    tops = report.heights["K1"].top_mm
    assert tops["A", 1, 0] == pytest.approx(313 + per_mm * 1600)
    assert tops["A", 1, 1] == pytest.approx(313 - per_mm * 1400)
    assert report.terms["level"] == pytest.approx(per_mm * 3000 * (0.5 * 1.0 + 4.0))
    assert report.metrics["max_plate_out_of_level"] == pytest.approx(per_mm * 3000)


def test_waste_is_what_of_a_used_log_ends_in_no_piece():
    report = judge(a_problem(), one_log_each())

    assert report.terms["waste"] == pytest.approx(0.005 * 8 * 400)
    assert report.metrics["waste_pct"] == pytest.approx(10.0)


def test_rounds_that_grow_thicker_upward_are_charged():
    problem = a_problem()
    swapped = WallPlan(
        problem="small",
        pieces=tuple(replace(p, log=str((int(p.log) + 4) % 8)) for p in one_log_each().pieces),
    )

    assert judge(problem, one_log_each()).terms["big_low"] == 0
    assert judge(problem, swapped).terms["big_low"] == pytest.approx(2 * 16)


def test_an_empty_place_is_charged_and_named():
    problem = a_problem()

    report = judge(problem, without(one_log_each(), "B", 2))

    assert not report.complete and not report.feasible
    assert report.terms["short"] == pytest.approx(2000 + 0.5 * 3600)
    assert [(s.length_mm, s.least_middle_mm, s.count) for s in report.shortages] == [(3600.0, 310.0, 1)]
    assert report.heights["K1"].diameter_mm["B", 2, 0] == 310.0


def test_metal_at_a_corner_is_an_error_and_a_knot_is_counted():
    for kind, errors, knots in (("metal", 1, 0.0), ("knot", 0, 20.0)):
        logs = (
            a_log("0", hazards=(ProblemHazard(from_butt_mm=500, kind=kind),)),
            *list(ONE_ROUND.values())[1:],
        )

        report = judge(a_problem(logs=logs), one_log_each())

        assert (report.metrics["metal"], report.terms["knot"]) == (errors, knots)
        assert report.feasible is (errors == 0)


def test_metal_clear_of_notches_and_cuts_does_no_harm():
    logs = (
        a_log("0", hazards=(ProblemHazard(from_butt_mm=1500, kind="metal"),)),
        *list(ONE_ROUND.values())[1:],
    )

    assert judge(a_problem(logs=logs), one_log_each()).errors == []


@pytest.mark.parametrize(("from_butt_mm", "errors"), [(101, 1), (699, 1), (700, 0), (3099, 0), (3101, 1)])
def test_metal_is_clear_of_a_notch_from_three_hundred_on(from_butt_mm, errors):
    # The corners lie 400 and 3400 from the butt of wall A's first log.
    hazards = (ProblemHazard(from_butt_mm=from_butt_mm, kind="metal"),)
    logs = (a_log("0", hazards=hazards), *list(ONE_ROUND.values())[1:])

    report = judge(a_problem(logs=logs), one_log_each())

    assert report.metrics["metal"] == errors
    assert report.errors == ["metal in 0 at a notch or cut"] * errors


@pytest.mark.parametrize(("second_from_mm", "errors"), [(1454, ["pieces overlap in 9"]), (1455, [])])
def test_between_two_pieces_of_a_log_lie_two_trims_and_a_cut(second_from_mm, errors):
    # The first piece beside the window is 1300 long, so it ends at 1400; 25, 5 and 25 follow.
    problem = a_problem(cabin=a_cabin(openings=(a_window(),)))
    pieces = (
        *without(one_log_each(), "A", 2).pieces,
        a_piece("A", 2, "9", piece=0, from_butt_mm=100),
        a_piece("A", 2, "9", piece=1, from_butt_mm=second_from_mm),
    )

    assert judge(problem, WallPlan(problem="small", pieces=pieces)).errors == errors


@pytest.mark.parametrize(
    ("change", "error"),
    [
        ({"from_butt_mm": 20.0}, "piece does not fit in 0"),
        ({"from_butt_mm": 390.0}, "piece does not fit in 0"),
        ({"log": "1"}, "pieces overlap in 1"),
        ({"log": "nobody"}, "unknown log nobody"),
        ({"piece": 1}, "no such place ('K1', 'A', 1, 1)"),
        ({"round": 2}, "place filled twice ('K1', 'A', 2, 0)"),
    ],
)
def test_a_faulty_piece_is_named(change, error):
    first, *others = one_log_each().pieces

    report = judge(a_problem(), WallPlan(problem="small", pieces=(replace(first, **change), *others)))

    assert error in report.errors
    assert not report.feasible


def test_more_pieces_than_allowed_from_one_log_are_an_error():
    cabin = a_cabin(openings=(a_window(),))
    problem = a_problem(cabin=cabin, params=some_params(max_pieces_per_log=1))
    pieces = (
        *without(one_log_each(), "A", 2).pieces,
        a_piece("A", 2, "9", piece=0, from_butt_mm=100),
        a_piece("A", 2, "9", piece=1, from_butt_mm=1600),
    )

    report = judge(problem, WallPlan(problem="small", pieces=pieces))

    assert "too many pieces from 9" in report.errors


def test_a_window_leaves_two_places_and_their_ends_are_held_to_the_course():
    cabin = a_cabin(openings=(a_window(),))
    problem = a_problem(cabin=cabin, logs=(*ONE_ROUND.values(), a_log("9", middle_mm=340, taper_mm=0)))
    pieces = (
        *without(one_log_each(), "A", 2).pieces,
        a_piece("A", 2, "4", piece=0),
        a_piece("A", 2, "9", piece=1),
    )

    report = judge(problem, WallPlan(problem="small", pieces=pieces))

    # D is 300 at the start corner and 340 at the end: the line is at 313.3 and 325.3 beside the window
    assert course_places(cabin, cabin.walls[0], 2, problem.params) == [(-300.0, 1000.0), (1900.0, 3300.0)]
    assert report.terms["jamb"] == pytest.approx(0.3 * (13.3333333 - 10 + 14.6666667 - 10))


def test_crown_is_held_stricter_at_sill_and_plate():
    bowed = a_log("0", middle_mm=300, taper_mm=0, crown_mm=40.0)
    logs = (bowed, *list(ONE_ROUND.values())[1:])

    report = judge(a_problem(logs=logs), one_log_each())

    assert report.terms["crown"] == pytest.approx(0.5 * (40 * 0.9**2 - 12))


@pytest.mark.parametrize(("number", "limit_mm"), [(1, 12), (2, 25), (3, 12)])
def test_between_sill_and_plate_a_log_may_bow_more(number, limit_mm):
    logs = tuple(
        a_log(f"{n}", middle_mm=300, taper_mm=0, crown_mm=40.0 if n == 4 * (number - 1) else 0.0)
        for n in range(12)
    )

    report = judge(a_problem(logs=logs, cabin=a_cabin(rounds=3)), one_log_each(rounds=3))

    assert report.terms["crown"] == pytest.approx(0.5 * (40 * 0.9**2 - limit_mm))


def test_a_culled_log_is_charged_and_refused_for_long_places():
    logs = (a_log("0", culled=True), *list(ONE_ROUND.values())[1:])

    free = judge(a_problem(logs=logs), one_log_each())
    held = judge(a_problem(logs=logs, params=some_params(cull_longest_mm=2000.0)), one_log_each())

    assert free.terms["culled"] == 100 and free.errors == []
    assert held.errors == ["culled log 0 in a long place"]


def test_spiral_grain_costs_more_the_higher_it_lies_and_only_when_asked():
    logs = tuple(replace(log, grain="left") if log.id == "4" else log for log in ONE_ROUND.values())
    logs = tuple(replace(log, twist=0.1) if log.id == "5" else log for log in logs)
    logs = tuple(replace(log, twist=0.01) if log.id == "6" else log for log in logs)

    silent = judge(a_problem(logs=logs), one_log_each())
    asked = judge(a_problem(logs=logs), one_log_each(), weights=some_weights(grain=10.0))

    assert silent.terms["grain"] == 0
    assert asked.terms["grain"] == pytest.approx(10 + 20)


@pytest.mark.parametrize(("twist", "severity"), [(0.0333, 0.0), (0.0334, 0.668), (0.05, 1.0), (0.25, 2.0)])
def test_grain_counts_by_its_slope_from_one_in_thirty_to_one_in_ten(twist, severity):
    assert grain_severity(replace(a_log(), twist=twist)) == pytest.approx(severity)


def test_measured_tops_replace_computed_ones_and_unmeasured_ends_are_computed():
    built = AsBuilt(round=1, tops_mm={"A": ((320.0, None),)})
    problem = a_problem(logs=tuple(ONE_ROUND.values()), cabin=a_cabin(as_built=built))

    tops = judge(problem, one_log_each()).heights["K1"].top_mm

    assert [tops["A", r, 0] for r in (1, 2)] == pytest.approx([320, 633])
    assert [tops["A", r, 1] for r in (1, 2)] == pytest.approx([313, 626])


def test_notches_far_out_of_bounds_are_charged_each():
    built = AsBuilt(round=1, tops_mm={"A": ((600.0, 600.0),)})
    problem = a_problem(logs=tuple(ONE_ROUND.values()), cabin=a_cabin(as_built=built))

    report = judge(problem, one_log_each())

    assert report.metrics["notch_beyond"] > 0
    assert report.terms["hard"] == 1000 * report.metrics["notch_beyond"]
    assert not report.feasible


def test_pinned_pieces_must_stay_and_excluded_logs_must_rest():
    pin = a_piece("A", 1, "0", from_butt_mm=150.0)
    problem = a_problem(pinned=(pin,), excluded=frozenset({"0", "3"}))

    moved = judge(problem, one_log_each())
    kept = judge(problem, WallPlan(problem="small", pieces=(pin, *one_log_each().pieces[1:])))

    assert moved.errors == ["pinned piece moved ('K1', 'A', 1, 0)", "excluded log 3"]
    assert kept.errors == ["excluded log 3"]


def with_partition(rounds: int = 2):
    """The small cabin with a partition P, low, between B and D, which gets a tee each."""
    cabin = a_cabin(rounds=rounds)
    partition = ProblemWall(
        id="P", length_mm=3000.0, overhangs_mm=(300.0, 300.0), start="low", corners=(4, 5)
    )
    tees = (ProblemTee(corner=4, wall="B", at_mm=1500.0), ProblemTee(corner=5, wall="D", at_mm=1500.0))
    return replace(cabin, walls=(*cabin.walls, partition), tees=tees)


def test_a_partition_is_notched_where_it_crosses_and_leaves_levels_to_the_ends():
    logs = tuple(a_log(f"{n}", middle_mm=300.0, taper_mm=0.0) for n in range(10))
    pieces = (*one_log_each().pieces, a_piece("P", 1, "8"), a_piece("P", 2, "9"))

    report = judge(a_problem(cabin=with_partition(), logs=logs), WallPlan(problem="small", pieces=pieces))

    tops = report.heights["K1"].top_mm
    assert tops["B", 2, 2] == pytest.approx(782.5)
    assert len(report.notches) == 6 * 3
    assert report.objective == pytest.approx(0.005 * 10 * 400)


def test_a_member_needs_a_straight_and_thick_enough_log():
    member = ProblemMember(id="ridge", length_mm=3500.0, least_middle_mm=315.0, crown_limit_mm=10.0)
    cabin = a_cabin(members=(member,))
    ridge = PlanPiece(cabin="K1", member="ridge", log="9", from_butt_mm=100.0)
    plan = WallPlan(problem="small", pieces=(*one_log_each().pieces, ridge))

    def errors(**log):
        return judge(a_problem(cabin=cabin, logs=(*ONE_ROUND.values(), a_log("9", **log))), plan).errors

    assert errors(middle_mm=320) == []
    assert errors(middle_mm=310) == ["9 is too thin for member ridge"]
    assert errors(middle_mm=320, crown_mm=20) == ["9 is too crooked for member ridge"]
    empty = judge(a_problem(cabin=cabin), one_log_each())
    assert [(s.length_mm, s.least_middle_mm) for s in empty.shortages] == [(3500.0, 315.0)]


@settings(max_examples=40, deadline=None)
@given(
    middles=st.lists(st.floats(220, 420), min_size=12, max_size=12),
    tapers=st.lists(st.floats(0, 40), min_size=12, max_size=12),
    turned=st.sets(st.sampled_from("ABCD")),
)
def test_heights_round_by_round_equal_the_sum_over_the_column(middles, tapers, turned):
    logs = tuple(
        a_log(str(n), middle_mm=m, taper_mm=t) for n, (m, t) in enumerate(zip(middles, tapers, strict=True))
    )
    problem = a_problem(logs=logs, cabin=a_cabin(rounds=3))

    heights = judge(problem, one_log_each(rounds=3, turned="".join(turned))).heights["K1"]

    for wall in "ABCD":
        for end in (0, 1):
            rise = sum(heights.diameter_mm[wall, r, end] + 13.0 for r in (1, 2, 3))
            assert heights.top_mm[wall, 3, end] == pytest.approx(heights.top_mm[wall, 0, end] + rise)


@settings(max_examples=30, deadline=None)
@given(middles=st.lists(st.floats(260, 380), min_size=8, max_size=8), shift=st.floats(30, 370))
def test_a_plan_seen_in_a_mirror_scores_the_same(middles, shift):
    # given: the cabin with every wall measured from its other end, and every log turned to match
    logs = tuple(a_log(str(n), middle_mm=m) for n, m in enumerate(middles))
    problem = a_problem(logs=logs)
    plan = WallPlan(
        problem="small",
        pieces=tuple(replace(p, from_butt_mm=shift) for p in one_log_each(turned="AD").pieces),
    )
    walls = tuple(replace(w, corners=(w.corners[1], w.corners[0])) for w in problem.cabins[0].walls)
    mirrored = replace(problem, cabins=(replace(problem.cabins[0], walls=walls),))
    turn = {"start": "end", "end": "start"}
    seen = WallPlan(problem="small", pieces=tuple(replace(p, butt_at=turn[p.butt_at]) for p in plan.pieces))

    assert judge(mirrored, seen).objective == pytest.approx(judge(problem, plan).objective)
