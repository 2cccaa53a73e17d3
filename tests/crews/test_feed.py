"""The feed: one order for every reader, nothing lost however slow its writer was, nothing twice."""

import random
import threading
from contextlib import ExitStack
from datetime import timedelta
from uuid import uuid4

import psycopg
import pytest
from django.db import connection

from crews.api.positions import START
from crews.events.actions import emit_event, emit_events
from crews.events.models import EventKind
from crews.events.queries import END, cursor_asked, read_feed
from tests.following import until_the_feed_shows_all
from tests.people import MORNING, a_crew

_INSERT = (
    "INSERT INTO crews_event (id, crew_id, kind, data, at) VALUES (%s, %s, 'round_complete', '{}', now())"
)


def _of_log(number):
    return {"log": str(uuid4()), "number": number, "reason": "sweep"}


def culled(crew, *logs):
    emit_events(crew, [(EventKind.LOG_CULLED, _of_log(log)) for log in logs], MORNING)


def logs_of(answer):
    return [event["data"]["number"] for event in answer.body["items"]]


def test_a_reader_goes_on_from_its_cursor_also_at_the_end_and_on_an_empty_feed(lead):
    empty = lead.get("events").body

    culled(lead.who.crew, "1", "2", "3")
    first = lead.get(f"events?limit=2&after={empty['cursor']}")
    rest = lead.get(f"events?limit=2&after={first.body['cursor']}")
    none = lead.get(f"events?after={rest.body['cursor']}")
    culled(lead.who.crew, "4")
    news = lead.get(f"events?after={none.body['cursor']}")

    assert (empty["items"], empty["more"]) == ([], False)
    assert [logs_of(one) for one in (first, rest, none, news)] == [["1", "2"], ["3"], [], ["4"]]
    assert [one.body["more"] for one in (first, rest, none, news)] == [True, False, False, False]


def test_within_a_transaction_events_stand_as_they_were_written(lead):
    logs = [str(n) for n in range(20)]

    culled(lead.who.crew, *logs)

    assert logs_of(lead.get("events")) == logs


def test_several_kinds_are_read_at_once(lead):
    crew = lead.who.crew
    cabin, plan = str(uuid4()), str(uuid4())
    for kind, data in (
        (EventKind.ROUND_COMPLETE, {"cabin": cabin, "round": 3}),
        (EventKind.LOG_CULLED, _of_log("1")),
        (EventKind.PLAN_STALE, {"plan": plan, "cabin": cabin, "because": []}),
    ):
        emit_event(crew, kind, data, MORNING + timedelta(days=1))

    found = lead.get("events?kind=plan_stale,round_complete").body["items"]

    assert [event["kind"] for event in found] == ["round_complete", "plan_stale"]


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("kind=log_eaten", "?kind"),
        ("after=soon", "?after"),
        ("after=WzEsIi0iXQ", "?after"),
        ("since=x", "?since"),
    ],
)
def test_what_cannot_be_read_of_the_feed_is_refused(lead, query, pointer):
    refused = lead.get(f"events?{query}")

    assert refused.status_code == 400
    assert [one["pointer"] for one in refused.body["errors"]] == [pointer]


def test_a_slow_transaction_is_waited_for_and_nothing_stands_before_what_was_read(here):
    crew = a_crew().crew
    slow, fast = uuid4(), uuid4()
    with psycopg.connect(here) as one, psycopg.connect(here) as other:
        one.execute(_INSERT, [slow, crew.id])
        other.execute(_INSERT, [fast, crew.id])
        other.commit()

        before = read_feed(crew, kinds=(), after=START, limit=9)
        one.commit()
    after = _all_that_is_written(crew, before.cursor)

    assert before.items == []
    assert [event["id"] for event in after] == [slow, fast]


def test_who_begins_at_the_end_is_given_what_is_still_being_written(here):
    crew, slow = a_crew().crew, uuid4()
    with psycopg.connect(here) as one:
        one.execute(_INSERT, [slow, crew.id])

        end = read_feed(crew, kinds=(), after=cursor_asked(END), limit=9)
        one.commit()

    assert [event["id"] for event in _all_that_is_written(crew, end.cursor)] == [slow]


def test_fifty_slow_and_fast_writers_lose_nothing_for_a_poller_and_give_nothing_twice(here):
    crew = a_crew().crew
    writers = [_Writer(here, crew.id, seed) for seed in range(50)]
    read, cursor = [], START
    with ExitStack() as ends:
        for writer in writers:
            ends.callback(writer.join)
            writer.start()
        while any(writer.is_alive() for writer in writers):
            part = read_feed(crew, kinds=(), after=cursor, limit=7)
            read += part.items
            cursor = part.cursor

    read += _all_that_is_written(crew, cursor)

    ids = [event["id"] for event in read]
    assert len(ids) == len(set(ids))
    assert set(ids) == {id for writer in writers for id in writer.written}
    assert len(ids) == 50 * 3 * 2
    assert [event["id"] for event in _all_that_is_written(crew, START)] == ids


class _Writer(threading.Thread):
    """Three transactions of two events each, with pauses before the commit that differ a hundredfold."""

    def __init__(self, conninfo, crew, seed):
        super().__init__()
        self._conninfo, self._crew, self._chance, self.written = conninfo, crew, random.Random(seed), []

    def run(self):
        with psycopg.connect(self._conninfo) as mine:
            for _ in range(3):
                ids = [uuid4(), uuid4()]
                for id in ids:
                    mine.execute(_INSERT, [id, self._crew])
                    mine.execute("SELECT pg_sleep(%s)", [self._chance.choice([0, 0.002, 0.02, 0.2])])
                mine.commit()
                self.written += ids


def _all_that_is_written(crew, cursor):
    """What is read from there on, once no transaction runs that is older than the latest event."""
    until_the_feed_shows_all()
    return read_feed(crew, kinds=(), after=cursor, limit=500).items


def test_on_another_server_positions_lie_above_all_earlier_ones(lead):
    crew = lead.who.crew
    culled(crew, "1")
    with connection.cursor() as here:
        here.execute("UPDATE crews_eventera SET server = server - 1, era = 6")
        here.execute("UPDATE crews_event SET position = position + (6::bigint << 44) + (1::bigint << 40)")
    before = lead.get("events")

    culled(crew, "2")
    after = lead.get(f"events?after={before.body['cursor']}")
    culled(crew, "3")
    later = lead.get(f"events?after={after.body['cursor']}")

    assert [logs_of(one) for one in (before, after, later)] == [["1"], ["2"], ["3"]]
