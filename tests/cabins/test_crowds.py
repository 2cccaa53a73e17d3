"""Fifty people at one place, or at one number: one of them gets it, and the others are told so."""

from collections import Counter
from uuid import uuid4

import pytest

from cabins.cabins.models import Cabin
from cabins.set_logs.models import SetLog
from inventory.logs.models import Log, LogState, Measurement
from tests.cabins.building import NOON, a_cabin, a_log, a_yard, id_of
from tests.many_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)


def setting(cabin, log):
    place = {"wall": "A", "round": 1, "piece": 0, "from_butt_mm": 60, "butt_at": "start"}
    return {"cabin": str(id_of(cabin)), "log": str(log.id), "set_at": NOON.isoformat(), **place}


def test_of_fifty_who_fill_one_place_at_once_one_does(builder, asker):
    cabin = a_cabin(builder)
    logs = [a_log(builder.who.crew) for _ in range(50)]

    answers = at_once(
        [lambda log=log: asker(builder.who).put(f"set-logs/{uuid4()}", setting(cabin, log)) for log in logs]
    )

    assert Counter(answer.status_code for answer in answers) == {201: 1, 409: 49}
    assert {a.body["type"] for a in answers if a.status_code == 409} == {"/problems/place-filled"}
    done = SetLog.objects.get()
    assert list(Log.objects.exclude(state=LogState.IN_RACK)) == [done.log]
    assert Cabin.objects.get(id=id_of(cabin)).built_version == 1


def test_of_fifty_who_set_one_log_in_one_cabin_each_at_once_one_does(builder, asker):
    cabins = [a_cabin(builder, name=f"Hut {n}") for n in range(10)]
    log = a_log(builder.who.crew)

    answers = at_once(
        [
            lambda cabin=cabin: asker(builder.who).put(f"set-logs/{uuid4()}", setting(cabin, log))
            for cabin in cabins * 5
        ]
    )

    statuses = Counter(answer.status_code for answer in answers)
    assert statuses[201] == SetLog.objects.count() == 1
    assert set(statuses) <= {201, 409, 422}


def test_of_fifty_who_chart_the_same_numbers_at_once_alone_or_by_chart_each_number_is_one_log(learner, asker):
    yard = a_yard(learner.who.crew)
    measures = {"length_mm": 6000, "butt_mm": 340, "middle_mm": 315, "tip_mm": 290}
    rows = [f"{n},6000,340,315,290" for n in range(10)]

    def alone(number):
        body = {"yard": str(yard.id), "number": str(number), **measures}
        return asker(learner.who).put(f"logs/{uuid4()}", body)

    def by_chart():
        chart = "\n".join(["number,length,butt,middle,tip", *rows]).encode()
        return asker(learner.who).post(f"yards/{yard.id}/chart?unit=mm", chart, media="text/csv")

    answers = at_once([*[lambda n=n % 10: alone(n) for n in range(40)], *[by_chart] * 10])

    assert Counter(a.status_code for a in answers[40:]) == {200: 10}
    assert {a.status_code for a in answers[:40]} <= {201, 409}
    assert sorted(Log.objects.values_list("number", flat=True)) == [str(n) for n in range(10)]
    made = sum(a.status_code == 201 for a in answers[:40]) + sum(a.body["added"] for a in answers[40:])
    assert made == Measurement.objects.count() == 10
