"""Fifty leads adopt at once; charts come in while a plan is adopted: no log is reserved twice or half."""

from collections import Counter

import pytest

from inventory.logs.models import Log, LogState, Measurement
from planning.plans.models import CurrentPlan, Plan
from planning.reservations.models import Reservation
from tests.many_at_once import at_once
from tests.planning.planning_yard import ROUNDS, a_hut, logs_enough, planned

pytestmark = pytest.mark.django_db(transaction=True)
_PIECES = 4 * ROUNDS


def test_of_fifty_who_adopt_overlapping_plans_at_once_one_plan_gets_its_logs(lead, asker):
    yard = logs_enough(lead)[0].yard_id
    huts = [a_hut(lead, f"Hut {n}") for n in range(5)]
    plans = [planned(lead, [hut], [yard])["plan_id"] for hut in huts]

    answers = at_once([lambda plan=plan: asker(lead.who).post(f"plans/{plan}/adopt") for plan in plans * 10])

    statuses = Counter(answer.status_code for answer in answers)
    assert statuses == {200: 10, 409: 40}
    assert {a.body["type"] for a in answers if a.status_code == 409} == {"/problems/log-already-reserved"}
    (adopted,) = Plan.objects.filter(state="adopted")
    held = Reservation.objects.filter(ended_at=None)
    assert held.count() == held.values("log").distinct().count() == _PIECES
    assert {reservation.plan_id for reservation in held} == {adopted.id}
    assert Log.objects.filter(state=LogState.RESERVED).count() == _PIECES
    assert [one.plan_id for one in CurrentPlan.objects.all()] == [adopted.id]


def test_of_fifty_who_adopt_two_plans_of_one_cabin_at_once_the_later_holds_alone(lead, asker):
    hut, yard = a_hut(lead), logs_enough(lead, count=16)[0].yard_id
    plans = [planned(lead, [hut], [yard], seed=seed)["plan_id"] for seed in (3, 11)]

    answers = at_once([lambda plan=plan: asker(lead.who).post(f"plans/{plan}/adopt") for plan in plans * 25])

    assert {answer.status_code for answer in answers} <= {200, 409}
    assert sorted(Plan.objects.values_list("state", flat=True)) == ["adopted", "replaced"]
    current = CurrentPlan.objects.get()
    held = Reservation.objects.filter(ended_at=None)
    assert {reservation.plan_id for reservation in held} == {current.plan_id}
    assert held.values("log").distinct().count() == held.count() == _PIECES
    reserved = set(Log.objects.filter(state=LogState.RESERVED).values_list("id", flat=True))
    assert reserved == set(held.values_list("log", flat=True))


def test_charts_that_come_in_while_a_plan_is_adopted_leave_it_whole_or_refused(lead, asker):
    hut, logs = a_hut(lead), logs_enough(lead)
    yard = logs[0].yard_id
    plan = planned(lead, [hut], [yard])["plan_id"]
    address = f"yards/{yard}/chart?unit=mm&confirm_doubtful=true"

    def chart(crown_mm):
        head = "number,length,butt,middle,tip,crown"
        again = [f"{log.number},6000,{log.butt_mm},{log.middle_mm},{log.tip_mm},{crown_mm}" for log in logs]
        new = [f"N{crown_mm}-{n},6000,340,315,290,0" for n in range(20)]
        body = "\n".join([head, *again, *new]).encode()
        return asker(lead.who).post(address, body, media="text/csv")

    adopting = [lambda: asker(lead.who).post(f"plans/{plan}/adopt")] * 10
    charting = [lambda crown=crown: chart(crown) for crown in range(10, 20)]
    answers = at_once([job for pair in zip(adopting, charting, strict=True) for job in pair])
    adopted, charted = answers[::2], answers[1::2]

    assert {answer.status_code for answer in charted} == {200}
    (outcome,) = {answer.status_code for answer in adopted}
    held = Reservation.objects.filter(ended_at=None)
    assert (outcome, held.count()) in {(200, _PIECES), (409, 0)}
    reserved = set(Log.objects.filter(state=LogState.RESERVED).values_list("id", flat=True))
    assert reserved == set(held.values_list("log", flat=True))
    assert Log.objects.count() == len(logs) + 10 * 20
    for log in Log.objects.filter(number__in=[one.number for one in logs]):
        latest = Measurement.objects.filter(log=log).latest("measures_version")
        assert (latest.measures_version, latest.crown_mm) == (log.measures_version, log.crown_mm)
