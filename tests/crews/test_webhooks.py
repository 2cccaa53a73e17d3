"""Events: told with what happens, delivered signed, tried again, never sent into our own network."""

import base64
import importlib.util
import ipaddress
import json
import re
import socket
import threading
import time
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from uuid import UUID, uuid4

import pytest
from django.db import OperationalError, connection, transaction
from django.test import override_settings
from procrastinate.contrib.django.models import ProcrastinateJob

from crews.events.actions import emit_event, emit_events
from crews.events.data import DATA
from crews.events.models import Event, EventKind
from crews.webhooks import tasks
from crews.webhooks.delivering import PAUSES, deliver_due, webhooks_due
from crews.webhooks.models import Webhook, WebhookDelivery
from crews.webhooks.sending import NotSent, checked_addresses, is_public, send, signature, url_fault
from tests.people import MORNING
from tests.schema import schema

ROUND = {"cabin": str(uuid4()), "round": 3}
CULLED = {"log": str(uuid4()), "number": "1", "reason": "sweep"}
_spec = importlib.util.spec_from_file_location(
    "webhook_receiver", Path(__file__).parents[2] / "docs" / "api" / "webhook_receiver.py"
)
receiving = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(receiving)


class Clock:
    """A clock that a test turns; the receiver looks at the real one, so it begins there."""

    def __init__(self):
        self.at = datetime.now(UTC)

    def __call__(self):
        return self.at

    def turn(self, seconds):
        self.at += timedelta(seconds=seconds)


@pytest.fixture
def answers():
    """A receiver on this machine that answers as told; yields (url, statuses to give, bodies taken)."""
    statuses, taken = [], []

    class Answering(BaseHTTPRequestHandler):
        def do_POST(self):
            taken.append((dict(self.headers), self.rfile.read(int(self.headers["content-length"]))))
            self.send_response(statuses.pop(0) if statuses else 200)
            self.send_header("location", "http://127.0.0.1:1/elsewhere")
            self.end_headers()

        def log_message(self, *args):
            pass

    with HTTPServer(("127.0.0.1", 0), Answering) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        with override_settings(WEBHOOKS_TO_PRIVATE=True):
            yield f"http://127.0.0.1:{server.server_port}/taken?by=us", statuses, taken
        server.shutdown()


def a_webhook(lead, url, kinds=("round_complete",)):
    """The new webhook's id, and its secret."""
    answer = lead.put(f"webhooks/{uuid4()}", {"url": url, "kinds": list(kinds)})
    assert answer.status_code == 201, answer.body
    return answer.body["id"], answer.body["secret"]


def complete_a_round(lead, at=MORNING):
    emit_event(lead.who.crew, EventKind.ROUND_COMPLETE, ROUND, at)


def the_delivery(lead):
    row = lead.get("webhook-deliveries").body["items"][0]
    return lead.get(f"webhook-deliveries/{row['id']}").body


def test_an_event_is_undone_with_what_it_tells(lead):
    with pytest.raises(RuntimeError), transaction.atomic():
        complete_a_round(lead)
        raise RuntimeError("the round was not complete after all")
    assert lead.get("events").body["items"] == []

    complete_a_round(lead)

    event = lead.get("events").body["items"][0]
    assert (event["kind"], event["data"]) == ("round_complete", ROUND)


def test_events_are_filtered_and_of_ones_own_crew(lead, stranger):
    complete_a_round(lead)
    emit_events(lead.who.crew, [(EventKind.LOG_CULLED, CULLED)], MORNING + timedelta(days=1))
    emit_events(lead.who.crew, [], MORNING)

    assert [e["kind"] for e in lead.get("events?kind=log_culled").body["items"]] == ["log_culled"]
    assert stranger.get("events").body["items"] == []


def test_the_receiver_of_the_docs_takes_a_genuine_event_once(lead):
    clock, taken = Clock(), []
    with override_settings(WEBHOOKS_TO_PRIVATE=True), receiving.receiver(0, "", taken.append) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        id, server.secret = a_webhook(lead, f"http://127.0.0.1:{server.server_port}/")
        complete_a_round(lead)

        assert deliver_due(id, clock=clock) is False
        sent = the_delivery(lead)
        lead.post(f"webhook-deliveries/{sent['id']}/redeliver")
        clock.turn(1)
        deliver_due(id, clock=clock)
        server.shutdown()

    assert taken == lead.get("events").body["items"]
    assert (taken[0]["kind"], taken[0]["data"]) == ("round_complete", ROUND)
    assert sent["state"] == "delivered"
    assert [a["status"] for a in the_delivery(lead)["attempts"]] == [204, 204]


def test_a_signature_is_that_of_the_specification():
    # The example of the Standard Webhooks reference libraries' own test suites.
    secret = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"

    made = signature(
        secret=secret, id="msg_p5jXN8AQM9LWM0D4loKWxJek", timestamp=1614265330, body=b'{"test": 2432232314}'
    )

    assert made == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_the_receiver_turns_away_what_is_forged_old_or_signed_by_another():
    key = "whsec_" + base64.b64encode(b"k" * 24).decode()
    now, body = 1_700_000_000, b"{}"
    good = {"webhook-id": "1", "webhook-timestamp": str(now)}
    good["webhook-signature"] = "v1,other " + signature(secret=key, id="1", timestamp=now, body=body)

    assert receiving.is_genuine(good, body, key, now + 60)
    assert not receiving.is_genuine(good, b"{ }", key, now)
    assert not receiving.is_genuine(good, body, key, now + 301)
    assert not receiving.is_genuine({**good, "webhook-id": "2"}, body, key, now)
    assert not receiving.is_genuine(good, body, "whsec_" + base64.b64encode(b"x" * 24).decode(), now)
    assert not receiving.is_genuine({}, body, key, now)


def test_only_the_kinds_asked_for_are_sent_and_only_once(lead, answers):
    url, _, taken = answers
    id, _ = a_webhook(lead, url, ["plan_ready", "round_complete"])
    complete_a_round(lead)
    emit_event(lead.who.crew, EventKind.LOG_CULLED, CULLED, MORNING)

    deliver_due(id, clock=Clock())
    deliver_due(id, clock=Clock())

    ((headers, body),) = taken
    assert json.loads(body)["kind"] == "round_complete"
    assert headers["webhook-id"] == str(Event.objects.get(kind="round_complete").id)


def test_a_receiver_that_is_down_for_a_day_misses_nothing(lead, answers):
    url, statuses, taken = answers
    clock = Clock()
    id, _ = a_webhook(lead, url)
    complete_a_round(lead, at=clock.at)
    statuses += [503] * 7
    tried = 0

    while the_delivery(lead)["state"] == "waiting":
        tried += len(webhooks_due(at=clock.at))
        deliver_due(id, clock=clock)
        clock.turn(3600)

    delivery = the_delivery(lead)
    assert delivery["state"] == "delivered"
    assert [a["status"] for a in delivery["attempts"]] == [503] * 7 + [200]
    assert delivery["attempts"][0]["error"] == "The receiver answered 503."
    assert clock.at - datetime.fromisoformat(delivery["created_at"]) > timedelta(days=1)
    assert len({headers["webhook-id"] for headers, _ in taken}) == 1
    assert tried == len(taken) == 8


def test_in_the_end_it_is_given_up_and_can_be_sent_by_hand(lead, answers):
    url, statuses, _ = answers
    clock = Clock()
    id, _ = a_webhook(lead, url)
    complete_a_round(lead)
    statuses += [500] * (len(PAUSES) + 1)
    for pause in (*PAUSES, 0):
        deliver_due(id, clock=clock)
        clock.turn(pause)
    given_up = the_delivery(lead)
    assert (given_up["state"], given_up["due_at"]) == ("given_up", None)
    assert len(given_up["attempts"]) == len(PAUSES) + 1

    again = lead.post(f"webhook-deliveries/{given_up['id']}/redeliver")
    deliver_due(id, clock=clock)

    assert (again.status_code, again.body["state"]) == (202, "waiting")
    assert the_delivery(lead)["state"] == "delivered"


def test_a_receiver_that_gives_no_answer_is_not_stormed(lead):
    with socket.socket() as closed:
        closed.bind(("127.0.0.1", 0))
        url = f"http://127.0.0.1:{closed.getsockname()[1]}/"
        with override_settings(WEBHOOKS_TO_PRIVATE=True):
            id, _ = a_webhook(lead, url)
            for _ in range(3):
                complete_a_round(lead)

            deliver_due(id, clock=Clock())

    tried = WebhookDelivery.objects.exclude(attempts=[])
    assert tried.count() == 1
    assert tried.get().attempts[0]["error"] == "No connection: refused."


def test_a_slow_receivers_turn_ends_and_the_rest_waits_for_the_next(lead, answers, monkeypatch):
    url, _, taken = answers
    id, _ = a_webhook(lead, url)
    for _ in range(5):
        complete_a_round(lead)
    monkeypatch.setattr("crews.webhooks.delivering._TURN_S", 0.0)

    more = [deliver_due(id, clock=Clock()) for _ in range(5)]

    assert more == [True, True, True, True, False]
    assert len(taken) == 5


@pytest.mark.django_db(transaction=True)
def test_a_crew_has_one_place_of_the_worker_for_all_its_webhooks(lead, stranger, answers):
    url, _, _ = answers
    delete_jobs()
    for who in (lead, lead, stranger):
        a_webhook(who, url)
        complete_a_round(who)

    locks = list(ProcrastinateJob.objects.filter(task_name="crews.deliver").values_list("lock", flat=True))

    assert len(locks) == 3
    assert set(locks) == {f"deliver to webhooks of {who.who.crew.id}" for who in (lead, stranger)}


def test_while_a_secret_is_changed_both_sign(lead, answers):
    url, _, taken = answers
    id, first = a_webhook(lead, url)

    second = lead.post(f"webhooks/{id}/rotate-secret").body["secret"]
    complete_a_round(lead)
    deliver_due(id, clock=Clock())
    Webhook.objects.update(old_secret_until=MORNING)
    complete_a_round(lead)
    deliver_due(id, clock=Clock())

    (during, body), (after, later_body) = taken
    now = int(during["webhook-timestamp"])
    assert first != second
    assert all(receiving.is_genuine(during, body, secret, now) for secret in (first, second))
    assert receiving.is_genuine(after, later_body, second, now)
    assert not receiving.is_genuine(after, later_body, first, now)


def test_a_secret_is_shown_once_and_kept_out_of_the_history(lead, answers):
    url, _, _ = answers
    id, secret = a_webhook(lead, url)
    wanted = {"url": url, "kinds": ["round_complete"]}

    repeat = lead.put(f"webhooks/{id}", wanted)
    change = lead.put(f"webhooks/{id}", {**wanted, "kinds": ["plan_ready"]}, version=1)
    stale = lead.put(f"webhooks/{id}", wanted, version=1)

    assert (repeat.status_code, change.status_code, stale.status_code) == (200, 200, 412)
    assert repeat.body["secret"] is change.body["secret"] is None
    for address in ("webhooks", f"webhooks/{id}", f"history/webhook/{id}"):
        assert secret.encode() not in lead.get(address).content


def test_a_removed_webhook_is_sent_nothing(lead, answers):
    url, _, taken = answers
    id, _ = a_webhook(lead, url)
    complete_a_round(lead)

    removed = lead.delete(f"webhooks/{id}")
    complete_a_round(lead)
    deliver_due(id, clock=Clock())

    assert removed.body["removed_at"] is not None
    assert lead.delete(f"webhooks/{id}").body["version"] == removed.body["version"]
    assert taken == []
    assert the_delivery(lead)["state"] == "given_up"
    for refused in (
        lead.post(f"webhooks/{id}/rotate-secret"),
        lead.put(f"webhooks/{id}", {"url": url, "kinds": ["delivered"]}),
        lead.post(f"webhook-deliveries/{the_delivery(lead)['id']}/redeliver"),
    ):
        assert refused.body["type"] == "/problems/webhook-removed"


def test_what_came_due_as_a_webhook_was_removed_is_given_up(lead, answers):
    url, _, taken = answers
    id, _ = a_webhook(lead, url)
    complete_a_round(lead)

    Webhook.objects.update(removed_at=MORNING)

    assert deliver_due(id, clock=Clock()) is False
    assert the_delivery(lead)["state"] == "given_up"
    assert taken == []


def test_a_crew_has_so_many_webhooks_and_no_more(lead, answers):
    url, _, _ = answers
    ids = [a_webhook(lead, url)[0] for _ in range(20)]

    assert lead.put(f"webhooks/{uuid4()}", {"url": url, "kinds": ["delivered"]}).status_code == 409
    lead.delete(f"webhooks/{ids[0]}")
    assert lead.put(f"webhooks/{uuid4()}", {"url": url, "kinds": ["delivered"]}).status_code == 201


def test_strangers_and_builders_have_no_part_in_our_webhooks(lead, builder, stranger, answers):
    url, _, _ = answers
    id, _ = a_webhook(lead, url)
    complete_a_round(lead)
    delivery = the_delivery(lead)["id"]

    assert stranger.get(f"webhooks/{id}").status_code == 404
    assert stranger.delete(f"webhooks/{id}").status_code == 404
    assert stranger.post(f"webhook-deliveries/{delivery}/redeliver").status_code == 404
    assert builder.get("webhooks").status_code == 403


@pytest.mark.parametrize(
    "url",
    [
        "http://bench.example/", "ftp://bench.example/", "https://127.0.0.1/", "https://10.1.2.3/x",
        "https://[::1]/", "https://[::ffff:10.0.0.1]/", "https://169.254.169.254/latest", "https:///x",
        "https://u:p@bench.example/", "https://bench.example/#x", "https://bench.example:port/",
        "https://a b/", "https://[64:ff9b::a00:1]/", "https://100.64.0.1/", "https://0.0.0.0/",
        "https://[fe80::1]/", "bench",
    ],
)  # fmt: skip
def test_events_go_to_no_address_that_is_not_public(lead, url):
    answer = lead.put(f"webhooks/{uuid4()}", {"url": url, "kinds": ["delivered"]})

    assert answer.status_code == 422
    assert answer.body["errors"][0]["pointer"] == "/url"
    with pytest.raises(NotSent):
        send(url=url, id="1", body=b"", timestamp=1, keys=[], private_allowed=False)


PUBLIC = (
    "93.184.215.14", "1.1.1.1", "::ffff:93.184.215.14", "64:ff9b::5db8:d70e", "2606:2800:21f::1", "2a00::1"
)  # fmt: skip
NOT_PUBLIC = {
    "this machine": ("127.0.0.1", "127.9.9.9", "::1", "0.0.0.0", "0.1.2.3", "::"),
    "private": ("10.0.0.1", "172.16.0.1", "172.31.255.255", "192.168.7.1", "fc00::1", "fd12::1"),
    "this link": ("169.254.169.254", "fe80::1", "febf::1"),
    "this site, as it once was": ("fec0::1", "feff::1"),
    "shared by a provider's customers": ("100.64.0.1", "100.127.255.255"),
    "of protocols": ("192.0.0.1", "192.0.0.9", "192.0.0.170", "2001::1", "2001:1::1", "2001:1ff::1"),
    "for documents": ("192.0.2.1", "198.51.100.1", "203.0.113.1", "2001:db8::1", "3fff::1", "3fff:fff::1"),
    "for measurements": ("198.18.0.1", "198.19.255.255", "2001:2::1"),
    "for AS112": ("192.31.196.1", "192.175.48.1", "2620:4f:8000::1", "2001:4:112::1"),
    "for AMT and ORCHID": ("192.52.193.1", "2001:3::1", "2001:10::1", "2001:20::1", "2001:30::1"),
    "for many, for all, for later": ("224.0.0.1", "239.1.1.1", "255.255.255.255", "240.0.0.1", "ff02::1"),
    "thrown away": ("100::1", "100:0:0:1::1"),
    "of segments": ("5f00::1",),
    "6to4": ("192.88.99.1", "2002:a00:1::1", "2002:5db8:d70e::1"),
    "Teredo": ("2001:0:4136:e378:8000:63bf:3fff:fdd2",),
    "an IPv4 address mapped": ("::ffff:10.0.0.1", "::ffff:127.0.0.1", "::ffff:169.254.169.254"),
    "an IPv4 address compatible": ("::127.0.0.1", "::10.0.0.1", "::5db8:d70e"),
    "an IPv4 address translated": ("::ffff:0:127.0.0.1", "64:ff9b::a00:1", "64:ff9b::7f00:1"),
    "NAT64 of one's own": ("64:ff9b:1::1", "64:ff9b:1::a00:1"),
    "given to nobody": ("4000::1", "8000::1", "e000::1"),
}


@pytest.mark.parametrize("text", PUBLIC)
def test_a_public_address_is_public(text):
    assert is_public(ipaddress.ip_address(text))


@pytest.mark.parametrize(("why", "text"), [(why, text) for why, all in NOT_PUBLIC.items() for text in all])
def test_an_address_of_a_special_purpose_is_not_public(why, text):
    host = f"[{text}]" if ":" in text else text

    assert not is_public(ipaddress.ip_address(text)), why
    assert url_fault(f"https://{host}/", private_allowed=False)
    with pytest.raises(NotSent, match="private"):
        checked_addresses(text, 443, private_allowed=False)


def test_an_address_is_taken_with_its_port_and_a_private_one_if_the_operator_says_so():
    assert url_fault("https://93.184.215.14:8443/x?y=1", private_allowed=False) == ""
    assert url_fault("http://10.0.0.1/", private_allowed=True) == ""


def test_all_addresses_of_a_name_together_get_as_long_as_one(monkeypatch):
    """A name may have hundreds of them at which nobody answers."""
    many = [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (f"93.184.215.{n}", 443)) for n in range(200)]
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: many)
    monkeypatch.setattr("crews.webhooks.sending._SECONDS", 0.5)
    tried = []

    def nobody(address, timeout):
        tried.append(address)
        threading.Event().wait(min(timeout, 0.1))
        raise TimeoutError

    monkeypatch.setattr(socket, "create_connection", nobody)
    with pytest.raises(NotSent, match="nothing within"):
        send(url="https://many.example/", id="1", body=b"", timestamp=1, keys=[], private_allowed=False)

    assert 1 < len(tried) < 10


def test_a_name_that_resolves_slowly_is_not_waited_for(monkeypatch):
    asked = threading.Event()
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: asked.wait(5) and [])
    monkeypatch.setattr("crews.webhooks.sending._SECONDS", 0.2)
    began = time.monotonic()

    with pytest.raises(NotSent, match="does not resolve"):
        checked_addresses("slow.example", 443, private_allowed=False)

    assert time.monotonic() - began < 2
    asked.set()


def test_a_name_that_leads_inside_is_not_followed(monkeypatch):
    inside = [(socket.AF_INET, socket.SOCK_STREAM, 6, "", ("93.184.215.14", 443))]
    inside += [(socket.AF_INET, socket.SOCK_STREAM, 6, "", ("192.168.7.1", 443))]
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: inside)

    with pytest.raises(NotSent, match="private address"):
        checked_addresses("rebind.example", 443, private_allowed=False)
    assert checked_addresses("rebind.example", 443, private_allowed=True) == ["93.184.215.14", "192.168.7.1"]


def test_a_redirect_is_an_answer_and_not_a_way(lead, answers):
    url, statuses, _ = answers
    statuses.append(307)
    id, _ = a_webhook(lead, url)
    complete_a_round(lead)

    deliver_due(id, clock=Clock())

    assert the_delivery(lead)["attempts"][0]["error"] == "The receiver answered 307."


def test_a_receiver_that_dribbles_does_not_hold_the_worker(monkeypatch):
    monkeypatch.setattr("crews.webhooks.sending._SECONDS", 0.3)
    with socket.create_server(("127.0.0.1", 0)) as server:

        def dribble():
            taken, _ = server.accept()
            with taken:
                try:
                    for _ in range(100):
                        taken.sendall(b"x")
                        threading.Event().wait(0.05)
                except OSError:
                    return

        threading.Thread(target=dribble, daemon=True).start()
        began = datetime.now(UTC)
        with pytest.raises(NotSent, match="No answer"):
            send(
                url=f"http://127.0.0.1:{server.getsockname()[1]}/",
                id="1", body=b"{}", timestamp=1, keys=[], private_allowed=True,
            )  # fmt: skip

    assert datetime.now(UTC) - began < timedelta(seconds=2)


def test_tls_that_is_none_and_names_that_are_none_are_told(monkeypatch):
    with socket.create_server(("127.0.0.1", 0)) as server:

        def hang_up():
            taken, _ = server.accept()
            taken.sendall(b"this is not TLS, this is a very long line of text\n" * 10)
            taken.close()

        threading.Thread(target=hang_up, daemon=True).start()
        with pytest.raises(NotSent, match=r"TLS failed|broke off"):
            send(
                url=f"https://localhost:{server.getsockname()[1]}/",
                id="1", body=b"{}", timestamp=1, keys=[], private_allowed=True,
            )  # fmt: skip

    with pytest.raises(NotSent, match="does not resolve"):
        checked_addresses("x" * 70 + ".example", 443, private_allowed=False)


@pytest.mark.django_db(transaction=True)
def test_the_worker_is_woken_after_the_commit_and_again_if_that_was_lost(lead, answers):
    url, _, taken = answers
    a_webhook(lead, url)
    delete_jobs()  # what earlier tests left in the queue
    jobs = ProcrastinateJob.objects.filter(task_name="crews.deliver", status="todo")
    complete_a_round(lead)
    complete_a_round(lead)
    assert jobs.count() == 1
    delete_jobs()

    tasks.look_for_due_deliveries(0)

    job = jobs.get()
    tasks.deliver(job.args["webhook_id"])
    assert len(taken) == 2


@pytest.mark.django_db(transaction=True)
def test_a_wake_up_that_fails_after_the_commit_undoes_nothing_and_is_made_up_for(lead, answers, monkeypatch):
    def gone(webhook, *, crew):
        raise OperationalError("the database went just after the commit")

    url, _, taken = answers
    id, _ = a_webhook(lead, url)
    monkeypatch.setattr("crews.events.actions.wake_for", gone)

    complete_a_round(lead)
    again = lead.post(f"webhook-deliveries/{the_delivery(lead)['id']}/redeliver")
    monkeypatch.undo()

    assert again.status_code == 202
    assert webhooks_due(at=datetime.now(UTC)) == [(UUID(id), lead.who.crew.id)]
    tasks.deliver(id)
    assert len(taken) == 1


def delete_jobs():
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM procrastinate_jobs")


@pytest.mark.django_db(transaction=True)
def test_more_than_a_hundred_are_sent_in_several_goes(lead, answers):
    url, _, taken = answers
    id, _ = a_webhook(lead, url)
    emit_events(lead.who.crew, [(EventKind.ROUND_COMPLETE, {"round": n}) for n in range(103)], MORNING)
    delete_jobs()

    tasks.deliver(id)

    assert len(taken) == 100
    tasks.deliver(ProcrastinateJob.objects.get(task_name="crews.deliver").args["webhook_id"])
    assert len(taken) == 103
    assert not WebhookDelivery.objects.filter(state="waiting").exists()


@pytest.mark.django_db(transaction=True)
def test_what_is_over_is_forgotten_by_the_worker(lead):
    lead.get("me")

    tasks.forget_what_is_over(0)

    assert lead.get("me").status_code == 200


@pytest.mark.parametrize("kind", EventKind.values)
def test_every_kind_of_event_has_its_place_in_the_docs(kind):
    described = (Path(__file__).parents[2] / "docs" / "api" / "events.md").read_text()

    assert f"\n## {kind}\n" in described
    told = described.split(f"\n## {kind}\n")[1].split("\n## ")[0]
    if " as `" not in f" {told}":
        assert {*re.findall(r"`(\w+)`", told)} >= {*DATA[EventKind(kind)]}


def test_the_schema_has_a_webhook_for_each_kind_whose_body_is_the_event():
    components = schema()["components"]["schemas"]

    for kind, path in schema()["webhooks"].items():
        body = path["post"]["requestBody"]["content"]["application/json"]["schema"]["$ref"].rsplit("/", 1)[-1]
        event = components[body]
        assert event["properties"]["kind"]["const"] == kind
        data = components[event["properties"]["data"]["$ref"].rsplit("/", 1)[-1]]
        assert {*data["required"]} == {*data["properties"]} == {*DATA[EventKind(kind)]}
    assert {*schema()["webhooks"]} == {*EventKind.values}
    listed = {one["$ref"].rsplit("/", 1)[-1] for one in components["Event"]["oneOf"]}
    assert len(listed) == len(EventKind)
