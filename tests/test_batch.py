"""What a phone collected at the far rack, sent when it has a signal again."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import OperationalError

from cabins.heights.models import MeasuredHeight
from cabins.set_logs.models import SetLog
from config.batch import ALLOWED
from config.batch_views import MOST
from crews.accounts.models import KeptAnswer, Member
from inventory.logs import views as log_views
from inventory.logs.models import Measurement
from tests.cabins.building import NOON, a_cabin, a_log
from tests.schema import schema

MADE_AT = "2026-05-04T10:40:00Z"


def an_entry(path, body=None, *, method="PUT", **fields):
    return {
        "id": str(uuid4()),
        "made_at": MADE_AT,
        "method": method,
        "path": f"/api/v1/{path}",
        "body": body or {},
        **fields,
    }


def send(asker, *entries, **given):
    answer = asker.post("batch", {"entries": list(entries)}, **given)
    assert answer.status_code == 200, answer.body
    return answer.body


def measured_again(log, middle_mm, **fields):
    return an_entry(f"logs/{log.id}", {"middle_mm": middle_mm}, method="PATCH", **fields)


def test_a_day_at_the_wall_arrives_in_order(builder, learner):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)
    place = {"cabin": cabin.split("/")[1], "wall": "A", "round": 1}
    setting = an_entry(
        f"set-logs/{uuid4()}",
        {
            **place, "piece": 0, "log": str(log.id), "from_butt_mm": 50, "butt_at": "start",
            "set_at": NOON.isoformat(), "notch_start_mm": 0, "notch_end_mm": 0,
        },
    )  # fmt: skip
    height = an_entry(
        f"heights/{uuid4()}",
        {
            **place,
            "end": "start",
            "height_mm": "13 3/4 in",
            "measured_at": (NOON + timedelta(hours=1)).isoformat(),
        },
    )
    undone = an_entry(setting["path"][8:] + "/undo", {"reason": "Log 7 lies here."}, method="POST")

    told = send(learner, measured_again(log, 312, if_match=1), setting, height, undone)

    assert [e["status"] for e in told["entries"]] == [200, 201, 201, 200], told
    assert (told["accepted"], told["refused"]) == (4, 0)
    assert told["entries"][0]["version"] == 2
    assert Measurement.objects.filter(log=log).exists()
    assert SetLog.objects.get().undone_at is not None
    assert MeasuredHeight.objects.exists()


def test_an_entry_that_leaves_fields_out_keeps_what_is_stored(learner):
    log = a_log(learner.who.crew, remarks="Dry by June.", mill_tag="Q 17", crown_mm=12)
    least = {name: learner.get(f"logs/{log.id}").body[name] for name in ("yard", "number", "length_mm")}
    diameters = {"butt_mm": 341, "middle_mm": 311, "tip_mm": 291}

    told = send(learner, an_entry(f"logs/{log.id}", {**least, **diameters}, if_match=1))

    log.refresh_from_db()
    assert told["accepted"] == 1, told
    assert (log.middle_mm, log.remarks, log.mill_tag, log.crown_mm) == (311, "Dry by June.", "Q 17", 12)


def test_a_refused_entry_holds_up_no_other(builder, learner):
    log, other = a_log(builder.who.crew), a_log(builder.who.crew)

    told = send(
        learner,
        measured_again(log, 312, if_match=7),
        measured_again(log, -3, if_match=1),
        measured_again(other, 305, if_match=1),
        an_entry("set-logs/no-id"),
        {"id": "not an id", "path": 5, "spare": 1},
        "no entry",
    )

    stale, wrong, good, nowhere, odd, none = told["entries"]
    assert [e["status"] for e in told["entries"]] == [412, 422, 200, 422, 422, 422]
    assert stale["body"]["current"]["middle_mm"] == 310
    assert wrong["body"]["errors"][0]["pointer"] == "/middle_mm"
    assert good["body"]["middle_mm"] == 305
    assert nowhere["body"]["type"] == "/problems/not-for-batch"
    assert {e["pointer"] for e in odd["body"]["errors"]} >= {"/id", "/path", "/made_at", "/method", "/spare"}
    assert none["id"] is None
    assert (told["accepted"], told["refused"]) == (1, 5)


def test_a_batch_sent_again_does_nothing_twice(builder, learner):
    log = a_log(builder.who.crew)
    entries = [measured_again(log, 312, if_match=1), measured_again(log, 314, if_match=2)]
    first = send(learner, *entries)

    again = send(learner, *entries)

    assert [e["status"] for e in again["entries"]] == [200, 200]
    assert [e["replayed"] for e in first["entries"] + again["entries"]] == [False, False, True, True]
    assert [e["body"] for e in again["entries"]] == [e["body"] for e in first["entries"]]
    log.refresh_from_db()
    assert (log.middle_mm, log.version) == (314, 3)


def test_what_was_refused_is_looked_at_afresh(builder, learner):
    log = a_log(builder.who.crew)
    entry = measured_again(log, 312, if_match=2)
    assert send(learner, entry)["refused"] == 1
    learner.patch(f"logs/{log.id}", {"remarks": "bark left on"}, version=1)

    assert send(learner, entry)["accepted"] == 1


def test_an_entrys_id_stands_for_one_entry(builder, learner):
    log = a_log(builder.who.crew)
    entry = measured_again(log, 312, if_match=1)

    told = send(learner, entry, {**entry, "body": {"middle_mm": 330}})

    assert told["entries"][1]["body"]["type"] == "/problems/idempotency-key-reused"
    log.refresh_from_db()
    assert log.middle_mm == 312


def test_a_batch_opens_nothing_that_does_not_belong_in_it(lead):
    member = {"name": "Ash", "role": "learner"}

    told = send(
        lead,
        an_entry(f"members/{uuid4()}", member),
        an_entry("batch", {"entries": []}, method="POST"),
        an_entry(f"logs/{uuid4()}/write-off", {"reason": "sold"}, method="POST"),
        an_entry("../../health/live"),
        an_entry("nowhere"),
        an_entry(f"logs/{uuid4()}?x=1"),
        an_entry(f"logs/{uuid4()}", method="DELETE"),
    )

    assert {e["status"] for e in told["entries"]} == {422}
    assert Member.objects.count() == 1


def test_a_stranger_reaches_nothing_by_a_batch(builder, stranger):
    log = a_log(builder.who.crew)

    told = send(stranger, measured_again(log, 312, if_match=1))

    assert told["entries"][0]["status"] == 404


def test_the_history_says_when_the_phone_recorded_it(builder, lead):
    log = a_log(builder.who.crew)
    send(builder, measured_again(log, 312, if_match=1))

    change = lead.get(f"history/log/{log.id}?order=-at").body["items"][0]

    assert change["made_at"] == MADE_AT
    assert change["at"] > change["made_at"]
    assert change["member"] == str(builder.who.member.id)


def test_a_phone_whose_clock_is_ahead_is_told(builder):
    ahead = (datetime.now(UTC) + timedelta(hours=3)).isoformat()

    told = send(builder, measured_again(a_log(builder.who.crew), 312, if_match=1, made_at=ahead))

    assert told["entries"][0]["body"]["errors"][0]["pointer"] == "/made_at"


@pytest.mark.parametrize(
    "body",
    [{}, {"entries": []}, {"entries": 3}, {"entries": [{}], "more": 1}, [], {"entries": [{}] * (MOST + 1)}],
)
def test_a_batch_is_a_list_of_entries(learner, body):
    answer = learner.post("batch", body)

    assert answer.status_code == 422
    assert answer.body["errors"][0]["pointer"] == "/entries"


def test_a_batch_with_a_key_of_its_own_is_one_work(builder, learner):
    log = a_log(builder.who.crew)
    entries = [measured_again(log, -1, if_match=1), measured_again(log, 312, if_match=1)]
    sign = {"idempotency-key": "batch-1"}

    first = send(learner, *entries, **sign)
    again = send(learner, *entries, **sign)

    assert first == again
    assert first["accepted"] == 1
    assert KeptAnswer.objects.count() == 2


def test_when_the_database_goes_what_was_done_stays_and_the_phone_tries_again(builder, monkeypatch):
    log, other = a_log(builder.who.crew), a_log(builder.who.crew)
    entries = [measured_again(log, 312, if_match=1), measured_again(other, 312, if_match=1)]

    def gone(*, id, **_):
        if id == other.id:
            raise OperationalError("gone")
        return really(id=id, **_)

    really = log_views.actions.change_log
    monkeypatch.setattr(log_views.actions, "change_log", gone)
    answer = builder.post("batch", {"entries": entries})
    monkeypatch.undo()
    told = send(builder, *entries)

    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "5")
    assert [e["replayed"] for e in told["entries"]] == [True, False]
    assert told["accepted"] == 2


def test_what_a_batch_may_hold_is_in_the_schema():
    names = {operation["operationId"] for path in schema()["paths"].values() for operation in path.values()}

    assert names >= ALLOWED.keys()


def test_a_post_with_a_body_and_a_key_is_done_once(builder):
    address, sign = f"logs/{a_log(builder.who.crew).id}/put-aside", {"idempotency-key": "a-1"}
    first = builder.post(address, {"reason": "Soft at the tip."}, **sign)

    again = builder.post(address, {"reason": "Soft at the tip."}, **sign)
    other = builder.post(address, {"reason": "Too short."}, **sign)

    assert (first.status_code, again.body) == (200, first.body)
    assert again.headers["Idempotency-Replayed"] == "true"
    assert other.status_code == 422


def test_a_path_may_begin_behind_the_root_of_the_api(builder):
    log = a_log(builder.who.crew)
    entry = {**measured_again(log, 312, if_match=1), "path": f"logs/{log.id}"}

    told = send(builder, entry)
    odd = send(builder, {**entry, "id": str(uuid4()), "path": "https://elsewhere.example/logs"})

    assert (told["accepted"], told["entries"][0]["body"]["middle_mm"]) == (1, 312)
    [fault] = odd["entries"][0]["body"]["errors"]
    assert (fault["pointer"], "heights/ID" in fault["detail"]) == ("/path", True)
