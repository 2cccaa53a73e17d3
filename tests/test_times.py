"""Times come in with their zone and go out in one form."""

from typing import Any
from uuid import uuid4

import pytest

from crews.api.answers import without_noise
from tests.operation_ids import Operation, operations
from tests.operations.asking import address, asked, body
from tests.operations.world import World, made
from tests.schema import schema

Way = tuple[str, ...]


def times_in(operation: Operation) -> list[Way]:
    """Where a body may hold times; `*` stands for the first of a list."""
    content = operation.told.get("requestBody", {}).get("content", {}).get("application/json")
    return list(_times(content["schema"], ())) if content else []


def _times(of: dict[str, Any], way: Way) -> Any:
    if "$ref" in of:
        of = schema()["components"]["schemas"][of["$ref"].rsplit("/", 1)[-1]]
    if of.get("format") == "date-time":
        yield way
    for name, part in of.get("properties", {}).items():
        yield from _times(part, (*way, name))
    if "items" in of:
        yield from _times(of["items"], (*way, "*"))


TIMED = [(one, way) for one in operations() for way in times_in(one)]


@pytest.fixture(scope="module")
def full(django_db_setup, django_db_blocker):
    with made(django_db_blocker, foreign=False) as found:
        yield found


def put_in(sent: Any, way: Way, value: str) -> Any:
    here = sent
    for step in way[:-1]:
        here = here[0 if step == "*" else step]
    here[way[-1]] = value
    return sent


def test_times_are_found_where_things_are_recorded():
    assert {way[-1] for _, way in TIMED} == {
        "expires_at", "installed_at", "made_at", "measured_at", "prepared_at", "set_at",
    }  # fmt: skip


@pytest.mark.parametrize(("one", "way"), TIMED, ids=[f"{one.name}-{way[-1]}" for one, way in TIMED])
@pytest.mark.parametrize("written", ["2026-05-04T10:40:00", "2026-05-04 10:40", "2026-05-04"])
def test_a_time_without_a_zone_is_a_fault(full: World, db, one, way, written):
    sent = put_in(body(one, full.own), way, written)

    answer = asked(full.asker(one), one, address(one, full.own), sent)
    if one.name == "send_batch":
        assert answer.status_code == 200
        [answer.body] = [entry["body"] for entry in answer.body["entries"]]

    where = "/" + "/".join("0" if step == "*" else step for step in way)
    found = {fault["pointer"]: fault["code"] for fault in answer.body["errors"]}
    assert found == {where if one.name != "send_batch" else f"/{way[-1]}": "no_zone"}


def test_a_time_is_told_in_utc_whatever_its_zone_was(lead):
    key = f"keys/{uuid4()}"
    sent = {"member": str(lead.who.member.id), "name": "Bench", "role": "lead"}
    sent["expires_at"] = "2031-05-04T10:40:00+02:00"
    made_now = lead.put(key, sent)
    told = lead.get("history?kind=access_key&order=-at").body["items"][0]

    assert made_now.body["expires_at"] == "2031-05-04T08:40:00Z"
    assert told["after"]["expires_at"] == "2031-05-04T08:40:00Z"
    assert told["after"]["created_at"] == made_now.body["created_at"]


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (383.09574055630634, 383.1),
        (2152.4999028182701, 2152.5),
        (12345.678912, 12345.68),
        (0.0754289713, 0.075429),
        (-0.000012345678, -0.000012346),
        (0.79375, 0.79375),
        (8686.8, 8686.8),
        (0.0, 0.0),
    ],
)
def test_a_figure_has_no_digits_that_mean_nothing(value, told):
    assert without_noise({"rows": [{"a_mm": value}]}) == {"rows": [{"a_mm": told}]}
