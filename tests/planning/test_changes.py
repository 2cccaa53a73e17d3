"""A new plan says what it changes and what each change gains; a lead takes some, and the rest stands."""

from random import Random
from typing import Any
from uuid import uuid4

import pytest

from inventory.logs.models import Log
from planning.plans.models import CurrentPlan, PlannedPiece
from tests.planning.made_up_plans import a_made_up_plan
from tests.planning.planning_yard import a_hut, logs_enough, planned
from tests.planning.test_at_the_wall import adopted
from tests.planning.test_planning_again import pieces_of

pytestmark = pytest.mark.django_db(transaction=True)


def another_plan(lead: Any, hut: str, **changed: Any) -> str:
    """A plan with no price on changes: it moves many logs."""
    yard = PlannedPiece.objects.filter(cabin=hut).first().log.yard_id
    return planned(lead, [hut], [yard], weights={"keep": 0}, seed=11, **changed)["plan_id"]


def a_poor_plan_adopted(lead: Any, hut: str) -> str:
    """A plan in force that any search does better than; its id."""
    plan = a_made_up_plan(lead, hut, [logs_enough(lead)[0].yard_id], Random(5))
    assert lead.post(f"plans/{plan}/adopt").status_code == 200
    return plan


def test_each_change_is_told_with_its_logs_and_what_it_gains(lead, learner):
    hut = a_hut(lead)
    current = a_poor_plan_adopted(lead, hut)
    plan = another_plan(lead, hut)

    told = learner.get(f"plans/{plan}/changes").body

    assert told["against"] == [current]
    changed = [place for one in told["changes"] for place in one["places"]]
    was, now = pieces_of(current), pieces_of(plan)
    assert len(was - now) >= len(changed) >= 1
    assert told["unchanged"] + len(changed) == len(now)
    for one in told["changes"]:
        assert not one["is_forced"]
        for place in one["places"]:
            assert place["before"]["log_number"] in one["text"]
            assert place["after"]["log_number"] in one["text"]
    assert lead.get(f"plans/{current}/changes").body["changes"] == []


def test_a_lead_takes_a_change_and_the_rest_of_the_plan_in_force_stands(lead, learner):
    hut = a_hut(lead)
    current = a_poor_plan_adopted(lead, hut)
    plan = another_plan(lead, hut)
    told = lead.get(f"plans/{plan}/changes").body
    id, body = str(uuid4()), {"against": told["against"], "changes": [0]}

    refused = learner.post(f"plans/{plan}/changes", {"id": id, **body})
    answer = lead.post(f"plans/{plan}/changes", {"id": id, **body})
    again = lead.post(f"plans/{plan}/changes", {"id": id, **body})
    late = lead.post(f"plans/{plan}/changes", {"id": str(uuid4()), **body})
    unknown = lead.post(
        f"plans/{plan}/changes", {"id": str(uuid4()), "against": [id], "changes": [len(told["changes"])]}
    )

    assert refused.status_code == 403
    assert (answer.status_code, answer.body["id"], answer.body["state"]) == (200, id, "adopted")
    assert again.body == answer.body
    assert str(CurrentPlan.objects.get(cabin=hut).plan_id) == id
    was, now = pieces_of(current), pieces_of(id)
    assert len(was - now) == len(told["changes"][0]["places"])
    assert late.body["type"] == "/problems/plan-stale"
    assert unknown.status_code == 422
    assert answer.body["objective"] == pytest.approx(_judged_at(lead, id), abs=0.005)
    left = lead.get(f"plans/{plan}/changes").body
    assert len(left["changes"]) == len(told["changes"]) - 1


def _judged_at(lead: Any, plan: str) -> float:
    return sum(lead.get(f"plans/{plan}").body["terms"].values())


def test_a_broken_log_forces_its_change_and_it_is_taken_whatever_is_chosen(lead):
    hut = a_hut(lead)
    current = adopted(lead, hut)
    broken = PlannedPiece.objects.filter(plan=current, round=2).first().log
    Log.objects.filter(id=broken.id).update(state="gone")
    plan = another_plan(lead, hut)
    told = lead.get(f"plans/{plan}/changes").body

    answer = lead.post(
        f"plans/{plan}/changes", {"id": str(uuid4()), "against": told["against"], "changes": []}
    )

    assert told["changes"][0]["is_forced"]
    assert answer.body["complete"]
    now = pieces_of(answer.body["id"])
    assert not any(log == broken.id for *_, log, _, _ in now)
    assert len(pieces_of(current) & now) >= len(now) - len(told["changes"][0]["places"])
