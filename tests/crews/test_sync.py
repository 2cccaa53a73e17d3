"""What changed in a list since a reader read it last: nothing missed, and what went away is told."""

from uuid import uuid4

import psycopg
import pytest

from inventory.logs.models import Log
from tests.cabins.building import a_log
from tests.live import Live
from tests.operation_ids import operations
from tests.operations.asking import address
from tests.operations.world import World, made
from tests.test_recipes import recipe

LISTS = [one for one in operations() if "changed_since" in one.parameters("query")]


@pytest.fixture(scope="module")
def full(django_db_setup, django_db_blocker):
    with made(django_db_blocker, foreign=False) as found:
        yield found


def test_the_lists_of_what_changes_tell_what_changed():
    assert {one.name for one in LISTS} == {
        "list_members", "list_keys", "list_species", "list_yards", "list_racks", "list_logs", "list_cabins",
        "list_set_logs", "list_heights", "list_prepared_pieces", "list_roof_members", "list_plans",
        "list_reservations", "list_mills", "list_orders", "list_deliveries", "list_delivered_logs",
        "list_proposals", "list_mill_keys", "list_webhooks",
    }  # fmt: skip


@pytest.mark.parametrize("one", LISTS, ids=[one.name for one in LISTS])
def test_a_list_tells_all_at_first_and_then_what_changed(full: World, db, one):
    path = address(one, full.own)

    whole = full.asker(one).get(path).body
    first = full.asker(one).get(f"{path}?changed_since=start").body
    later = full.asker(one).get(f"{path}?changed_since={first['cursor']}")
    odd = full.asker(one).get(f"{path}?changed_since=yesterday")

    assert whole.keys() == {"items", "next"}
    assert first["items"] == whole["items"]
    assert first["gone"] == []
    assert later.status_code == 200
    assert [fault["pointer"] for fault in odd.body["errors"]] == ["?changed_since"]


@pytest.mark.django_db(transaction=True)
def test_what_did_not_change_is_not_told(lead):
    crew = lead.who.crew
    logs = [a_log(crew, number=f"A{n}") for n in range(4)]
    cursor = lead.get("logs?changed_since=start").body["cursor"]
    assert lead.get(f"logs?changed_since={cursor}").body["items"] == []

    lead.patch(f"logs/{logs[2].id}", {"remarks": "turned"}, version=1)
    told = lead.get(f"logs?changed_since={cursor}").body

    assert [row["number"] for row in told["items"]] == ["A2"]
    assert lead.get(f"logs?changed_since={told['cursor']}").body["items"] == []


@pytest.mark.django_db(transaction=True)
def test_a_slow_writer_is_told_later_than_a_fast_one_and_not_lost(lead, here):
    slow, fast = (a_log(lead.who.crew, number=number) for number in ("A1", "A2"))
    cursor = lead.get("logs?changed_since=start").body["cursor"]
    with psycopg.connect(here) as other:
        other.execute("UPDATE inventory_log SET remarks = 'slow', version = 2 WHERE id = %s", [slow.id])

        lead.patch(f"logs/{fast.id}", {"remarks": "fast"}, version=1)
        before = lead.get(f"logs?changed_since={cursor}").body
        other.commit()
    after = lead.get(f"logs?changed_since={before['cursor']}").body

    assert [row["number"] for row in before["items"]] == ["A2"]
    assert "A1" in [row["number"] for row in after["items"]]


@pytest.mark.django_db(transaction=True)
def test_what_no_longer_passes_the_filter_is_gone(lead, stranger):
    logs = [a_log(lead.who.crew, number=f"A{n}") for n in range(2)]
    other = str(uuid4())
    lead.put(f"yards/{other}", {"name": "Upper yard"})
    where = f"logs?yard={logs[0].yard_id}&changed_since="
    cursor = lead.get(f"{where}start").body["cursor"]
    a_log(stranger.who.crew, number="X1")

    Log.objects.filter(id=logs[1].id).update(yard=other)
    told = lead.get(f"{where}{cursor}").body

    assert (told["items"], told["gone"]) == ([], [str(logs[1].id)])


@pytest.mark.django_db(transaction=True)
def test_the_cursor_stands_on_the_first_page(lead):
    for n in range(5):
        a_log(lead.who.crew, number=f"A{n}")

    first = lead.get("logs?changed_since=start&limit=2").body
    second = lead.get(f"logs?changed_since=start&limit=2&after={first['next']}").body

    assert [row["number"] for row in (*first["items"], *second["items"])] == ["A0", "A1", "A2", "A3"]
    assert "cursor" in first
    assert second.keys() == {"items", "next"}


def test_the_recipes_phone_has_what_the_service_has(live: Live):
    crew = live.crew("Offline crew")
    yard = str(uuid4())
    crew.put(f"yards/{yard}", {"name": "Lower yard"})
    sizes = {"length_mm": 5000, "butt_mm": 300, "middle_mm": 275, "tip_mm": 250, "charted_on": "2026-05-04"}
    logs = [str(uuid4()) for _ in range(520)]
    for at in range(0, len(logs), 260):
        entries = [
            {
                "id": str(uuid4()), "made_at": "2026-05-04T10:40:00Z", "method": "PUT",
                "path": f"/api/v1/logs/{id}", "body": {"yard": yard, "number": f"A{at + n}", **sizes},
            }
            for n, id in enumerate(logs[at : at + 260])
        ]  # fmt: skip
        crew.post("batch", {"entries": entries})
    phone = recipe("offline-sync")["Copy"](live.root, crew.key)

    first, first_bytes = phone.sync(), phone.read_bytes
    crew.must("PATCH", f"logs/{logs[7]}", {"remarks": "turned"}, **{"If-Match": '"1"'})
    crew.put(f"cabins/{uuid4()}", {"name": "Bunkhouse"})
    phone.read_bytes = 0
    later, later_bytes = phone.sync(), phone.read_bytes

    assert len(phone.rows["logs"]) == 520
    assert phone.rows["logs"][logs[7]] == crew.get(f"logs/{logs[7]}")
    assert [row["name"] for row in phone.rows["cabins"].values()] == ["Bunkhouse"]
    assert first > 520
    assert later >= 2
    assert later_bytes < first_bytes / 20
