"""What a lead said of logs holds in every plan: pinned, kept for a use, or not used at all."""

from dataclasses import replace

import pytest

from planning.core.lead_words import LeadWord, heed_lead
from planning.core.problem import PlanPiece, ProblemMember, WallProblem
from planning.core.search import make_plan
from tests.planning.core_problems import a_cabin, a_log, a_problem

RIDGE = ("K1", "member:ridge", 0, 0)


def a_roofed(**more: object) -> WallProblem:
    ridge = ProblemMember(id="ridge", length_mm=3500.0, least_middle_mm=250.0, crown_limit_mm=20.0)
    return a_problem(cabin=a_cabin(members=(ridge,)), **more)


def heeded(problem: WallProblem, *words: LeadWord, in_force: tuple[PlanPiece, ...] = ()) -> WallProblem:
    return heed_lead(problem, words, members={RIDGE: "ridge"}, in_force=in_force)


def test_a_log_kept_for_the_ridge_is_the_ridge_in_every_plan():
    problem = heeded(a_roofed(), LeadWord(log="3", use="ridge"))

    for seed in (1, 2):
        plan = make_plan(problem, moves=5_000, seed=seed).plan
        assert {p.place for p in plan.pieces if p.log == "3"} == {RIDGE}


def test_a_log_kept_for_sill_or_plate_lies_in_its_round_and_nowhere_else():
    words = [LeadWord(log="9", use="sill"), LeadWord(log="0", use="plate", cabin="K1")]

    plan = make_plan(heeded(a_roofed(), *words), moves=5_000, seed=1).plan

    assert [p.round for p in plan.pieces if p.log == "9"] == [1]
    assert [p.round for p in plan.pieces if p.log == "0"] == [2]


def test_what_lies_right_in_the_plan_in_force_stays_to_the_millimetre():
    lying = PlanPiece(cabin="K1", wall="C", round=1, log="4", from_butt_mm=137.25, butt_at="end")

    found = heeded(a_roofed(), LeadWord(log="4", use="sill"), in_force=(lying,))

    assert found.pinned == (lying,)
    assert found.excluded == {"4"}


def test_a_log_that_suits_no_place_of_its_use_lies_unused():
    thin = a_log("thin", middle_mm=200.0, taper_mm=10.0)
    problem = a_roofed(logs=(*a_problem().logs, thin))

    found = heeded(problem, LeadWord(log="thin", use="ridge"), LeadWord(log="2"))

    assert found.pinned == ()
    assert found.excluded == {"thin", "2"}


def test_a_pin_goes_before_what_is_kept_and_what_is_set_before_both():
    pin = LeadWord(log="1", place=("K1", "A", 1, 0), from_butt_mm=90.0, butt_at="end")
    set_already = PlanPiece(cabin="K1", wall="B", round=1, log="5", from_butt_mm=50.0)
    problem = replace(a_roofed(), pinned=(set_already,))

    found = heeded(problem, LeadWord(log="5", use="ridge"), pin)

    by_log = {piece.log: piece for piece in found.pinned}
    assert by_log["1"] == PlanPiece(cabin="K1", wall="A", round=1, log="1", from_butt_mm=90.0, butt_at="end")
    assert by_log["5"] == set_already


@pytest.mark.parametrize(("cabin", "is_free"), [("K1", True), ("K9", False)])
def test_a_log_kept_for_a_cabin_is_free_where_only_that_one_is_planned(cabin: str, is_free: bool):
    found = heeded(a_roofed(), LeadWord(log="7", use="cabin", cabin=cabin))

    assert ("7" not in found.excluded) == is_free
