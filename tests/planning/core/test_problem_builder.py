"""What a layout and a chart become in the planner's problem: members, and walls that run on, among them."""

from functools import partial
from typing import Any

import pytest

from cabins.core.layout import read_layout
from cabins.core.layout_parts import Layout
from cabins.core.pieces import ButtAt, LaidPiece, column_diameters
from cabins.core.places import counted_columns, crossings_of
from cabins.core.stack import stack_up
from inventory.core.profile import diameter_mm_at, profile_of
from planning.core.check import grain_severity, judge
from planning.core.files import read_problem, write_problem
from planning.core.places import crossings
from planning.core.problem import PlanPiece, ProblemMember, WallPlan, WallProblem
from planning.core.problem_builder import CabinToPlan, LogToPlan, build_problem
from planning.core.search import make_plan
from planning.walls.planned import tops_by_spot
from tests.cabins.core.drawings import a_member, a_rectangle, an_l_shape


def drawn_up(*members: dict[str, object], pinned: tuple[PlanPiece, ...] = ()) -> WallProblem:
    log = LogToPlan(
        id="L1",
        profile=profile_of(length_mm=8000, butt_mm=320, middle_mm=300, tip_mm=280),
        crown_mm=4,
    )
    layout = read_layout(a_rectangle(members=list(members)))
    return build_problem(
        name="members", cabins=[CabinToPlan(id="K1", layout=layout)], logs=[log], pinned=pinned
    )


def test_members_of_a_layout_become_members_of_the_problem_one_by_one():
    purlins = a_member(id="purlin", kind="purlin", length_mm=5400, least_middle_mm=220, count=2)

    problem = drawn_up(a_member(), purlins)

    ridge = ProblemMember(id="ridge", length_mm=7200, least_middle_mm=260, crown_limit_mm=25)
    one = ProblemMember(id="purlin 1", length_mm=5400, least_middle_mm=220, crown_limit_mm=25)
    two = ProblemMember(id="purlin 2", length_mm=5400, least_middle_mm=220, crown_limit_mm=25)
    assert problem.cabins[0].members == (ridge, one, two)
    assert read_problem(write_problem(problem)) == problem


def test_a_layout_without_members_has_none_in_the_problem():
    assert drawn_up().cabins[0].members == ()


def test_a_member_that_was_made_is_held_to_the_layout_by_the_judge():
    made = PlanPiece(cabin="K1", member="ridge", log="L1", from_butt_mm=300)
    fits, too_thick = drawn_up(a_member(), pinned=(made,)), drawn_up(a_member(least_middle_mm=305))
    plan = WallPlan(problem="members", pieces=(made,))

    assert judge(fits, plan).errors == []
    assert judge(too_thick, plan).errors == ["L1 is too thin for member ridge"]


def a_log(id: str, crown_mm: float | None = 0.0, grain: str | None = "straight", **what: Any) -> LogToPlan:
    profile = profile_of(length_mm=8000, butt_mm=320, middle_mm=300, tip_mm=280)
    return LogToPlan(id=id, profile=profile, crown_mm=crown_mm, grain=grain, **what)


def problem_of(*logs: LogToPlan) -> WallProblem:
    layout = read_layout(a_rectangle(members=[a_member(crown_limit_mm=25)]))
    return build_problem(name="unknown", cabins=[CabinToPlan(id="K1", layout=layout)], logs=logs)


def test_a_log_nobody_looked_at_bows_as_the_others_do_and_half_their_spread_more():
    charted = [a_log("L1", 0.0), a_log("L2", 20.0), a_log("L3", 40.0)]

    problem = problem_of(*charted, a_log("L4", None, None))

    crowns = [log.crown_mm for log in problem.logs]
    assert crowns[:3] == [0, 20, 40]
    # Mean 20, spread sqrt((400 + 0 + 400) / 3) = 16.33: half of it more.
    assert crowns[3] == pytest.approx(28.165, abs=0.001)
    assert read_problem(write_problem(problem)).logs[3].crown_mm == crowns[3]


def test_a_crew_that_looked_at_no_log_has_the_published_sweep():
    (log,) = problem_of(a_log("L1", None, None)).logs

    assert log.crown_mm == pytest.approx(25.4 * 8000 / 4876.8)
    assert grain_severity(log) == 0, "no rule that binds may keep it out of a wall"


def test_a_grain_nobody_looked_at_winds_as_the_others_do_and_half_their_spread_more():
    twisted = a_log("L2", grain="left", twist=0.08)

    problem = problem_of(a_log("L1"), twisted, a_log("L3", None, None), a_log("L4", grain=None))

    unknown = problem.logs[2]
    # Mean 0.04, spread 0.04.
    assert (unknown.grain, unknown.twist) == ("left", pytest.approx(0.06))
    assert grain_severity(problem.logs[0]) == 0 < grain_severity(unknown) < grain_severity(problem.logs[1])
    assert problem_of(a_log("L1"), a_log("L2", grain=None)).logs[1].twist == 0


def test_for_a_ridge_the_charted_log_is_taken_and_not_the_one_nobody_looked_at():
    made = [PlanPiece(cabin="K1", member="ridge", log=log, from_butt_mm=300) for log in ("L2", "L3")]
    problem = problem_of(a_log("L1", 40.0), a_log("L2", 10.0), a_log("L3", None))

    known, unknown = (judge(problem, WallPlan(problem="unknown", pieces=(piece,))) for piece in made)

    assert known.terms["crown"] <= unknown.terms["crown"]
    assert known.objective < unknown.objective


def runs_on_both_ways() -> Layout:
    """The L of three rounds; C and D run on past its inner corner d, to F and to A."""
    document = an_l_shape(rounds=3)
    document["walls"][2]["runs_on_end"] = document["walls"][3]["runs_on_start"] = True
    return read_layout(document)


def test_walls_that_run_on_cross_in_the_problem_as_in_the_layout():
    layout = runs_on_both_ways()

    (cabin,) = build_problem(name="L", cabins=[CabinToPlan(id="L", layout=layout)], logs=[]).cabins

    # In a problem a wall's columns are its start, its end, and then what crosses it between them.
    assert len(crossings(cabin)) == len(crossings_of(layout)) == 8
    assert (("C", 2), ("D", 2)) in crossings(cabin)
    assert (("C", 1), ("F", 2)) in crossings(cabin)
    tops = tops_by_spot(layout, {"C": [[0, 0, 0], [301, 303, 302]]})
    assert [tops["C", 1, column] for column in (0, 1, 2)] == [301, 302, 303]


def test_a_plan_of_walls_that_run_on_has_the_tops_of_the_wall_stack():
    layout = runs_on_both_ways()
    profiles = {
        f"{n}": profile_of(length_mm=9000, butt_mm=330 + n, middle_mm=310 + n, tip_mm=295 + n)
        for n in range(24)
    }
    logs = [LogToPlan(id=id, profile=profile) for id, profile in profiles.items()]
    problem = build_problem(name="L", cabins=[CabinToPlan(id="L", layout=layout)], logs=logs)

    found = make_plan(problem, moves=5_000, seed=1)

    assert found.report.errors == [] and found.report.complete
    laid = [
        LaidPiece(
            wall=piece.wall,
            round=piece.round,
            piece=piece.piece,
            diameter_at=partial(diameter_mm_at, profiles[piece.log]),
            from_butt_mm=piece.from_butt_mm,
            butt_at=ButtAt(piece.butt_at),
        )
        for piece in found.plan.pieces
    ]
    stack = stack_up(layout, diameters_mm=column_diameters(layout, laid))
    tops = {
        (wall, number, column.column): found.report.heights["L"].top_mm[wall, number, counted]
        for wall, columns in counted_columns(layout).items()
        for number in range(4)
        for counted, column in enumerate(columns)
    }
    assert tops == pytest.approx(stack.heights_mm)
