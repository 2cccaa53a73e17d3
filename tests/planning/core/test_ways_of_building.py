"""Sill flats, half logs, places said outright, steering, a plan in force: judge and search."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.core.check import judge
from planning.core.files import read_problem, write_problem
from planning.core.problem import (
    GRAIN_RULES,
    AsBuilt,
    GrainBinds,
    Half,
    HalfPlace,
    KeptPiece,
    PlanPiece,
    ProblemOpening,
    ProblemSillFlat,
    Spare,
    WallPlan,
    WallProblem,
)
from planning.core.search import make_plan
from planning.core.search.engine import MIX, REACH
from planning.core.search.kernels import anneal, fresh_scratch, rebuild
from planning.core.search.packing import pack
from planning.core.search.placing import first_state, plan_of
from tests.planning.core.test_check import with_partition
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

NEW_WEIGHTS = {"keep": 7.0, "alternate": 9.0, "late_level": 1.5, "long": 8.0, "opening": 0.4}


def half_pair(one: str = "B", other: str = "D", **changed: float) -> HalfPlace:
    """The half logs of two high walls out of one log part."""
    return HalfPlace(
        halves=(
            Half(wall=one, piece=0, start_mm=-300.0, end_mm=3300.0),
            Half(wall=other, piece=0, start_mm=-300.0, end_mm=changed.get("end_mm", 3300.0)),
        ),
        kerf_mm=changed.get("kerf_mm", 6.0),
    )


def half_piece(wall: str, log: str = "9", **changed: object) -> PlanPiece:
    return replace(a_piece(wall, 0, log), **changed)


# The judge, worked by hand


@pytest.mark.parametrize(
    ("flat", "depth"),
    [
        (ProblemSillFlat(depth_mm=20.0, sealer_mm=6.0), lambda _: 20.0),
        (ProblemSillFlat(width_mm=60.0), lambda d: d / 2 - math.sqrt(d * d / 4 - 900.0)),
        (ProblemSillFlat(width_mm=2000.0), lambda d: d / 2),
    ],
)
def test_a_sill_lies_on_its_flat_without_a_gap(flat, depth):
    problem = a_problem(cabin=a_cabin(sill_flat=flat))

    heights = judge(problem, one_log_each()).heights["K1"]

    d = heights.diameter_mm["A", 1, 0]
    assert heights.top_mm["A", 1, 0] == pytest.approx(d - depth(d) + flat.sealer_mm)
    assert heights.underside_mm["A", 1, 0] == pytest.approx(flat.sealer_mm - depth(d))
    rises = [heights.top_mm[wall, 1, end] for wall in "AC" for end in (0, 1)]
    assert heights.top_mm["B", 0, 0] == pytest.approx(sum(rises) / 8), "half the mean rise of the sills"


def test_a_half_log_carries_its_wall_and_the_sill_is_notched_over_it():
    cabin = a_cabin(sill_flat=ProblemSillFlat(depth_mm=20.0), half_places=(half_pair(),))
    plan = one_log_each()
    plan = replace(plan, pieces=(*plan.pieces, half_piece("B"), half_piece("D")))

    report = judge(a_problem(cabin=cabin), plan)

    heights = report.heights["K1"]
    d = heights.diameter_mm["B", 0, 0]
    assert heights.top_mm["B", 0, 0] == pytest.approx((d - 6.0) / 2)
    (notch,) = [n for n in report.notches if (n.wall, n.round, n.column) == ("A", 1, 1)]
    assert notch.over == "B"
    assert notch.depth_mm == pytest.approx((d - 6.0) / 2 + 20.0), "from the half's top to the flat below deck"
    assert report.errors == [] and report.complete
    assert report.metrics["logs_used"] == 9


@pytest.mark.parametrize(
    "other",
    [None, half_piece("D", log="8"), half_piece("D", from_butt_mm=90.0), half_piece("D", butt_at="end")],
)
def test_two_halves_that_are_not_of_one_part_are_an_error(other):
    plan = one_log_each()
    pieces = (*plan.pieces, half_piece("B"), *([other] if other else []))

    report = judge(a_problem(cabin=a_cabin(half_places=(half_pair(),))), replace(plan, pieces=pieces))

    assert any("not of one log part" in error for error in report.errors)


def test_a_half_below_and_one_at_the_top_may_be_of_one_log():
    (below, _), kerf_mm = half_pair().halves, half_pair().kerf_mm
    top = Half(wall="A", piece=0, start_mm=300.0, end_mm=3300.0, round=a_cabin().rounds + 1)
    mixed = HalfPlace(halves=(below, top), kerf_mm=kerf_mm)

    result = make_plan(a_problem(cabin=a_cabin(half_places=(mixed,))), moves=20_000)

    halves = [piece for piece in result.plan.pieces if piece.round in (below.round, top.round)]
    assert result.report.errors == [] and result.report.complete
    assert {(piece.wall, piece.round) for piece in halves} == {("B", 0), ("A", top.round)}
    assert len({(piece.log, piece.from_butt_mm, piece.butt_at) for piece in halves}) == 1


def test_an_empty_half_place_is_short_once_and_as_high_as_a_nominal_half():
    report = judge(a_problem(cabin=a_cabin(half_places=(half_pair(),))), one_log_each())

    assert report.metrics["short_places"] == 1
    assert report.heights["K1"].top_mm["D", 0, 1] == pytest.approx((310.0 - 6.0) / 2)


def test_start_heights_are_taken_as_they_are_said_and_tees_lie_between():
    cabin = replace(with_partition(rounds=1), start_heights_mm={"B": (150.0, 162.0)})
    tops = judge(a_problem(cabin=cabin), WallPlan(problem="small", pieces=())).heights["K1"].top_mm

    assert (tops["B", 0, 0], tops["B", 0, 1]) == (150.0, 162.0)
    at = next(tee.at_mm for tee in cabin.tees if tee.wall == "B")
    assert tops["B", 0, 2] == pytest.approx(150.0 + 12.0 * at / 3000.0)


def test_each_end_of_a_wall_has_its_own_overhang():
    document = write_problem(a_problem())
    wall = document["cabins"][0]["walls"][0]
    del wall["overhang"]
    wall["overhangs"] = [0, 450]

    problem = read_problem(document)

    assert judge(problem, WallPlan(problem="small", pieces=())).shortages[0].length_mm == 3600.0
    assert {s.length_mm for s in judge(problem, WallPlan(problem="small", pieces=())).shortages} == {
        3600.0,
        3450.0,
    }


def test_places_said_outright_stand_instead_of_the_split_by_pitch():
    courses = {"A": (((-300.0, 3300.0),), ((-300.0, 1000.0), (1900.0, 3300.0)))}
    with_window = a_problem(cabin=a_cabin(openings=(a_window(sill_mm=0.0, head_mm=600.0),)))
    outright = a_problem(
        cabin=a_cabin(openings=(a_window(sill_mm=0.0, head_mm=600.0),), courses_mm=courses),
    )

    both = [
        judge(p, WallPlan(problem="small", pieces=())).metrics["short_places"]
        for p in (with_window, outright)
    ]

    assert both == [10, 9]


def test_a_piece_that_ends_before_the_walls_end_is_charged_as_a_jamb():
    courses = {"A": (((-200.0, 3300.0),),)}
    log = a_log("0", middle_mm=330.0, stations=((120.0, 400.0),))
    report = judge(
        a_problem(cabin=a_cabin(rounds=1, courses_mm=courses), logs=(log,)),
        WallPlan(problem="small", pieces=(a_piece("A", 1, "0", from_butt_mm=110.0),)),
    )

    assert report.terms["jamb"] > 0.0


def steered(tops, planned, *, rounds=4, band=(4.0, 38.0)):
    cabin = a_cabin(
        rounds=rounds,
        gap_band_mm=band,
        as_built=AsBuilt(round=1, tops_mm={"A": (tops,)}, planned_mm={"A": (planned,)} if planned else {}),
    )
    logs = tuple(a_log(f"{n}", middle_mm=330.0 - n) for n in range(16))
    heights = judge(a_problem(cabin=cabin, logs=logs), one_log_each(rounds=rounds)).heights["K1"]
    return {
        (r, end): heights.top_mm["A", r, end]
        - sum(heights.diameter_mm["A", q, end] + 13.0 for q in range(2, r + 1))
        for r in range(1, rounds + 1)
        for end in (0, 1)
    }


def test_what_stands_off_the_plan_is_steered_back_within_the_band():
    base = steered((350.0, 310.0), (330.0, 340.0))

    # 20 mm high comes back 9 a round, 30 mm low 25 a round.
    assert [base[r, 0] for r in (1, 2, 3, 4)] == pytest.approx([350.0, 341.0, 332.0, 330.0])
    assert [base[r, 1] for r in (1, 2, 3, 4)] == pytest.approx([310.0, 335.0, 340.0, 340.0])


def test_without_planned_tops_or_a_band_heights_go_on_from_what_was_measured():
    for base in (steered((350.0, 310.0), None), steered((350.0, 310.0), (330.0, 340.0), band=None)):
        assert [base[r, 0] for r in (1, 2, 3, 4)] == pytest.approx([350.0] * 4)


def test_a_notch_is_cut_to_the_height_steered_to():
    built = AsBuilt(round=1, tops_mm={"A": ((350.0, 310.0),)}, planned_mm={"A": ((330.0, 340.0),)})
    cabin = a_cabin(gap_band_mm=(4.0, 38.0), as_built=built)
    report = judge(a_problem(cabin=cabin), one_log_each())

    (notch,) = [n for n in report.notches if (n.wall, n.round, n.column) == ("A", 2, 0)]
    heights = report.heights["K1"]
    underside = heights.top_mm["A", 2, 0] - heights.diameter_mm["A", 2, 0]
    assert underside == pytest.approx(350.0 + 13.0 - 9.0)
    assert notch.depth_mm == pytest.approx(heights.top_mm["D", 1, 1] - underside)


@pytest.mark.parametrize(
    ("change", "due", "prepared", "charge"),
    [
        ({}, 0, False, 0.0),
        ({"log": "9"}, 0, False, 4.0),
        ({"log": "9"}, 2, False, 2.0),
        ({"log": "9"}, 0, True, 12.0),
        ({"butt_at": "end"}, 0, False, 2.0),
        ({"from_butt_mm": 101.0}, 0, False, 1.0),
    ],
)
def test_what_leaves_the_plan_in_force_is_charged_by_how_soon_it_is_due(change, due, prepared, charge):
    plan = one_log_each()
    keep = (KeptPiece(piece=plan.pieces[0], due_rounds=due, prepared=prepared),)
    changed = replace(plan, pieces=(replace(plan.pieces[0], **change), *plan.pieces[1:]))
    problem = a_problem(keep=keep, params=some_params(weights=some_weights(keep=1.0)))

    report = judge(problem, changed)

    assert report.terms["keep"] == charge
    assert report.metrics["kept"] == (0 if "log" in change or "butt_at" in change else 1)


def test_a_log_or_place_that_is_gone_cannot_be_kept():
    gone = (
        KeptPiece(piece=a_piece("A", 1, "77")),
        KeptPiece(piece=a_piece("A", 9, "1")),
        KeptPiece(piece=a_piece("B", 1, "3")),
    )
    problem = a_problem(
        keep=gone, excluded=frozenset({"3"}), params=some_params(weights=some_weights(keep=1.0))
    )

    assert judge(problem, WallPlan(problem="small", pieces=())).terms["keep"] == 0.0


def test_butts_over_butts_are_charged_by_course():
    problem = a_problem(params=some_params(weights=some_weights(alternate=1.0)))
    plan = one_log_each()
    turned = replace(
        plan,
        pieces=tuple(
            replace(p, butt_at="end") if p.round == 2 and p.wall in "AB" else p for p in plan.pieces
        ),
    )

    assert [judge(problem, p).terms["alternate"] for p in (plan, turned)] == [4.0, 2.0]


def test_the_last_three_rounds_are_weighed_for_level():
    problem = a_problem(params=some_params(weights=some_weights(late_level=1.0)))
    report = judge(problem, one_log_each())
    tops = report.heights["K1"].top_mm

    assert report.terms["late_level"] == pytest.approx(
        sum(abs(tops[wall, r, 0] - tops[wall, r, 1]) for wall in "ABCD" for r in (1, 2))
    )


def test_a_long_log_cut_for_a_short_place_costs_what_its_length_is_needed_for():
    weights = some_weights(long=1.0)
    cabin = a_cabin(
        rounds=1,
        openings=(ProblemOpening(wall="A", offset_mm=1000.0, width_mm=900.0, sill_mm=0.0, head_mm=300.0),),
    )
    logs = (*a_problem().logs, a_log("short", length_mm=1400.0))
    stub = a_piece("A", 1, "0", piece=0)
    plans = [WallPlan(problem="small", pieces=(replace(stub, log=log),)) for log in ("0", "short")]

    problem = a_problem(cabin=cabin, logs=logs, params=some_params(weights=weights))
    spare = replace(problem, spare=(Spare(length_mm=3600.0, count=2),))

    # Three places of 3.6 m and ten logs that can give them; the stub is 1.3 m.
    assert judge(problem, plans[0]).terms["long"] == pytest.approx(0.3 * 2.3)
    assert judge(spare, plans[0]).terms["long"] == pytest.approx(3.0 * 0.5 * 2.3), "a spare weighs threefold"
    assert judge(problem, plans[1]).terms["long"] == 0.0


def test_a_door_from_the_deck_has_no_log_below_it_to_be_off():
    # given: wall B begins half a round over the deck, and the door at the deck, through its first round
    door = a_window("B", sill_mm=0.0, head_mm=400.0, space_mm=40.0)
    problem = a_problem(
        cabin=a_cabin(rounds=3, openings=(door,)), params=some_params(weights=some_weights(opening=1.0))
    )

    report = judge(problem, WallPlan(problem="small", pieces=()))

    # The second round's underside: half a round, one round and the gap over the deck.
    assert report.terms["opening"] == pytest.approx(abs(161.5 + 323.0 + 13.0 - 440.0))


def test_the_logs_at_a_hole_are_charged_for_what_they_are_off_sill_and_head():
    cabin = a_cabin(rounds=3, openings=(a_window(sill_mm=330.0, head_mm=640.0, space_mm=40.0),))
    problem = a_problem(cabin=cabin, params=some_params(weights=some_weights(opening=1.0)))
    plan = WallPlan(problem="small", pieces=())
    report = judge(problem, plan)

    # Nominal logs of 310 and gaps of 13: the sill log's top at 323, the header's underside at 659.
    assert report.terms["opening"] == pytest.approx((330.0 - 323.0) + (680.0 - 659.0))


@pytest.mark.parametrize(
    ("log", "rule", "round_no", "broken"),
    [
        (a_log("0", grain="left", twist=1 / 12), "left_severe_half_log_only", 2, 1),
        (a_log("0", grain="left", twist=1 / 12), "left_severe_half_log_only", 1, 0),
        (a_log("0", grain="right", twist=1 / 12), "left_severe_half_log_only", 2, 0),
        (a_log("0", grain="left", twist=1 / 25), "left_moderate_lowest_third", 2, 1),
        (a_log("0", grain="right", twist=1 / 25), "top_round_straight", 2, 1),
        (a_log("0", grain="right", twist=1 / 40), "top_round_straight", 2, 0),
        (a_log("0", grain="right"), "twist_low", 2, 1),
        (a_log("0", grain="straight", twist=0.2), "twist_low", 2, 0),
    ],
)
def test_a_binding_rule_of_grain_is_as_hard_as_a_notch(log, rule, round_no, broken):
    problem = a_problem(logs=(log,), params=some_params(grain_binds=GrainBinds(rules=(rule,))))

    report = judge(problem, WallPlan(problem="small", pieces=(a_piece("A", round_no, "0"),)))

    assert report.metrics["grain_broken"] == broken
    assert report.terms["hard"] >= 1000.0 * broken


# Files


def everything_new(draw_seed: int = 0) -> WallProblem:
    """A cabin with a partition, and every key that may be left out."""
    rng = np.random.default_rng(draw_seed)

    def off() -> float:
        return float(rng.integers(-15, 16))

    plain = with_partition(rounds=5)
    walls = tuple(
        replace(wall, overhangs_mm=(300.0, 250.0)) if wall.id == "C" else wall for wall in plain.walls
    )
    columns = {wall.id: 2 + sum(tee.wall == wall.id for tee in plain.tees) for wall in walls}
    planned = {
        w.id: (tuple(500.0 if w.start == "high" else 330.0 for _ in range(columns[w.id])),) for w in walls
    }
    tops = {wall: (tuple(top + off() for top in rows[0]),) for wall, rows in planned.items()}
    tops["A"] = ((None, *tops["A"][0][1:]),)
    high = [wall for wall in walls if wall.start == "high"]
    cabin = replace(
        plain,
        walls=walls,
        openings=(
            a_window(head_mm=900.0, space_mm=30.0),
            a_window("C", sill_mm=0.0, head_mm=700.0),
        ),
        courses_mm={
            "C": (
                ((-300.0, 1000.0), (1900.0, 3250.0)),
                ((-300.0, 1000.0), (1900.0, 3250.0)),
                ((-300.0, 3250.0),),
                ((-280.0, 3250.0),),
                ((-300.0, 3150.0),),
            )
        },
        start_heights_mm={high[1].id: (148.0, 155.0)},
        sill_flat=ProblemSillFlat(width_mm=62.0, sealer_mm=4.0),
        half_places=(half_pair("B", "D", end_mm=3200.0),),
        gap_band_mm=(4.0, 38.0),
        as_built=AsBuilt(round=1, tops_mm=tops, planned_mm=planned),
    )
    logs = tuple(
        a_log(
            f"{n}",
            length_mm=3700.0 + 53 * n,
            middle_mm=350.0 - 2 * n,
            taper_mm=4.0 + n % 7,
            crown_mm=float(n % 5 * 9),
            grain=("straight", "left", "right")[n % 3],
            twist=None if n % 5 == 4 else (0.02, 0.04, 0.07)[n % 4 % 3],
            culled=n % 11 == 4,
        )
        for n in range(34)
    )
    keep = tuple(
        KeptPiece(
            piece=a_piece(wall, r, f"{4 * r + n}", from_butt_mm=60.0, butt_at="end" if n % 2 else "start"),
            due_rounds=r - 2,
            prepared=r == 2,
        )
        for r in (2, 3, 4)
        for n, wall in enumerate("ABD")
    )
    return a_problem(
        cabin=cabin,
        logs=logs,
        params=some_params(
            weights=some_weights(grain=2.0, **NEW_WEIGHTS), grain_binds=GrainBinds(rules=GRAIN_RULES)
        ),
        keep=(
            *keep,
            KeptPiece(piece=half_piece("B", "5", from_butt_mm=80.0)),
            KeptPiece(piece=half_piece("D", "5", from_butt_mm=80.0)),
        ),
        spare=(Spare(length_mm=3600.0, count=2),),
        excluded=frozenset({"7"}),
    )


def test_every_new_key_is_written_and_read_again():
    problem = everything_new()

    assert read_problem(write_problem(problem)) == problem


@pytest.mark.parametrize(
    ("key", "value", "pointer", "reason"),
    [
        ("courses", {"Z": [[[0, 1]], [[0, 1]]]}, "/courses/Z", "no wall Z"),
        ("courses", {"A": [[[-300, 3300]]]}, "/courses/A", "2 rounds"),
        ("courses", {"A": [[[-300, 3300]], [[-300, 1000]]]}, "/courses/A/1", "without a log"),
        ("courses", {"A": [[[-300, 3300]], [[-900, 3300]]]}, "/courses/A/1", "past the ends"),
        ("courses", {"A": [[[-300, 3300]], [[-300, 900], [800, 3300]]]}, "/courses/A/1/1", "behind"),
        ("courses", {"A": [[[-300, 3300]], []]}, "/courses/A/1", "one or more"),
        ("start_heights", {"A": [1]}, "/start_heights/A", "[start, end, tees ...]"),
        ("start_heights", {"A": [1, 2, 3]}, "/start_heights/A", "two ends and 0 tees"),
        ("sill_flat", {"depth": 3, "width": 4}, "/sill_flat", "depth or width"),
        ("sealer", 5, "/sealer", "under a sill_flat"),
        ("gap_band", [20, 30], "/gap_band", "the gap within"),
        ("half_places", [{"halves": [], "kerf": 5}], "/half_places/0/halves", "one half or two"),
        (
            "half_places",
            [{"halves": [{"wall": "A", "piece": 0, "start": 0, "end": 9}], "kerf": 5}],
            "/half_places/0/halves/0/wall",
            "no high wall",
        ),
        (
            "half_places",
            [{"halves": [{"wall": "B", "piece": n, "start": 0, "end": 9} for n in (0, 1)], "kerf": 5}],
            "/half_places/0/halves/1",
            "another half log",
        ),
        (
            "half_places",
            [{"halves": [{"wall": "B", "piece": 0, "start": -900, "end": 9}], "kerf": 5}],
            "/half_places/0/halves/0",
            "past the ends",
        ),
    ],
)
def test_a_fault_in_a_new_key_is_named_with_its_place(key, value, pointer, reason):
    document = write_problem(a_problem())
    document["cabins"][0][key] = value

    with pytest.raises(Exception) as refused:
        read_problem(document)

    assert any(
        fault.pointer == f"/cabins/0{pointer}" and reason in fault.text for fault in refused.value.faults
    ), refused.value.faults


def test_a_pinned_half_log_needs_its_other_half():
    problem = a_problem(cabin=a_cabin(half_places=(half_pair(),)), pinned=(half_piece("B"),))

    with pytest.raises(Exception, match="other half"):
        read_problem(write_problem(problem))


# The search


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 10_000), hot=st.sampled_from([300.0, 20.0, 1.0]))
def test_the_search_reckons_every_new_key_as_the_judge_does(seed, hot):
    problem = everything_new(seed)
    assert read_problem(write_problem(problem)) == problem
    data, places = pack(problem)
    scratch = fresh_scratch(data, seed)
    state = first_state(problem, data, places, scratch, None)
    movable, groups = np.flatnonzero(state.p["fixed"] == 0), np.zeros(len(problem.logs), np.int64)

    score = rebuild(data, state)
    first = judge(problem, plan_of(problem, places, state.p))
    assert score == pytest.approx(first.objective, abs=1e-5)
    for _ in range(3):
        score += anneal(data, state, scratch, movable, groups, 0, 3_000, hot, hot / 3, REACH, MIX)

    report = judge(problem, plan_of(problem, places, state.p))
    assert score == pytest.approx(report.objective, abs=1e-5)
    assert report.errors == []
    assert rebuild(data, state) == pytest.approx(report.objective, abs=1e-5)


def test_half_logs_are_planned_and_pinned_ones_stay():
    cabin = a_cabin(sill_flat=ProblemSillFlat(depth_mm=15.0), half_places=(half_pair(),))
    problem = a_problem(cabin=cabin)

    found = make_plan(problem, moves=60_000, seed=1)

    halves = [piece for piece in found.plan.pieces if piece.round == 0]
    assert [(p.wall, p.piece) for p in halves] == [("B", 0), ("D", 0)]
    assert len({(p.log, p.from_butt_mm, p.butt_at) for p in halves}) == 1
    assert found.report.errors == [] and found.report.complete

    again = make_plan(replace(problem, pinned=tuple(halves)), moves=5_000, seed=2)

    assert [piece for piece in again.plan.pieces if piece.round == 0] == halves
    assert again.report.errors == []


def test_a_kept_plan_stays_to_the_piece_where_nothing_new_is_known():
    problem = a_problem(params=some_params(weights=some_weights(keep=5.0)))
    plan = make_plan(problem, moves=60_000, seed=1).plan
    kept = replace(problem, keep=tuple(KeptPiece(piece=p, due_rounds=p.round - 1) for p in plan.pieces))

    assert make_plan(kept, moves=60_000, seed=2, start=plan).plan == plan
