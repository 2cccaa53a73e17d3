"""`Prefer: wait`: an answer as soon as something comes, and threads left for those who do not wait."""

import time
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import connection

from crews.api import waiting
from crews.api.waiting import MOST_S, seconds_to_wait
from crews.events.actions import emit_event
from crews.events.models import EventKind
from tests.live import Live, Person
from tests.people import MORNING

CULLED = {"log": str(uuid4()), "number": "A1", "reason": "sweep"}


@pytest.mark.parametrize(
    ("prefer", "seconds"),
    [
        ("wait=10", 10), ("respond-async, wait=3", 3), ('WAIT = "7"; foo', 7), ("wait=600", MOST_S),
        ("wait=0", 0), ("wait=-1", 0), ("wait=soon", 0), ("await=5", 0), ("", 0),
    ],
)  # fmt: skip
def test_the_wish_to_wait_is_read(prefer, seconds):
    assert seconds_to_wait(SimpleNamespace(headers={"Prefer": prefer})) == seconds


def test_what_is_there_is_told_at_once(lead):
    emit_event(lead.who.crew, EventKind.LOG_CULLED, CULLED, MORNING)
    began = time.monotonic()

    told = lead.get("events", prefer="wait=25")

    assert [event["data"] for event in told.body["items"]] == [CULLED]
    assert told.headers["Preference-Applied"] == "wait=25"
    assert time.monotonic() - began < 20


def test_where_nothing_comes_the_answer_comes_after_the_time(lead):
    began = time.monotonic()

    told = lead.get("events", prefer="wait=1")

    assert (told.body["items"], told.body["more"]) == ([], False)
    assert told.headers["Preference-Applied"] == "wait=1"
    assert time.monotonic() - began >= 1


def test_beyond_a_quarter_of_the_threads_nobody_waits(lead):
    assert waiting._places._initial_value == max(1, settings.WEB_THREADS // 4)
    for _ in range(waiting._places._initial_value):
        waiting._places.acquire()
    try:
        told = lead.get("events", prefer="wait=25")
    finally:
        for _ in range(waiting._places._initial_value):
            waiting._places.release()

    assert told.body["items"] == []
    assert "Preference-Applied" not in told.headers


def test_a_place_to_wait_comes_back_when_the_answer_fails(lead):
    for _ in range(waiting._places._initial_value + 1):
        assert lead.get("planning-jobs/" + str(uuid4()), prefer="wait=1").status_code == 404
    assert waiting._places._value == waiting._places._initial_value


@pytest.mark.django_db(transaction=True)
def test_who_waits_holds_no_connection(lead, monkeypatch):
    seen = []
    monkeypatch.setattr(waiting.time, "sleep", lambda _: seen.append(connection.connection))

    lead.get("events", prefer="wait=1")

    assert seen
    assert set(seen) == {None}


def timed(someone: Person, address: str, **headers: str):
    began = time.monotonic()
    answer = someone.ask("GET", address, **headers)
    return answer.body, time.monotonic() - began


def test_who_waits_hears_of_it_while_others_are_answered(live: Live):
    crew = live.crew("Long Wait crew")
    end = crew.get("events?after=end")["cursor"]

    with ThreadPoolExecutor(12) as pool:
        waits = [pool.submit(timed, crew, f"events?after={end}", Prefer="wait=20") for _ in range(10)]
        time.sleep(1.5)
        at_once = [one.result()[1] for one in waits if one.done()]
        _, me = timed(crew, "me")
        yard = str(uuid4())
        crew.put(f"yards/{yard}", {"name": "Lower yard"})
        sizes = {"length_mm": 5000, "butt_mm": 300, "middle_mm": 275, "tip_mm": 250}
        said = time.monotonic()
        crew.put(f"logs/{uuid4()}", {"yard": yard, "number": "A1", **sizes, "charted_on": "2026-05-04"})
        told = [one.result() for one in waits]
        heard = time.monotonic() - said

    places = 2 * max(1, settings.WEB_THREADS // 4)
    waited = [events for events, seconds in told if events["items"]]
    assert len(at_once) >= 10 - places
    assert 1 <= len(waited) <= places
    assert all([one["kind"] for one in events["items"]] == ["log_charted"] for events in waited)
    assert me < 5
    assert heard < 10
