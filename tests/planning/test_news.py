"""What the chain tells other programs: plans ready, rounds complete, logs culled, hazards found."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from planning.plans.staleness import tell_of_stale_plans
from tests.cabins.building import a_log
from tests.people import MORNING
from tests.planning.planning_yard import a_hut, logs_enough, planned
from tests.planning.test_at_the_wall import adopted, round_of, set_piece


def told(someone, kind: str) -> list[dict]:
    return [event["data"] for event in someone.get("events").body["items"] if event["kind"] == kind]


@pytest.mark.django_db(transaction=True)
def test_a_plan_that_is_ready_is_told_once(lead):
    hut = a_hut(lead)

    job = planned(lead, [hut], [logs_enough(lead)[0].yard_id])

    assert told(lead, "plan_ready") == [
        {"job": job["id"], "plan": job["plan_id"], "feasible": True, "complete": True}
    ]


@pytest.mark.django_db(transaction=True)
def test_a_round_is_told_when_its_last_log_is_set(lead):
    hut = a_hut(lead)
    pieces = round_of(lead, adopted(lead, hut), 1)

    for piece in pieces[:-1]:
        set_piece(lead, piece)
    before = told(lead, "round_complete")
    set_piece(lead, pieces[-1])

    assert before == []
    assert told(lead, "round_complete") == [{"cabin": hut, "round": 1}]


@pytest.mark.django_db(transaction=True)
def test_a_plan_that_no_longer_fits_is_told_once_with_the_reasons(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    here, there = round_of(lead, plan, 1)[0], round_of(lead, plan, 2)[0]
    other = round_of(lead, plan, 3)[0]["log"]
    assert tell_of_stale_plans(at=MORNING) == 0

    assert set_piece(lead, here, log=there["log"], confirm_doubtful=True).status_code == 201
    version = lead.get(f"logs/{other}").body["version"]
    lead.patch(f"logs/{other}", {"crown_mm": 9}, version=version)

    assert [tell_of_stale_plans(at=MORNING) for _ in range(2)] == [1, 0]
    (news,) = told(lead, "plan_stale")
    assert (news["plan"], news["cabin"]) == (plan, hut)
    assert len(news["because"]) == 2


@pytest.mark.django_db(transaction=True)
def test_only_crews_where_something_changed_lately_are_looked_at_and_once_a_night_all(lead):
    hut = a_hut(lead)
    first = round_of(lead, adopted(lead, hut), 1)[0]["log"]
    version = lead.get(f"logs/{first}").body["version"]
    lead.patch(f"logs/{first}", {"crown_mm": 9}, version=version)
    an_hour_on = now() + timedelta(hours=1)

    assert tell_of_stale_plans(at=an_hour_on) == 0
    assert tell_of_stale_plans(at=an_hour_on, changed_within=None) == 1
    assert [event["cabin"] for event in told(lead, "plan_stale")] == [hut]


def test_a_culled_log_is_told_once_with_its_reason(lead):
    log = a_log(lead.who.crew, number="17")

    for _ in range(2):
        lead.post(f"logs/{log.id}/put-aside", {"reason": "Rot at the tip."})

    assert told(lead, "log_culled") == [{"log": str(log.id), "number": "17", "reason": "Rot at the tip."}]


def test_a_hazard_found_later_is_told_and_one_charted_at_first_is_not(lead):
    log = a_log(lead.who.crew, number="17")
    wire = {"kind": "metal", "from_butt_mm": 2100}

    answer = lead.patch(f"logs/{log.id}", {"hazards": [wire]}, version=log.version)
    lead.patch(f"logs/{log.id}", {"remarks": "wire"}, version=answer.body["version"])

    (news,) = told(lead, "log_hazardous")
    assert (news["number"], news["hazards"][0]["kind"]) == ("17", "metal")
