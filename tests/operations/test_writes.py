"""Every operation that takes a version refuses a stale one, and every POST is done once under its key.

Generated from the schema file, so that a new operation is covered the day it appears.
"""

from typing import Any

import pytest
from django.db import connection

from config.archive.tables import tables
from tests.conftest import Asker
from tests.operation_ids import Operation, operations
from tests.operations.asking import asked
from tests.operations.prerequisites import READY, made_ready
from tests.operations.world import World
from tests.schema import schema

VERSIONED = [one for one in operations() if "If-Match" in one.parameters("header")]
POSTS = [one for one in operations() if one.method == "POST"]
# What one row of anything can be changed in; tried in this order.
CHANGED = {"remarks": "changed since", "name": "changed since", "url": "https://hooks.example.org/changed"}
SIGN = {"idempotency-key": "phone-7-entry-31"}


def stored() -> dict[str, str]:
    """A digest of every table that holds something of a crew."""
    found = {}
    with connection.cursor() as cursor:
        for name in [*(table.name for table in tables()), "crews_change"]:
            cursor.execute(
                f"SELECT md5(string_agg(row, '' ORDER BY row)) FROM"
                f" (SELECT (to_jsonb(one) - 'last_used_at')::text AS row FROM {name} one) rows"
            )
            found[name] = cursor.fetchone()[0]
    return found


def held_now(who: Asker, path: str) -> Any:
    """The answer with what is stored under the address, or under the one it is a part of."""
    answer = who.get(path)
    return who.get(path.rsplit("/", 1)[0]) if answer.status_code == 405 else answer


def changed(operation: Operation, sent: Any, row: dict[str, Any]) -> Any:
    """A body that changes what is stored: the same but for one field, or what the operation has ready."""
    if operation.name in READY or operation.method != "PUT":
        return sent
    told = operation.told["requestBody"]["content"]["application/json"]["schema"]["$ref"].rsplit("/", 1)[-1]
    fields = schema()["components"]["schemas"][told]["properties"]
    field = next(name for name in CHANGED if name in fields)
    return {name: row[name] for name in fields if name in row} | {field: CHANGED[field]}


@pytest.mark.parametrize("one", VERSIONED, ids=[one.name for one in VERSIONED])
def test_a_stale_version_is_shown_what_is_stored_and_changes_nothing(alone: World, one: Operation):
    who = alone.asker(one)
    path, sent = made_ready(alone, one)
    row = held_now(who, path)
    version, sent = row.body["version"], changed(one, sent, row.body)
    before = stored()

    stale = [asked(who, one, path, sent, version=version + off) for off in (-1, 5)]
    unsaid = asked(who, one, path, sent)
    after = stored()
    right = asked(who, one, path, sent, version=version)

    for refused in stale:
        assert (refused.status_code, refused.body["type"]) == (412, "/problems/version-stale")
        assert refused.body["current"] == row.body
    assert (unsaid.status_code, unsaid.body["type"]) == (428, "/problems/version-needed")
    for refused in (*stale, unsaid):
        assert (refused.body["current_version"], refused.headers["ETag"]) == (version, f'"{version}"')
    assert after == before
    assert right.status_code in (200, 204), right.body
    assert stored() != before


@pytest.mark.parametrize("one", VERSIONED, ids=[one.name for one in VERSIONED])
def test_if_match_is_read_as_the_standard_says(alone: World, one: Operation):
    """RFC 9110, 13.1.1: of several tags one has to match, a weak one never does, `*` whatever is stored."""
    who = alone.asker(one)
    path, sent = made_ready(alone, one)
    row = held_now(who, path)
    version, sent = row.body["version"], changed(one, sent, row.body)

    unlike = [f'W/"{version}"', f'"c-{version}"', f'"{version}0", W/"{version}"']
    refused = [asked(who, one, path, sent, **{"if-match": tag}) for tag in unlike]
    unread = [asked(who, one, path, sent, **{"if-match": text}) for text in (f"{version}", '"', "*, *")]
    any_of = {"if-match": "*" if one.name < "put" else f'"{version}0", "{version}"'}
    right = asked(who, one, path, sent, **any_of)

    assert [(told.status_code, told.body["type"]) for told in refused] == [
        (412, "/problems/version-stale")
    ] * 3
    assert [told.status_code for told in unread] == [400] * 3
    assert right.status_code in (200, 204), right.body


@pytest.mark.parametrize("one", POSTS, ids=[one.name for one in POSTS])
def test_a_post_is_done_once_under_its_key(alone: World, one: Operation):
    who = alone.asker(one)
    path, sent = made_ready(alone, one)

    first = asked(who, one, path, sent, **SIGN)
    assert first.status_code < 300, first.body
    before = stored()
    again = asked(who, one, path, sent, **SIGN)
    otherwise = asked(who, one, path, another(sent), **SIGN)

    assert "Idempotency-Replayed" not in first.headers
    assert again.headers["Idempotency-Replayed"] == "true"
    assert (again.status_code, again.content) == (first.status_code, first.content)
    assert again.headers.get("ETag") == first.headers.get("ETag")
    assert (otherwise.status_code, otherwise.body["type"]) == (422, "/problems/idempotency-key-reused")
    assert stored() == before


def another(sent: Any) -> Any:
    return sent + b"\n" if isinstance(sent, bytes) else {**(sent or {}), "why": "lost"}
