"""What a layout and a chart become in the planner's problem: its members among them."""

from typing import Any

import pytest

from cabins.core.layout import read_layout
from inventory.core.profile import profile_of
from planning.core.check import grain_severity, judge
from planning.core.drawing_up import CabinToPlan, LogToPlan, draw_up_problem
from planning.core.files import read_problem, write_problem
from planning.core.problem import Member, Piece, Plan, Problem
from tests.cabins.core.drawings import a_member, a_rectangle


def drawn_up(*members: dict[str, object], pinned: tuple[Piece, ...] = ()) -> Problem:
    log = LogToPlan(
        id="L1",
        profile=profile_of(length_mm=8000, butt_mm=320, middle_mm=300, tip_mm=280),
        crown_mm=4,
    )
    layout = read_layout(a_rectangle(members=list(members)))
    return draw_up_problem(
        name="members", cabins=[CabinToPlan(id="K1", layout=layout)], logs=[log], pinned=pinned
    )


def test_members_of_a_layout_become_members_of_the_problem_one_by_one():
    purlins = a_member(id="purlin", kind="purlin", length_mm=5400, least_middle_mm=220, count=2)

    problem = drawn_up(a_member(), purlins)

    ridge = Member(id="ridge", length_mm=7200, least_middle_mm=260, crown_limit_mm=25)
    one = Member(id="purlin 1", length_mm=5400, least_middle_mm=220, crown_limit_mm=25)
    two = Member(id="purlin 2", length_mm=5400, least_middle_mm=220, crown_limit_mm=25)
    assert problem.cabins[0].members == (ridge, one, two)
    assert read_problem(write_problem(problem)) == problem


def test_a_layout_without_members_has_none_in_the_problem():
    assert drawn_up().cabins[0].members == ()


def test_a_member_that_was_made_is_held_to_the_layout_by_the_judge():
    made = Piece(cabin="K1", member="ridge", log="L1", from_butt_mm=300)
    fits, too_thick = drawn_up(a_member(), pinned=(made,)), drawn_up(a_member(least_middle_mm=305))
    plan = Plan(problem="members", pieces=(made,))

    assert judge(fits, plan).errors == []
    assert judge(too_thick, plan).errors == ["L1 is too thin for member ridge"]


def a_log(id: str, crown_mm: float | None = 0.0, grain: str | None = "straight", **what: Any) -> LogToPlan:
    profile = profile_of(length_mm=8000, butt_mm=320, middle_mm=300, tip_mm=280)
    return LogToPlan(id=id, profile=profile, crown_mm=crown_mm, grain=grain, **what)


def problem_of(*logs: LogToPlan) -> Problem:
    layout = read_layout(a_rectangle(members=[a_member(crown_limit_mm=25)]))
    return draw_up_problem(name="unknown", cabins=[CabinToPlan(id="K1", layout=layout)], logs=logs)


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
    made = [Piece(cabin="K1", member="ridge", log=log, from_butt_mm=300) for log in ("L2", "L3")]
    problem = problem_of(a_log("L1", 40.0), a_log("L2", 10.0), a_log("L3", None))

    known, unknown = (judge(problem, Plan(problem="unknown", pieces=(piece,))) for piece in made)

    assert known.terms["crown"] <= unknown.terms["crown"]
    assert known.objective < unknown.objective
