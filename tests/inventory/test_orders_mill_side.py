"""What a mill's key opens, and what it does not; what the mill proposes and the crew answers."""

from datetime import UTC, datetime
from uuid import uuid4

import pytest

from inventory.orders.models import MillKey
from tests.inventory.ordering import (
    FIRST_TRUCK,
    a_draft,
    a_form,
    a_mill,
    a_rack,
    a_sent_order,
    mill_of,
    tally,
)
from tests.people import Someone
from tests.schema import schema

NEXT_YEAR = "2031-01-01T00:00:00Z"


@pytest.fixture
def order(builder):
    return a_sent_order(builder)


@pytest.fixture
def mill(builder, order, asker):
    return mill_of(builder, order, asker)


def problem(answer):
    return answer.status_code, answer.body["type"].removeprefix("/problems/")


def addresses(start):
    """Every operation of the schema below or outside `/mill/`, with ids that nobody has."""
    for path, methods in schema()["paths"].items():
        if path.startswith("/api/v1/mill/") == (start == "mill"):
            for method in methods:
                parts = [str(uuid4()) if part.startswith("{") else part for part in path.split("/")]
                yield method.upper(), "/".join(parts)


def test_a_mills_key_opens_its_order_and_nothing_else(builder, order, mill, settings):
    settings.KEYLESS_REQUESTS_PER_MINUTE = 0  # more addresses are tried than a stranger may within a minute
    assert mill.get("mill/order").body["id"] == order

    for method, address in addresses("crew"):
        assert mill.ask(method, address).status_code == 401, (method, address)
    assert mill.get(f"orders/{order}").status_code == 401


def test_a_members_key_opens_no_address_of_the_mill(lead, settings):
    settings.KEYLESS_REQUESTS_PER_MINUTE = 0
    for method, address in addresses("mill"):
        assert lead.ask(method, address).status_code == 401, (method, address)


def test_the_schema_says_which_key_opens_what():
    assert {"AccessKey", "MillKey"} <= set(schema()["components"]["securitySchemes"])
    for path, methods in schema()["paths"].items():
        wanted = "MillKey" if path.startswith("/api/v1/mill/") else "AccessKey"
        assert all(one["security"] == [{wanted: []}] for one in methods.values()), path


def test_a_mills_key_opens_no_other_order_of_the_same_mill(builder, order, mill):
    other = a_draft(builder, builder.get(f"orders/{order}").body["mill"], name="Sauna")
    builder.post(f"orders/{other}/send")
    delivery = str(uuid4())
    builder.put(f"deliveries/{delivery}", {"order": other})

    assert mill.get("mill/order").body["id"] == order
    assert mill.get(f"mill/deliveries/{delivery}").status_code == 404
    stray = mill.put(f"mill/deliveries/{delivery}/tally", tally(FIRST_TRUCK), media="text/csv")
    assert stray.status_code == 404
    assert builder.get(f"deliveries/{delivery}").body["state"] == "announced"
    assert mill.put(f"mill/deliveries/{delivery}", {"remarks": "ours now"}).status_code == 404


def test_a_key_is_shown_once_stored_hashed_and_ends(builder, order, asker):
    address, wanted = f"orders/{order}/mill-keys/{uuid4()}", {"name": "office", "expires_at": NEXT_YEAR}

    first, again = builder.put(address, wanted), builder.put(address, wanted)
    other = builder.put(address, {**wanted, "name": "yard"})
    secret = first.body["secret"]
    office = asker(Someone(crew=builder.who.crew, member=builder.who.member, key=secret))

    assert (first.status_code, again.status_code, other.status_code) == (201, 200, 412)
    assert again.body["secret"] is None
    key = MillKey.objects.get()
    assert secret.encode() not in bytes(key.secret_sha256)
    assert secret not in builder.get(f"orders/{order}/mill-keys").content.decode()
    assert office.get("mill/order").status_code == 200
    assert MillKey.objects.get().last_used_at is not None
    MillKey.objects.update(
        created_at=datetime(2026, 1, 1, tzinfo=UTC), expires_at=datetime(2026, 1, 2, tzinfo=UTC)
    )
    assert office.get("mill/order").status_code == 401
    MillKey.objects.update(expires_at=datetime(2031, 1, 1, tzinfo=UTC))
    builder.post(f"mill-keys/{key.id}/revoke")
    builder.post(f"mill-keys/{key.id}/revoke")
    assert office.get("mill/order").status_code == 401


def test_a_key_without_an_end_or_already_past_is_not_made(builder, learner, order):
    address = f"orders/{order}/mill-keys/{uuid4()}"

    past = builder.put(address, {"name": "office", "expires_at": "2020-01-01T00:00:00Z"})
    endless = builder.put(address, {"name": "office"})

    assert {e["pointer"] for e in past.body["errors"] + endless.body["errors"]} == {"/expires_at"}
    assert learner.put(address, {"name": "office", "expires_at": NEXT_YEAR}).status_code == 403
    assert learner.get(f"orders/{order}/mill-keys").status_code == 403


@pytest.mark.parametrize("header", ["Bearer", "Basic abc", "Bearer mill_none", "Bearer  "])
def test_what_is_no_mill_key_opens_nothing(db, nobody, header):
    assert nobody.get("mill/order", authorization=header).status_code == 401


def test_a_draft_is_not_the_mills_to_read(builder, asker):
    mill_id = a_mill(builder)
    a_form(builder, mill_id)
    draft = a_draft(builder, mill_id)
    early = mill_of(builder, draft, asker)

    assert early.get("mill/order").status_code == 404
    builder.post(f"orders/{draft}/send")
    assert early.get("mill/order").status_code == 200


def test_the_mill_reads_the_order_in_its_own_form(mill):
    order = mill.get("mill/order").body

    assert [(line["count"], line["price"]) for line in order["lines"]] == [(4, "0.825"), (2, "0.70")]
    assert mill.get("mill/order/form").body["headings"][0] == "Item"
    for ending, start in (("csv", b"Order,Bunkhouse"), ("xlsx", b"PK"), ("pdf", b"%PDF")):
        assert mill.get(f"mill/order/form.{ending}").content.startswith(start)


def test_lines_are_confirmed_one_by_one_and_then_the_order(mill, builder, order):
    first = mill.post("mill/order/confirm", {"lines": [2]})
    again = mill.post("mill/order/confirm", {"lines": [2, 2]})
    unknown = mill.post("mill/order/confirm", {"lines": [1, 7]})
    all_of_them = mill.post("mill/order/confirm", {})
    once_more = mill.post("mill/order/confirm", {})

    assert [line["confirmed_at"] is None for line in first.body["lines"]] == [True, False]
    assert first.body["lines"] == again.body["lines"]
    assert [e["pointer"] for e in unknown.body["errors"]] == ["/lines/1"]
    assert (all_of_them.body["state"], once_more.body["state"]) == ("confirmed", "confirmed")
    told = [e["what"] for e in builder.get(f"orders/{order}/history").body["items"]]
    assert told == ["sent", "lines_confirmed", "lines_confirmed", "confirmed"]


def test_what_the_mill_proposes_changes_nothing_before_the_crew_accepts(mill, builder, learner, order):
    ids = [str(uuid4()) for _ in range(3)]
    changes = [
        {"line": 1, "length_mm": "18' 6\"", "reason": "No longer ones this year."},
        {"line": 2, "count": 5},
        {"wanted_on": "2026-07-15"},
    ]
    for id, change in zip(ids, changes, strict=True):
        assert mill.put(f"mill/proposals/{id}", change).status_code == 201
        assert mill.put(f"mill/proposals/{id}", change).status_code == 200

    before = builder.get(f"orders/{order}/lines").body["items"]
    assert (before[0]["length_mm"], before[1]["count"]) == (6248.4, 2)
    assert learner.post(f"proposals/{ids[0]}/accept").status_code == 403
    builder.post(f"proposals/{ids[0]}/accept")
    builder.post(f"proposals/{ids[1]}/decline")
    builder.post(f"proposals/{ids[2]}/accept")

    after = builder.get(f"orders/{order}/lines").body["items"]
    assert (after[0]["length_mm"], after[1]["count"]) == (5638.8, 2)
    assert builder.get(f"orders/{order}").body["wanted_on"] == "2026-07-15"
    assert [one["state"] for one in mill.get("mill/proposals").body["items"]] == [
        "accepted", "declined", "accepted",
    ]  # fmt: skip
    assert learner.get(f"orders/{order}/proposals").body["items"][0]["decided_by_name"] == "Brone"
    # The declined line is still to be confirmed, by the mill, as it was ordered.
    assert builder.get(f"orders/{order}").body["state"] == "sent"
    assert mill.post("mill/order/confirm", {}).body["state"] == "confirmed"


def test_an_answer_is_given_once(mill, builder, order):
    proposal = str(uuid4())
    mill.put(f"mill/proposals/{proposal}", {"line": 1, "count": 3})

    builder.post(f"proposals/{proposal}/accept")
    again = builder.post(f"proposals/{proposal}/accept")
    other_way = builder.post(f"proposals/{proposal}/decline")

    assert again.status_code == 200
    assert problem(other_way) == (409, "proposal-answered")
    accepted = [e for e in builder.get(f"orders/{order}/history").body["items"] if "accepted" in e["what"]]
    assert [e["detail"] for e in accepted] == ["line 1, count 3; was 6248 mm, 4 logs"]


@pytest.mark.parametrize(
    ("change", "at"),
    [
        ({}, ""),
        ({"line": 1}, "/line"),
        ({"count": 3}, "/line"),
        ({"line": 9, "count": 3}, "/line"),
        ({"line": 1, "count": 0}, "/count"),
        ({"line": 1, "count": 4_999}, "/count"),
        ({"line": 1, "length_mm": 310}, "/length_mm"),
        ({"line": 1, "length_mm": "20"}, "/length_mm"),
        ({"line": 1, "count": 3, "price": "9"}, "/price"),
        ({"wanted_on": "soon"}, "/wanted_on"),
    ],
)
def test_a_proposal_that_proposes_nothing_sound_is_refused(mill, change, at):
    answer = mill.put(f"mill/proposals/{uuid4()}", change)

    assert answer.status_code == 422
    assert [e["pointer"] for e in answer.body["errors"]] == [at]


def test_a_proposal_is_not_changed_under_its_id(mill, builder, stranger, asker):
    proposal = str(uuid4())
    mill.put(f"mill/proposals/{proposal}", {"line": 1, "count": 3})

    changed = mill.put(f"mill/proposals/{proposal}", {"line": 1, "count": 2})

    assert problem(changed) == (409, "proposal-fixed")
    assert stranger.post(f"proposals/{proposal}/accept").status_code == 404
    other = mill_of(stranger, a_sent_order(stranger), asker)
    assert other.put(f"mill/proposals/{proposal}", {"line": 1, "count": 3}).status_code == 404


def test_a_withdrawn_order_is_read_but_not_answered(mill, builder, order):
    builder.post(f"orders/{order}/withdraw", {})

    assert mill.get("mill/order").body["state"] == "withdrawn"
    for answer in (
        mill.post("mill/order/confirm", {}),
        mill.put(f"mill/proposals/{uuid4()}", {"line": 1, "count": 3}),
        mill.put(f"mill/deliveries/{uuid4()}", {}),
    ):
        assert problem(answer) == (409, "order-move-refused")


def test_the_mill_announces_changes_its_word_and_posts_the_tally(mill, builder, order):
    address = f"mill/deliveries/{uuid4()}"

    made = mill.put(address, {"expected_on": "2026-06-03"})
    again = mill.put(address, {"expected_on": "2026-06-03"})
    later = mill.put(address, {"expected_on": "2026-06-05"}, version=1)
    posted = mill.put(f"{address}/tally", tally(FIRST_TRUCK), media="text/csv")
    repeat = mill.put(f"{address}/tally", tally(FIRST_TRUCK), media="text/csv")

    assert (made.status_code, again.status_code, later.body["expected_on"]) == (201, 200, "2026-06-05")
    assert posted.body == repeat.body == mill.get(address).body
    events = builder.get(f"orders/{order}/history").body["items"]
    assert [(e["what"], e["mill_key_name"]) for e in events[1:]] == [
        ("delivery_announced", "mill office"),
        ("delivery_tallied", "mill office"),
    ]
    assert builder.get(f"orders/{order}/reconciliation").body["total"]["delivered"] == 0


def test_a_mill_that_never_confirms_may_deliver(mill, builder, order):
    delivery = str(uuid4())
    mill.put(f"mill/deliveries/{delivery}", {})
    mill.put(f"mill/deliveries/{delivery}/tally", tally(FIRST_TRUCK), media="text/csv")

    builder.post(f"deliveries/{delivery}/receive", {"rack": a_rack(builder)})

    assert mill.get("mill/order").body["state"] == "part_delivered"


def test_what_the_mill_posts_may_be_sent_again(mill, builder, order):
    asked = {"idempotency-key": str(uuid4())}

    first = mill.post("mill/order/confirm", {"lines": [1]}, **asked)
    again = mill.post("mill/order/confirm", {"lines": [1]}, **asked)

    assert again.body == first.body
    assert again.headers["Idempotency-Replayed"] == "true"
    told = [e["what"] for e in builder.get(f"orders/{order}/history").body["items"]]
    assert told == ["sent", "lines_confirmed"]
