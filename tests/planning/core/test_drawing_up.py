"""What a layout and a chart become in the planner's problem: its members among them."""

from cabins.core.layout import read_layout
from inventory.core.profile import profile_of
from planning.core.check import judge
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
