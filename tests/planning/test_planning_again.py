"""Planning again begins from the adopted plan: without a new fact it is the same plan, to the piece."""

from random import Random
from typing import Any

import pytest

from inventory.logs.models import Log
from planning.core.check import judge
from planning.core.files import read_plan, read_problem
from planning.jobs import tasks
from planning.jobs.models import PlanningStart
from planning.plans.models import Plan, PlannedPiece
from tests.cabins.building import a_yard
from tests.planning.made_up_plans import a_made_up_plan
from tests.planning.planning_yard import a_hut, ask, logs_enough, planned
from tests.planning.test_at_the_wall import adopted, measure, round_of, set_piece

pytestmark = pytest.mark.django_db(transaction=True)


def pieces_of(plan: str) -> set[tuple[object, ...]]:
    return set(
        PlannedPiece.objects.filter(plan=plan).values_list(
            "wall", "round", "piece", "member", "log", "from_butt_mm", "butt_at"
        )
    )


def test_without_a_new_fact_the_same_plan_comes_back_to_the_piece(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    yard = PlannedPiece.objects.filter(plan=plan).first().log.yard_id

    again = planned(lead, [hut], [yard], seed=8)["plan_id"]

    assert pieces_of(again) == pieces_of(plan)


def test_a_measured_height_off_the_plan_is_steered_and_moves_hardly_a_log(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    first_round = round_of(lead, plan, 1)
    for piece in first_round:
        set_piece(lead, piece)
    tops = {
        (t["wall"], t["column"]): t["top_mm"]
        for t in lead.get(f"plans/{plan}/heights?cabin={hut}").body["tops"]
        if t["round"] == 1
    }
    for n, ((wall, column), top) in enumerate(tops.items()):
        off = (6, -7, 5, -9)[n % 4]
        assert measure(lead, hut, wall, 1, "end" if column else "start", top + off).status_code == 201
    yard = Log.objects.get(id=first_round[0]["log"]).yard_id

    job = planned(lead, [hut], [yard])
    again = Plan.objects.get(id=job["plan_id"])

    problem = again.problem["cabins"][0]
    assert problem["gap_band"][0] <= problem["gap"] <= problem["gap_band"][1]
    for (wall, column), top in tops.items():
        end = 1 if column else 0
        assert problem["as_built"]["planned"][wall][0][end] == pytest.approx(top, abs=0.006)
        # What stands off the plan is back on it one round later: the band allows as much.
        assert again.report["planned"][hut][wall][1][end] == pytest.approx(top, abs=0.006)
    was, now = pieces_of(plan), pieces_of(str(again.id))
    assert len(was & now) >= len(was) - 1
    assert again.report["metrics"]["kept"] >= again.report["metrics"]["keep_entries"] - 1


def test_a_log_that_is_gone_is_replaced_and_the_rest_stays(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    broken = PlannedPiece.objects.filter(plan=plan, round=2).first().log
    Log.objects.filter(id=broken.id).update(state="gone")

    again = planned(lead, [hut], [broken.yard_id])["plan_id"]

    was, now = pieces_of(plan), pieces_of(again)
    assert not any(log == broken.id for *_, log, _, _ in now)
    assert len(was & now) >= len(was) - 3, "its place, and what traded places with it"


PARTITION = {
    "id": "P",
    "from": {"wall": "A", "at_mm": 2500},
    "to": {"wall": "C", "at_mm": 2500},
    "start": "high",
}


def tops_over_http(someone: Any, plan: str, hut: str) -> dict[tuple[str, int, int], float]:
    tops = someone.get(f"plans/{plan}/heights?cabin={hut}").body["tops"]
    return {(top["wall"], top["round"], top["column"]): top["top_mm"] for top in tops}


def test_what_was_measured_at_a_tee_counts_for_the_planner_as_it_does_for_the_sheets(lead):
    yard = a_yard(lead.who.crew)
    logs_enough(lead, count=24, yard=yard)
    hut = a_hut(lead, partitions=[PARTITION])
    plan = a_made_up_plan(lead, hut, [yard.id], Random(5))
    lead.post(f"plans/{plan}/adopt")
    for piece in round_of(lead, plan, 1):
        assert set_piece(lead, piece).status_code == 201
    before = tops_over_http(lead, plan, hut)
    # Wall A at both ends and at its tee; of wall C the ends, so that its tee lies on the line between them.
    assert measure(lead, hut, "A", 1, "start", before["A", 1, 0] + 4).status_code == 201
    assert measure(lead, hut, "A", 1, "end", before["A", 1, 2] - 3).status_code == 201
    assert measure(lead, hut, "A", 1, "P-A", before["A", 1, 1] + 9).status_code == 201
    assert measure(lead, hut, "C", 1, "start", before["C", 1, 0] + 6).status_code == 201
    assert measure(lead, hut, "C", 1, "end", before["C", 1, 2] + 6).status_code == 201

    start = PlanningStart.objects.get(job=ask(lead, [hut], [yard.id]).body["id"])
    problem = read_problem(tasks._request_of(start)["problem"])
    same = read_plan(Plan.objects.get(id=plan).job.best | {"problem": problem.name})
    judged = judge(problem, same).heights[hut].top_mm

    now = tops_over_http(lead, plan, hut)
    built = problem.cabins[0].as_built
    assert built.tops_mm["A"] == ((pytest.approx(before["A", 1, 0] + 4, abs=0.01),
                                   pytest.approx(before["A", 1, 2] - 3, abs=0.01),
                                   pytest.approx(before["A", 1, 1] + 9, abs=0.01)),)  # fmt: skip
    assert built.tops_mm["C"][0][2] == pytest.approx(before["C", 1, 1] + 6, abs=0.01)
    assert built.tops_mm["B"] == ((None, None),)
    # The judge counts a wall's tees after its two ends; at the tee of A every round above goes on from it.
    for wall in "AC":
        for number in (1, 2, 3):
            for column, counted in ((0, 0), (1, 2), (2, 1)):
                told = pytest.approx(now[wall, number, column], abs=0.006)
                assert judged[wall, number, counted] == told, (
                    wall, number, column,
                )  # fmt: skip
