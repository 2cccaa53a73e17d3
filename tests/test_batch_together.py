"""New logs of a batch are stored together: the same answers, rows, history and events as one by one."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import UTC, datetime
from uuid import UUID, uuid4

import pytest
from django.db import connection, connections, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

import config.batch
from crews.accounts.models import KeptAnswer
from crews.accounts.versioned_rows import insert_rows
from crews.events.models import Event, EventKind
from crews.history.models import Change
from crews.webhooks.models import WebhookDelivery
from inventory.logs.models import Log, Measurement
from tests.cabins.building import a_log

NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)
MEASURES = {"length_mm": 6000, "butt_mm": 340, "middle_mm": 315, "tip_mm": 290}


def an_entry(log, body, *, id=None, made_at="2026-05-04T10:40:00Z", method="PUT", **fields):
    path = f"/api/v1/logs/{log}"
    return {
        "id": str(id or uuid4()), "made_at": made_at, "method": method, "path": path, "body": body, **fields
    }  # fmt: skip


def new_logs(yard, count, **measures):
    return [
        an_entry(uuid4(), {"yard": str(yard.id), "number": f"N{n}", **MEASURES, **measures})
        for n in range(count)
    ]


def send(asker, entries):
    answer = asker.post("batch", {"entries": entries})
    assert answer.status_code == 200, answer.body
    return answer.body


@pytest.fixture
def there(builder, stranger):
    """A log of the crew's, its yard, another yard with a rack; a stranger's log and yard; who listens."""
    held, theirs = a_log(builder.who.crew, number="1"), a_log(stranger.who.crew, number="1")
    other, rack = f"yards/{uuid4()}", f"racks/{uuid4()}"
    assert builder.put(other, {"name": "Other yard"}).status_code == 201
    assert builder.put(rack, {"yard": other[6:], "name": "R1"}).status_code == 201
    return {
        "held": held, "theirs": theirs, "other": other[6:], "rack": rack[6:], "species": str(held.species_id)
    }  # fmt: skip


@pytest.fixture
def listening(lead):
    kinds = [EventKind.LOG_HAZARDOUS.value, EventKind.LOG_CULLED.value]
    lead.put(f"webhooks/{uuid4()}", {"url": "https://203.0.113.7/hook", "kinds": kinds})


@pytest.fixture
def still_noon(monkeypatch):
    """Each log says when it was charted: that has to be the same for both ways."""
    for name in ("config.batch.now", "crews.accounts.idempotency.now", "inventory.logs.views.now"):
        monkeypatch.setattr(name, lambda: NOON)


@contextmanager
def one_by_one():
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(config.batch.ALLOWED, "put_log", None)
        yield


def all_that_is_kept():
    """What a batch leaves behind; measurements and changes without the ids that the server gives them."""
    history = {}
    logs_of = dict(Measurement.objects.values_list("id", "log_id"))
    for one in Change.objects.filter(kind__in=["log", "measurement"]).order_by("id"):
        after = {name: value for name, value in one.after.items() if one.kind == "log" or name != "id"}
        told = (one.kind, one.version, one.before, after, one.made_at, one.member_id, one.key)
        history.setdefault(logs_of.get(one.object, one.object), []).append(told)
    unlike = {"id", "crew_id", "log"}
    return {
        "logs": list(Log.objects.order_by("id").values()),
        "measurements": [
            {name: value for name, value in row.items() if name not in unlike}
            for row in Measurement.objects.order_by("log", "measures_version").values()
        ],
        "history": history,
        "events": list(Event.objects.order_by("at", "kind", "data").values("kind", "data", "at")),
        "deliveries": WebhookDelivery.objects.count(),
        "kept": [
            {name: value for name, value in row.items() if name != "id"}
            for row in KeptAnswer.objects.order_by("key").values()
        ],
    }


def outcome(asker, entries):
    """What a batch and its repeat are answered, and what is there afterwards; then all is undone."""
    with transaction.atomic():
        answers = [asker.post("batch", {"entries": entries}, **{"x-request-id": "phone"}) for _ in range(2)]
        found = {"answers": [(one.status_code, one.content) for one in answers], **all_that_is_kept()}
        transaction.set_rollback(True)
    return found


NEW_LOGS = [UUID(int=n) for n in range(1, 5)]
CHANGES = st.sampled_from(
    [
        {}, {}, {}, {"middle_mm": "12 3/4 in", "charted_by": "Wren"}, {"number": "a7"}, {"number": ""},
        {"length_mm": 17000}, {"length_mm": 17000, "confirm_doubtful": True}, {"tip_mm": 400}, {"spare": 1},
        {"hazards": [{"kind": "metal", "from_butt_mm": 2310.5}]}, {"culled": True, "cull_reason": "rot"},
        {"yard": "theirs"}, {"yard": "other", "rack": "rack"}, {"rack": "rack"}, {"species": "species"},
        {"species": str(UUID(int=9))}, {"yard": 3},
    ]
)  # fmt: skip


@st.composite
def an_odd_entry(draw):
    """An entry with names to be looked up in `there`; ids, numbers and logs come again and again."""
    number = draw(st.sampled_from(["1", "2", "A7", "Straße", "STRASSE", *"3456789"]))
    log = draw(st.sampled_from(["held", "theirs", *NEW_LOGS]))
    entry = an_entry(
        log,
        {"yard": "held", "number": number, **MEASURES, **draw(CHANGES)},
        id=UUID(int=draw(st.integers(1, 12))),
        made_at=f"2026-05-0{draw(st.integers(1, 3))}T10:40:00Z",
    )
    rare = draw(st.integers(0, 9))
    if rare == 0:
        entry |= {"method": "PATCH", "body": {"middle_mm": 312}, "if_match": 1}
    elif rare == 1:
        entry["if_match"] = draw(st.integers(1, 2))
    elif rare == 2:
        entry |= draw(st.sampled_from([{"id": 7}, {"path": "/api/v1/nowhere"}, {"made_at": "soon"}]))
    return entry


def looked_up(entry, there):
    """The entry with the ids of what it names."""
    held, theirs = there["held"], there["theirs"]
    yards = {"held": str(held.yard_id), "theirs": str(theirs.yard_id), "other": there["other"]}
    path, body = entry["path"], dict(entry["body"])
    path = path.replace("theirs", str(theirs.id)).replace("held", str(held.id))
    for name, known in (("yard", yards), ("rack", there), ("species", there)):
        if body.get(name) in known:
            body[name] = known[body[name]]
    return {**entry, "path": path, "body": body}


@settings(
    max_examples=12,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],  # to make a batch smaller takes minutes
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(odd=st.lists(an_odd_entry(), min_size=2, max_size=12))
def test_whatever_a_batch_holds_comes_out_as_if_done_one_by_one(odd, learner, there, listening, still_noon):
    entries = [looked_up(one, there) for one in odd]

    together = outcome(learner, entries)
    with one_by_one():
        alone = outcome(learner, entries)

    for what, found in together.items():
        assert found == alone[what], what


def test_each_log_has_the_time_its_phone_recorded_it_and_the_order_of_the_batch(builder, there):
    entries = new_logs(there["held"].yard, 4)
    for minute, entry in enumerate(entries):
        entry["made_at"] = f"2026-05-04T10:4{minute}:00Z"

    assert send(builder, entries)["accepted"] == 4

    for entry in entries:
        log = Log.objects.get(id=entry["path"][-36:])
        rows = [log.id, Measurement.objects.get(log=log).id]
        made_at = set(Change.objects.filter(object__in=rows).values_list("made_at", flat=True))
        assert [f"{one:%Y-%m-%dT%H:%M:%SZ}" for one in made_at] == [entry["made_at"]]
    numbers = (
        Log.objects.filter(number__startswith="N").order_by("created_at").values_list("number", flat=True)
    )
    assert list(numbers) == ["N0", "N1", "N2", "N3"]


def test_many_new_logs_take_as_many_queries_as_few_and_far_fewer_than_one_by_one(builder, there):
    yard = there["held"].yard
    counted = {}

    for count in (2, 20):
        with CaptureQueriesContext(connection) as asked:
            assert send(builder, new_logs(yard, count))["accepted"] == count
        Log.objects.filter(number__startswith="N").delete()
        counted[count] = len(asked)
    with one_by_one(), CaptureQueriesContext(connection) as asked:
        assert send(builder, new_logs(yard, 20))["accepted"] == 20

    assert counted[2] == counted[20] < len(asked) / 8


def test_a_number_that_someone_takes_meanwhile_costs_no_other_log(builder, there, monkeypatch):
    entries = new_logs(there["held"].yard, 3)
    entries[1]["body"]["number"] = there["held"].number
    monkeypatch.setattr("inventory.logs.new_logs.logs_taken", lambda _: set())  # so it seemed

    told = send(builder, entries)

    assert [one["status"] for one in told["entries"]] == [201, 409, 201]
    assert told["entries"][1]["body"]["type"] == "/problems/log-number-taken"


def test_a_batch_that_breaks_off_in_the_middle_goes_on_where_it_was(builder, there, monkeypatch):
    entries, kept = new_logs(there["held"].yard, 8), []

    def power_cut(rows):
        kept.append(rows)
        if len(kept) > 4:  # two copies a part: the logs, the answers
            raise RuntimeError("the power went")
        really(rows)

    really = insert_rows
    monkeypatch.setattr("config.batch.TOGETHER_MOST", 3)
    monkeypatch.setattr("crews.accounts.idempotency.insert_rows", power_cut)
    monkeypatch.setattr("inventory.logs.new_logs.insert_rows", power_cut)
    assert builder.post("batch", {"entries": entries}).status_code == 500
    monkeypatch.undo()
    stored = Log.objects.filter(number__startswith="N").count()
    told = send(builder, entries)

    assert stored == 6
    assert [one["replayed"] for one in told["entries"]] == [True] * 6 + [False] * 2
    assert {one["status"] for one in told["entries"]} == {201}
    assert Log.objects.filter(number__startswith="N").count() == 8


@pytest.mark.django_db(transaction=True)
def test_the_same_batch_sent_twice_at_once_is_done_once(builder, there):
    entries = new_logs(there["held"].yard, 40)

    def ask(_):
        try:
            return send(builder, entries)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(2) as both:
        first, second = both.map(ask, range(2))
    last = send(builder, entries)

    told = {one["status"] for one in [*first["entries"], *second["entries"]]}
    assert told <= {201, 409}
    assert {(one["status"], one["replayed"]) for one in last["entries"]} == {(201, True)}
    made = Change.objects.filter(kind="log", before__isnull=True, after__number__startswith="N")
    assert made.count() == Log.objects.filter(number__startswith="N").count() == 40
    assert KeptAnswer.objects.filter(key__startswith="entry").count() == 40
