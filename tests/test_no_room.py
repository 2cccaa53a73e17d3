"""A full disk and a database that goes in the middle of a request: a clear 503, and no half work."""

import errno
import os
import threading
import time
from collections.abc import Iterator
from uuid import uuid4

import pytest
from django.db import connection, connections
from django.test import Client

from inventory.logs import views as log_views
from inventory.logs.models import Log, Measurement
from tests.cabins.building import a_log, a_yard

pytestmark = pytest.mark.django_db(transaction=True)
_MEASURES = {"length_mm": 6000, "butt_mm": 340, "middle_mm": 315, "tip_mm": 290}


@pytest.fixture
def yard(learner):
    return a_yard(learner.who.crew)


@pytest.fixture
def trouble() -> Iterator[None]:
    """From now on PostgreSQL answers what `fails_with` names with an error of that code."""
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE FUNCTION trouble() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
            " RAISE EXCEPTION 'trouble' USING ERRCODE = TG_ARGV[0]; END $$"
        )
    yield
    with connection.cursor() as cursor:
        cursor.execute("DROP FUNCTION trouble CASCADE")


def fails_with(code: str, table: str = "inventory_measurement") -> None:
    """Each new row of the table, or each change of one."""
    with connection.cursor() as cursor:
        cursor.execute(
            f"CREATE TRIGGER trouble AFTER INSERT OR UPDATE ON {table}"
            f" FOR EACH ROW EXECUTE FUNCTION trouble('{code}')"
        )


def ways_to_chart(yard):
    """The same log charted alone, by a chart, by a chart with a key, and by a batch."""
    body = {"yard": str(yard.id), "number": "7", **_MEASURES}
    entry = {"id": str(uuid4()), "made_at": "2026-05-04T10:40:00Z", "method": "PUT", "body": body,
             "path": f"/api/v1/logs/{uuid4()}"}  # fmt: skip
    chart = {"body": b"number,length,butt,middle,tip\n7,6000,340,315,290\n", "media": "text/csv"}
    address = f"yards/{yard.id}/chart?unit=mm"
    return [
        lambda who: who.put(f"logs/{uuid4()}", body),
        lambda who: who.post(address, **chart),
        lambda who: who.post(address, **chart, **{"idempotency-key": "a-1"}),
        lambda who: who.post("batch", {"entries": [entry]}),
    ]


TROUBLES = pytest.mark.parametrize(
    ("code", "problem", "wait_s"),
    [
        ("53100", "storage-full", "60"),  # the disk is full
        ("25006", "storage-full", "60"),  # read only, as some operators' tools make a server that fills up
        ("57P01", "unavailable", "5"),  # shut down by its administrator
        ("57P03", "unavailable", "5"),  # starting up, or recovering
        ("53300", "unavailable", "5"),  # more connections than it allows
    ],
)


@TROUBLES
@pytest.mark.parametrize("key", ["good", "bad"])
def test_trouble_met_when_a_request_is_counted_is_told_as_any_other(
    learner, nobody, trouble, code, problem, wait_s, key
):
    learner.get("me")
    fails_with(code, "crews_requestcount")

    refused = learner.get("me") if key == "good" else nobody.get("me")

    assert (refused.status_code, refused.headers["Retry-After"]) == (503, wait_s)
    assert refused.body["type"] == f"/problems/{problem}"


@TROUBLES
@pytest.mark.parametrize("way", range(4))
def test_trouble_of_the_database_is_a_503_and_leaves_nothing(
    learner, yard, trouble, code, problem, wait_s, way
):
    fails_with(code)

    refused = ways_to_chart(yard)[way](learner)

    assert (refused.status_code, refused.headers["Retry-After"]) == (503, wait_s)
    assert refused.body["type"] == f"/problems/{problem}"
    assert (Log.objects.count(), Measurement.objects.count()) == (0, 0)


def test_after_the_trouble_the_same_is_done_once(learner, yard, trouble):
    fails_with("53100")
    ways = ways_to_chart(yard)[1:]
    assert {way(learner).status_code for way in ways} == {503}
    with connection.cursor() as cursor:
        cursor.execute("DROP TRIGGER trouble ON inventory_measurement")

    assert {way(learner).status_code for way in ways} == {200}
    assert (Log.objects.count(), Measurement.objects.count()) == (1, 1)


def test_a_backend_that_is_ended_in_the_middle_of_a_request_leaves_nothing(learner, yard):
    log, answers = a_log(learner.who.crew, yard=yard), []

    def measure() -> None:
        try:
            answers.append(learner.patch(f"logs/{log.id}", {"middle_mm": 300}, version=1))
        finally:
            connections.close_all()

    with connection.cursor() as cursor:  # someone has the row, so that the request waits in its middle
        connection.set_autocommit(False)
        cursor.execute("SELECT 1 FROM inventory_log FOR UPDATE")
        request = threading.Thread(target=measure)
        request.start()
        # In a transaction the server shows its activity as it was when first asked, unless told to forget.
        until = time.monotonic() + 60
        while not cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE wait_event_type = 'Lock'"
        ).fetchone():
            assert time.monotonic() < until, "the request never waited"
            cursor.execute("SELECT pg_stat_clear_snapshot()")
        request.join(timeout=60)
        connection.commit()
        connection.set_autocommit(True)

    (refused,) = answers
    assert (refused.status_code, refused.headers["Retry-After"]) == (503, "5")
    assert learner.get(f"logs/{log.id}").body["version"] == 1
    assert learner.patch(f"logs/{log.id}", {"middle_mm": 300}, version=1).status_code == 200


def test_a_full_disk_of_the_service_itself_is_said_so(learner, monkeypatch):
    def full(*args, **kwargs):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(log_views.actions, "put_log", full)
    alone = learner.put(f"logs/{uuid4()}", {"yard": str(uuid4()), "number": "7", **_MEASURES})
    monkeypatch.setattr("crews.accounts.access.KeyAuthentication.authenticate", full)
    page = Client(raise_request_exception=False).get("/api/v1/me")

    for answer in (alone, page):
        assert (answer.status_code, answer.headers["Retry-After"]) == (503, "60")
