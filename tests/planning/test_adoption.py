"""Adopting a plan: logs are reserved once, to what was really planned."""

from concurrent.futures import ThreadPoolExecutor
from uuid import UUID, uuid4

import pytest
from django.db import connections

from inventory.logs.models import Log, LogState
from planning.reservations.models import Reservation
from tests.planning.planning_yard import ROUNDS, a_hut, logs_enough, planned

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_lead_adopts_a_plan_and_its_logs_are_reserved(lead):
    hut = a_hut(lead)
    logs = logs_enough(lead)
    job = planned(lead, [hut], [logs[0].yard_id])

    adopted = lead.post(f"plans/{job['plan_id']}/adopt")

    assert adopted.body["state"] == "adopted"
    reserved = lead.get(f"reservations?open=true&cabin={hut}").body["items"]
    assert len(reserved) == 4 * ROUNDS
    assert Log.objects.filter(state=LogState.RESERVED).count() == 4 * ROUNDS
    assert lead.post(f"plans/{job['plan_id']}/adopt").status_code == 200
    assert Reservation.objects.count() == 4 * ROUNDS


def test_a_builder_plans_but_does_not_adopt(lead, builder):
    hut = a_hut(builder)
    job = planned(builder, [hut], [logs_enough(builder)[0].yard_id])

    assert builder.post(f"plans/{job['plan_id']}/adopt").status_code == 403


def test_a_log_is_reserved_for_one_cabin_only(lead):
    first, second = a_hut(lead, "Pond hut"), a_hut(lead, "Hill hut")
    yard = logs_enough(lead)[0].yard_id
    job_one, job_two = planned(lead, [first], [yard]), planned(lead, [second], [yard])
    lead.post(f"plans/{job_one['plan_id']}/adopt")

    refused = lead.post(f"plans/{job_two['plan_id']}/adopt")

    assert refused.status_code == 409
    assert refused.body["type"] == "/problems/log-already-reserved"
    assert all("reserved for another cabin" in e["detail"] for e in refused.body["errors"])
    assert lead.get(f"reservations?cabin={second}").body["items"] == []


def test_a_plan_is_stale_after_a_log_was_measured_again(lead):
    hut = a_hut(lead)
    logs = logs_enough(lead)
    job = planned(lead, [hut], [logs[0].yard_id])
    used = lead.get(f"plans/{job['plan_id']}/pieces").body["items"][0]["log"]
    version = lead.get(f"logs/{used}").body["version"]
    assert lead.patch(f"logs/{used}", {"crown_mm": 17}, version=version).status_code == 200

    refused = lead.post(f"plans/{job['plan_id']}/adopt")

    assert refused.status_code == 409
    assert refused.body["type"] == "/problems/plan-stale"
    assert [e["code"] for e in refused.body["errors"]] == ["log_measured"]
    assert Reservation.objects.count() == 0


def test_a_plan_with_a_log_that_is_gone_is_not_adopted(lead):
    hut = a_hut(lead)
    job = planned(lead, [hut], [logs_enough(lead)[0].yard_id])
    used = lead.get(f"plans/{job['plan_id']}/pieces").body["items"][0]["log"]
    assert lead.post(f"logs/{used}/write-off", {"reason": "Sold."}).status_code == 200

    refused = lead.post(f"plans/{job['plan_id']}/adopt")

    assert (refused.status_code, refused.body["type"]) == (409, "/problems/plan-stale")
    assert Reservation.objects.count() == 0


def test_a_plan_is_stale_after_its_layout_was_changed(lead):
    hut = a_hut(lead)
    job = planned(lead, [hut], [logs_enough(lead)[0].yard_id])
    layout = lead.get(f"cabins/{hut}/layout").body
    document = {**layout["layout"], "rounds": ROUNDS + 1}
    lead.put(f"cabins/{hut}/layout", document, version=layout["version"])

    refused = lead.post(f"plans/{job['plan_id']}/adopt")

    assert refused.status_code == 409
    assert [e["code"] for e in refused.body["errors"]] == ["layout_changed"]


def test_a_later_plan_takes_the_place_of_the_earlier_one(lead):
    hut = a_hut(lead)
    yard = logs_enough(lead)[0].yard_id
    first = planned(lead, [hut], [yard])
    lead.post(f"plans/{first['plan_id']}/adopt")

    second = planned(lead, [hut], [yard], seed=11)
    lead.post(f"plans/{second['plan_id']}/adopt")

    assert lead.get(f"plans/{first['plan_id']}").body["state"] == "replaced"
    assert lead.post(f"plans/{first['plan_id']}/adopt").status_code == 409
    reserved = {p["log"] for p in lead.get("reservations?open=true").body["items"]}
    planned_logs = {p["log"] for p in lead.get(f"plans/{second['plan_id']}/pieces").body["items"]}
    assert reserved == planned_logs
    assert Log.objects.filter(state=LogState.RESERVED).count() == len(reserved)


def test_a_released_log_lies_in_the_rack_again(lead, builder):
    hut = a_hut(lead)
    job = planned(lead, [hut], [logs_enough(lead)[0].yard_id])
    lead.post(f"plans/{job['plan_id']}/adopt")
    reservation = lead.get("reservations?open=true&limit=1").body["items"][0]

    assert builder.post(f"reservations/{reservation['id']}/release").status_code == 403
    released = lead.post(f"reservations/{reservation['id']}/release")

    assert released.body["ended_because"] == "released"
    assert lead.get(f"logs/{reservation['log']}").body["state"] == "in_rack"


def test_plans_are_found_by_any_cabin_they_were_made_for(lead):
    yard = logs_enough(lead)[0].yard_id
    one, other = a_hut(lead, "One"), a_hut(lead, "Other")
    alone, both = (planned(lead, huts, [yard])["plan_id"] for huts in ([one], [one, other]))

    def plans_for(cabin: str) -> set[str]:
        return {plan["id"] for plan in lead.get(f"plans?cabin={cabin}").body["items"]}

    assert plans_for(one) == {alone, both}
    assert plans_for(other) == {both}
    assert plans_for(str(uuid4())) == set()


def test_of_many_who_adopt_at_once_no_two_get_the_same_log(lead, asker):
    yard = logs_enough(lead)[0].yard_id
    huts = [a_hut(lead, f"Hut {n}") for n in range(4)]
    plans = [planned(lead, [hut], [yard])["plan_id"] for hut in huts]

    def adopt(plan: str) -> int:
        try:
            return asker(lead.who).post(f"plans/{plan}/adopt").status_code
        finally:
            connections.close_all()

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(adopt, plans * 4))

    assert answers.count(200) == 4, "the one plan that won, each time it was sent"
    assert set(answers) == {200, 409}
    held = Reservation.objects.filter(ended_at=None)
    assert held.count() == len(set(held.values_list("log", flat=True))) == 4 * ROUNDS
    assert len(set(held.values_list("cabin", flat=True))) == 1
    assert UUID(plans[0])
