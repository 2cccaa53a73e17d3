"""A POST sent again with its Idempotency-Key is done once."""

import threading
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection, connections
from django.http import HttpResponse
from django.test import RequestFactory
from django.utils.timezone import now

from crews.accounts.idempotency import done_once, forget_old_answers
from crews.accounts.models import AccessKey, Crew, KeptAnswer, Member
from crews.api.idempotent import REPLAYED, add_idempotency
from tests.people import MORNING
from tests.schema import schema


def a_key_to_revoke(lead):
    address = f"keys/{uuid4()}"
    lead.put(address, {"member": str(lead.who.member.id), "name": "rack phone", "role": "learner"})
    return f"{address}/revoke"


def test_a_repeat_gets_the_first_answer_and_changes_nothing(lead):
    address, sign = a_key_to_revoke(lead), {"idempotency-key": "a-1"}

    first = lead.post(address, **sign)
    AccessKey.objects.filter(name="rack phone").update(name="renamed since")
    again = lead.post(address, **sign)

    assert "Idempotency-Replayed" not in first.headers
    assert again.headers["Idempotency-Replayed"] == "true"
    assert (again.status_code, again.content) == (first.status_code, first.content)
    assert again.headers["ETag"] == first.headers["ETag"]
    assert lead.post(address).body["name"] == "renamed since"


def test_the_same_key_for_something_else_is_refused(lead):
    address, other, sign = a_key_to_revoke(lead), a_key_to_revoke(lead), {"idempotency-key": "a-1"}
    lead.post(address, **sign)

    other_body = lead.post(address, {"why": "lost"}, **sign)
    other_address = lead.post(other, **sign)
    other_query = lead.post(f"{address}?dry_run=true", **sign)

    for answer in (other_body, other_address, other_query):
        assert answer.status_code == 422
        assert answer.body["type"] == "/problems/idempotency-key-reused"
    assert AccessKey.objects.filter(name="rack phone", revoked_at=None).count() == 1


def test_a_key_belongs_to_who_sent_it(lead, stranger):
    ours, theirs = a_key_to_revoke(lead), a_key_to_revoke(stranger)
    lead.post(ours, **{"idempotency-key": "a-1"})

    assert stranger.post(theirs, **{"idempotency-key": "a-1"}).body["revoked_at"] is not None
    assert stranger.post(ours, **{"idempotency-key": "a-2"}).status_code == 404


def test_a_refused_request_keeps_nothing_so_that_it_can_be_tried_again(lead):
    address, sign = f"keys/{uuid4()}", {"idempotency-key": "a-1"}
    assert lead.post(f"{address}/revoke", **sign).status_code == 404

    lead.put(address, {"member": str(lead.who.member.id), "name": "late", "role": "learner"})

    assert lead.post(f"{address}/revoke", **sign).status_code == 200


def test_a_replay_opens_nothing_that_the_role_does_not(lead, builder):
    Member.objects.filter(id=builder.who.member.id).update(role="lead")
    AccessKey.objects.filter(member=builder.who.member).update(role="lead")
    address, sign = a_key_to_revoke(lead), {"idempotency-key": "a-1"}
    assert builder.post(address, **sign).status_code == 200

    Member.objects.filter(id=builder.who.member.id).update(role="builder")

    assert builder.post(address, **sign).status_code == 403
    AccessKey.objects.filter(member=builder.who.member).update(revoked_at=MORNING)
    assert builder.post(address, **sign).status_code == 401


@pytest.mark.parametrize("sign", ["", "has a space", "x" * 201, "Käse"])
def test_a_key_is_plain_signs(lead, sign):
    answer = lead.post(a_key_to_revoke(lead), **{"idempotency-key": sign})

    assert answer.status_code == 400
    assert answer.body["type"] == "/problems/malformed-request"


def test_an_answer_is_kept_for_a_day(lead):
    address, sign = a_key_to_revoke(lead), {"idempotency-key": "a-1"}
    lead.post(address, **sign)
    kept = KeptAnswer.objects.get()
    assert timedelta(hours=23, minutes=59) < kept.expires_at - now() <= timedelta(hours=24)

    KeptAnswer.objects.update(expires_at=MORNING)

    assert "Idempotency-Replayed" not in lead.post(address, **sign).headers
    assert forget_old_answers(at=kept.expires_at - timedelta(hours=1)) == 0
    assert forget_old_answers(at=kept.expires_at + timedelta(hours=1)) == 1


@pytest.mark.django_db(transaction=True)
def test_while_the_first_is_worked_on_a_second_is_told_to_wait(lead):
    address, sign = a_key_to_revoke(lead), {"idempotency-key": "a-1"}
    answers = []

    def ask():
        try:
            answers.append(lead.post(address, **sign))
        finally:
            connections.close_all()

    with connection.cursor() as cursor:  # someone has the row: the first request waits for it
        connection.set_autocommit(False)
        cursor.execute("SELECT 1 FROM crews_accesskey WHERE name = 'rack phone' FOR UPDATE")
        first = threading.Thread(target=ask)
        first.start()
        while not waiting_for_a_lock(cursor):
            pass
        second = threading.Thread(target=ask)
        second.start()
        second.join(timeout=20)
        connection.commit()
        connection.set_autocommit(True)
    first.join(timeout=20)

    busy, done = answers
    assert (busy.status_code, busy.headers["Retry-After"]) == (409, "1")
    assert busy.body["type"] == "/problems/idempotency-key-busy"
    assert done.status_code == 200
    assert lead.post(address, **sign).headers["Idempotency-Replayed"] == "true"


def waiting_for_a_lock(cursor):
    cursor.execute("SELECT count(*) FROM pg_stat_activity WHERE wait_event_type = 'Lock'")
    return cursor.fetchone()[0]


@pytest.mark.django_db(transaction=True)
def test_work_that_breaks_off_leaves_neither_itself_nor_an_answer(lead, monkeypatch):
    address, sign = a_key_to_revoke(lead), {"idempotency-key": "a-1"}

    def power_cut(*args, **kwargs):
        raise RuntimeError("the power went")

    monkeypatch.setattr("crews.accounts.idempotency.insert_rows", power_cut)
    assert lead.post(address, **sign).status_code == 500
    assert AccessKey.objects.filter(name="rack phone", revoked_at=None).exists()
    monkeypatch.undo()

    assert lead.post(address, **sign).status_code == 200
    assert Crew.objects.count() == 1


@pytest.mark.parametrize("refusal", [400, 422])
def test_what_is_refused_after_half_the_work_leaves_nothing_of_it_and_is_looked_at_afresh(lead, refusal):
    key = AccessKey.objects.get(member=lead.who.member)
    asked = RequestFactory().post("/api/v1/crews", b"{}", content_type="application/json")

    def half_done(status):
        def work(request):
            Crew.objects.filter(id=lead.who.crew.id).update(name=f"renamed by {status}")
            return HttpResponse(status=status)

        return done_once(key, "a-1", asked, work)

    refused, unchanged = half_done(refusal), Crew.objects.get(id=lead.who.crew.id).name
    done = half_done(200)

    assert (refused.status_code, unchanged) == (refusal, lead.who.crew.name)
    assert (done.status_code, REPLAYED in done.headers) == (200, False)
    assert Crew.objects.get(id=lead.who.crew.id).name == "renamed by 200"
    assert half_done(200).headers[REPLAYED] == "true"


def test_every_post_says_that_it_takes_the_key():
    for path, methods in schema()["paths"].items():
        named = {p["name"] for p in methods.get("post", {}).get("parameters", []) if p["in"] == "header"}
        assert ("post" in methods) == ("Idempotency-Key" in named), path


def test_a_read_only_address_is_left_alone():
    result = {"paths": {"/logs": {"get": {"responses": {"200": {}}}}}, "components": {"headers": {}}}

    assert add_idempotency(result)["paths"] == {"/logs": {"get": {"responses": {"200": {}}}}}
