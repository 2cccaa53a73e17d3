"""A crew carried to another server is there as it was, and nobody else notices."""

import re
from typing import Any

import pytest
from django.db import connection
from psycopg import sql

from config.archive.reading_in import read_in
from config.archive.tables import tables
from crews.accounts.models import AccessKey, Crew, Member
from crews.history.models import Change
from inventory.orders.models import MillKey
from tests.archive.world import LATER, a_full_crew, archive_of, forget
from tests.people import Someone
from tests.schema import schema

pytestmark = pytest.mark.django_db(transaction=True)
# What is another after an import, as docs/running/archive.md says: these have tests of their own.
OTHERWISE = ("keys", "history", "webhooks", "webhook-deliveries", "orders/{order}/mill-keys")
_SKIPPED = (
    "application/pdf",
    "application/zip",
    "application/vnd",
)  # sheets carry the time they were printed


def everything(someone: Any) -> dict[str, Any]:
    """Every answer that the crew's lead can read without a question: the lists, and what stands at an id."""
    ids: dict[str, list[str]] = {}
    told = {}
    for path in sorted(schema()["paths"], key=lambda path: path.count("{")):
        address = path.removeprefix("/api/v1/")
        gives = schema()["paths"][path].get("get", {}).get("responses", {}).get("200", {}).get("content", {})
        if (
            not gives
            or address.startswith(("mill/", *OTHERWISE))
            or any(k.startswith(_SKIPPED) for k in gives)
        ):
            continue
        if address.count("{") > 1 or re.sub(r"\{[^}]+\}", "{order}", address) in OTHERWISE:
            continue
        first = address.split("/")[0]
        for id in ids.get(first, []) if "{" in address else [""]:
            asked = re.sub(r"\{[^}]+\}", id, address)
            answer = someone.get(asked)
            told[asked] = (answer.status_code, without_place_ids(answer.body))
            if isinstance(answer.body, dict) and "{" not in address:
                ids[first] = [str(row["id"]) for row in answer.body.get("items", [])[:2] if "id" in row]
    return told


def without_place_ids(body: Any) -> Any:
    """Places are numbered by each server for itself, and no list but their own shows the number.

    So are cursors of the events, which are given at the end of a list too.
    """
    if isinstance(body, dict) and isinstance(body.get("items"), list):
        rows = [
            {k: v for k, v in row.items() if not isinstance(v, int) or k != "id"} for row in body["items"]
        ]
        return {**body, "items": rows, "cursor": None}
    return body


def rows_of(crew: Crew) -> dict[str, list[Any]]:
    """What the crew has in the database."""
    found = {}
    with connection.cursor() as cursor:
        for table in tables():
            rows = sql.SQL(table.held.rows).format(crew=sql.Literal(crew.id))
            query = sql.SQL("SELECT to_jsonb(one) FROM {} one WHERE {} ORDER BY id")
            cursor.execute(query.format(sql.Identifier(table.name), rows))
            found[table.file] = [row for (row,) in cursor.fetchall()]
    return found


def test_every_answer_is_the_same_on_the_other_server(lead, stranger, asker, tmp_path):
    a_full_crew(lead, asker)
    a_full_crew(stranger, asker)
    file = archive_of(lead, tmp_path)
    rows, before, of_others = rows_of(lead.who.crew), everything(lead), rows_of(stranger.who.crew)
    forget(lead.who.crew)
    assert lead.get("me").status_code == 401

    came = read_in(file, at=LATER)

    assert [name for name, count in came.rows.items() if count == 0] == [], "not tried here"
    assert came.rows == {name: len(lines) for name, lines in rows.items()}
    there = asker(Someone(crew=came.crew, member=lead.who.member, key=came.key))
    after = everything(there)
    assert sum(status == 200 for status, _ in before.values()) > 60
    assert [address for address in before if before[address] != after.get(address)] == []
    assert rows_of(stranger.who.crew) == of_others


def test_the_history_comes_along_as_it_was_and_what_the_import_did_stands_behind_it(lead, asker, tmp_path):
    a_full_crew(lead, asker)
    file = archive_of(lead, tmp_path)
    kept = list(Change.objects.filter(crew=lead.who.crew).order_by("id").values())
    forget(lead.who.crew)

    read_in(file, at=LATER)

    found = list(Change.objects.filter(crew=lead.who.crew).order_by("id").values())
    # Its positions are of the server on which it was written: here they lie before any cursor.
    as_it_was = [{**row, "id": 0, "position": 0} for row in kept]
    assert [{**row, "id": 0} for row in found][: len(kept)] == as_it_was
    done = [(row["kind"], row["before"] is None, row["request_id"]) for row in found[len(kept) :]]
    by = "import of an archive"
    assert sorted(done) == [
        ("access_key", False, by), ("access_key", True, by), ("mill_key", False, by), ("webhook", False, by),
    ]  # fmt: skip


def test_old_keys_open_nothing_webhooks_are_removed_and_the_lead_has_one_new_key(archive, asker):
    came = read_in(archive, at=LATER)

    there = asker(Someone(crew=came.crew, member=Member.objects.get(crew=came.crew), key=came.key))
    assert there.get("me").body["role"] == "lead"
    opens = [key["name"] for key in there.get("keys").body["items"] if key["revoked_at"] is None]
    assert opens == ["made when the crew was read in"]
    assert all(hook["removed_at"] for hook in there.get("webhooks").body["items"])
    (delivery,) = there.get("webhook-deliveries").body["items"]
    assert (delivery["state"], delivery["due_at"]) == ("given_up", None)
    for kind in (AccessKey, MillKey):
        hashes = [bytes(secret) for secret in kind.objects.values_list("secret_sha256", flat=True)]
        assert {len(secret) for secret in hashes} == {32}
        assert len(set(hashes)) == len(hashes)


def test_a_person_of_two_crews_becomes_one_in_each(lead, asker, tmp_path):
    """Who renames a member there renames nobody of another crew."""
    lead.put(f"crews/{lead.who.member.id}", {"name": "Second crew"})
    file = archive_of(lead, tmp_path)
    shared = lead.who.member.person_id
    forget(lead.who.crew)

    came = read_in(file, at=LATER)

    there = asker(Someone(crew=came.crew, member=lead.who.member, key=came.key))
    address = f"members/{lead.who.member.id}"
    assert there.put(address, {"name": "Oddny", "role": "lead"}, version=1).status_code == 200
    assert Member.objects.get(person=shared).name == "Odda"


def test_who_founded_a_crew_from_another_is_not_named_in_its_archive(lead, asker, tmp_path):
    founded = lead.put(f"crews/{lead.who.member.id}", {"name": "Second crew"}).body
    second = Crew.objects.get(id=founded["crew"]["id"])
    assert Change.objects.filter(crew=second, member=lead.who.member).exists()
    there = asker(Someone(crew=second, member=Member.objects.get(crew=second), key=founded["key"]))
    file = archive_of(there, tmp_path)
    forget(second)

    read_in(file, at=LATER)

    assert not Change.objects.filter(crew=second, member=lead.who.member).exists()
