"""What is read again costs few bytes: 304 for what is held already, gzip for the rest."""

import gzip
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.test import Client

from cabins.cabins.models import Cabin
from crews.api.conditional import takes_gzip
from inventory.yards.models import Species
from tests.cabins.building import a_cabin, set_round
from tests.operation_ids import operations
from tests.operations.asking import address
from tests.operations.world import World, made
from tests.people import Someone

READS = [one for one in operations() if one.method == "GET"]
# They go out while they are made; and a workbook says when that was.
STREAMED = {"export_crew", "export_chart"}
DATED = {"download_order_workbook", "download_mill_order_workbook"}
READ_AGAIN = [one for one in READS if one.name not in STREAMED | DATED]


@pytest.fixture(scope="module")
def full(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    with made(django_db_blocker, foreign=False) as found:
        yield found


@pytest.mark.parametrize("one", READ_AGAIN, ids=[one.name for one in READ_AGAIN])
def test_what_is_held_already_is_told_in_no_bytes(full: World, db: None, one):
    wood = Species.objects.filter(crew=full.lead.who.crew, shrink_radial_pct__isnull=False).order_by("name")
    shrinks = {"species": str(wood.values_list("id", flat=True)[0])} if "settling" in one.name else {}
    asker, path = full.asker(one), address(one, full.own, **shrinks)
    asker.get(path)  # the key's last use is written once a minute

    first = asker.get(path)
    again = asker.get(path, **{"if-none-match": first.headers["ETag"]})

    assert first.status_code == 200
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["ETag"] == first.headers["ETag"]
    assert again.headers["Cache-Control"] == "private, no-cache"
    assert not [
        name for name in again.headers if name.startswith("Content-") and name != "Content-Security-Policy"
    ]


def test_what_is_shown_changes_under_the_same_version(builder):
    cabin = a_cabin(builder)
    before = builder.get(cabin)

    Cabin.objects.update(built_version=7)
    after = builder.get(cabin, **{"if-none-match": before.headers["ETag"]})

    assert (after.status_code, after.body["built_version"]) == (200, 7)
    assert before.body["version"] == after.body["version"] == 1
    assert all(re.fullmatch(r'"1\.c[0-9a-f]{16}"', one.headers["ETag"]) for one in (before, after))
    assert before.headers["ETag"] != after.headers["ETag"]


def test_the_tag_of_what_was_shown_is_good_to_edit_by(builder):
    cabin = a_cabin(builder)
    shown = builder.get(cabin)
    Cabin.objects.update(built_version=7)

    done = builder.put(cabin, {"name": "Bakehouse"}, **{"if-match": shown.headers["ETag"]})
    late = builder.put(cabin, {"name": "Wood store"}, **{"if-match": shown.headers["ETag"]})

    assert (done.status_code, done.headers["ETag"]) == (200, '"2"')
    assert (late.status_code, late.body["current"]["name"]) == (412, "Bakehouse")


def test_the_tag_of_a_list_is_no_version(builder):
    a_cabin(builder)
    listed = builder.get("cabins")
    cabin = f"cabins/{listed.body['items'][0]['id']}"

    refused = builder.put(cabin, {"name": "Bakehouse"}, **{"if-match": listed.headers["ETag"]})

    assert re.fullmatch(r'"c[0-9a-f]{16}"', listed.headers["ETag"])
    assert refused.status_code == 412


@pytest.mark.parametrize(
    ("held", "status"),
    [("*", 304), ('W/"{}"', 304), ('"other", "{}"', 304), ('"{}.gz"', 304), ('"other"', 200), ("{}", 200)],
)
def test_if_none_match_is_read_as_the_standard_says(learner, held, status):
    tag = learner.get("crew").headers["ETag"].strip('"')

    assert learner.get("crew", **{"if-none-match": held.format(tag)}).status_code == status


def test_another_crew_is_never_told_that_it_holds_what_is_ours(lead, stranger):
    ours = lead.get("crew")

    theirs = stranger.get("crew", **{"if-none-match": ours.headers["ETag"]})

    assert (theirs.status_code, theirs.body["name"]) == (200, "Far Ridge crew")


def plain(who: Someone, path: str, **headers: str) -> Any:
    return Client().get(path, headers={"authorization": f"Bearer {who.key}", **headers})


def test_whoever_takes_gzip_is_given_it(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)
    path = f"/api/v1/{cabin}/rounds"

    packed = plain(builder.who, path, **{"accept-encoding": "gzip, br"})
    held = plain(builder.who, path, **{"accept-encoding": "gzip, br", "if-none-match": packed["ETag"]})
    whole = plain(builder.who, path)
    short = plain(builder.who, "/api/v1/me/", **{"accept-encoding": "gzip"})

    assert gzip.decompress(packed.content) == whole.content
    assert (packed["Content-Encoding"], packed["Content-Length"]) == ("gzip", str(len(packed.content)))
    assert len(packed.content) < len(whole.content) / 3
    assert "Accept-Encoding" in packed["Vary"]
    assert "Accept-Encoding" in whole["Vary"]
    assert "Content-Encoding" not in whole
    assert packed["ETag"] == f'{whole["ETag"][:-1]}.gz"'
    assert (held.status_code, held["ETag"]) == (304, packed["ETag"])
    assert "Content-Encoding" not in short


def test_a_chart_is_packed_while_it_goes_out(full: World, db: None):
    path = f"/api/v1/yards/{full.own['yard'][0]}/chart"

    packed = plain(full.lead.who, path, **{"accept-encoding": "gzip"})
    whole = plain(full.lead.who, path)

    assert packed["Content-Encoding"] == "gzip"
    assert gzip.decompress(b"".join(packed.streaming_content)) == b"".join(whole.streaming_content)


@pytest.mark.parametrize(
    ("accepted", "taken"),
    [
        ("gzip", True), ("br, GZIP;q=0.2", True), ("*", True), ("gzip;q=0", False),
        ("gzip;q=0.000, *", False), ("identity, *;q=0", False), ("", False), ("x-gzip", False), ("br", False),
    ],
)  # fmt: skip
def test_gzip_is_given_to_those_who_take_it_alone(accepted, taken):
    assert takes_gzip(accepted) is taken


def test_scripts_go_out_packed_and_are_the_same(db):
    name = "crews/api.js"

    packed = [Client().get(f"/static/{name}", headers={"accept-encoding": "gzip"}) for _ in range(2)]
    whole = Client().get(f"/static/{name}")
    head = Client().head(f"/static/{name}", headers={"accept-encoding": "gzip"})
    part = Client().get(f"/static/{name}", headers={"accept-encoding": "gzip", "range": "bytes=0-9"})
    found = finders.find(name)

    text = Path(found).read_bytes()
    assert [gzip.decompress(one.content) for one in packed] == [text, text]
    assert packed[0]["ETag"] == whole["ETag"]
    assert b"".join(whole.streaming_content) == text
    assert "Content-Encoding" not in head
    assert (part.status_code, b"".join(part.streaming_content)) == (206, text[:10])
