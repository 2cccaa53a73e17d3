"""No crew sees another's: every id that the schema takes, one of another crew beside one of nobody.

Generated from the schema file, so that a new address, filter or field is covered the day it appears. Both
answers must be the same to the letter: what is another's cannot be told from what is not there.
"""

import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from config.batch import ALLOWED
from crews.accounts.models import AccessKey, Role
from inventory.orders.models import MillKey
from tests.conftest import Asker
from tests.operation_ids import kind_of_field, operations
from tests.operations.asking import Answer, address, body, one_of, undone, with_id
from tests.operations.world import World
from tests.people import Someone, join

NOBODYS = "4f0c2b1a-9d8e-4c7b-a6f5-0e1d2c3b4a59"
# A new crew's id is the client's: one that is taken is told, as any other fault of an id made by hand.
TAKEN = {"found_crew": 409}
# An order that is only shown in a form is looked for as by its address.
LOOKED_FOR = {"preview_form"}
ENTRY = "5b1d7a60-1f5e-4d0a-9a10-2c7e9b8f6a01"
LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)


def seen_apart(
    world: World, foreign: dict[str, list[str]], *, of_mill: bool, version: int | None
) -> list[Any]:
    """The ids in addresses that are not answered as an id of nobody is."""
    odd = []
    for one in [one for one in operations() if one.of_mill or not of_mill]:
        who, sent = world.asker(one), body(one, world.own)
        for name, kind in one.path_ids().items():
            theirs = one_of(foreign, kind)
            got = undone(
                who, one, address(one, world.own, **{name: theirs}), sent, id=theirs, version=version
            )
            nobodys = undone(
                who, one, address(one, world.own, **{name: NOBODYS}), sent, id=NOBODYS, version=version
            )
            makes = one.method == "PUT" and (version is None or nobodys[0] in (200, 201))
            right = got[0] == TAKEN.get(one.name, 404) and (got == nobodys or makes)
            if not right:
                odd.append((one.name, name, got, nobodys))
    return odd


@pytest.mark.parametrize("version", [1, None], ids=["changing", "making"])
def test_anothers_id_in_an_address_is_as_one_of_nobody(world, version):
    """But under an id of nobody something may be made, and under another's never."""
    assert seen_apart(world, world.foreign, of_mill=False, version=version) == []


@pytest.mark.parametrize("version", [1, None], ids=["changing", "making"])
def test_to_a_mill_the_crews_other_orders_are_nobodys(world, version):
    other = {kind: world.own[kind][1:] for kind in ("delivery", "proposal")}

    assert seen_apart(world, other, of_mill=True, version=version) == []


def test_anothers_history_is_as_that_of_nobody(world):
    [one] = [one for one in operations() if one.name == "show_history"]
    [kinds] = [
        of["enum"] for all in operations() if all.name == "list_history"
        for name, of in all.parameters("query").items() if name == "kind"
    ]  # fmt: skip
    named = {kind: {"access_key": "key"}.get(kind, kind.replace("_", " ")) for kind in kinds}
    tried = {kind: ids for kind, name in named.items() if (ids := world.foreign.get(name))}

    for kind, (theirs, *_) in tried.items():
        got, nobodys = (
            undone(world.lead, one, f"history/{kind}/{id}", None, id=id, version=None)
            for id in (theirs, NOBODYS)
        )
        assert got == nobodys, kind
    assert len(tried) > 15


def test_anothers_id_in_a_query_is_as_one_of_nobody(world):
    odd, tried = [], 0
    for one in operations():
        who, sent = world.asker(one), body(one, world.own)
        for name in one.query_ids():
            theirs = one_of(world.foreign, kind_of_field((name,)) or "")
            before, got, after = (
                undone(who, one, address(one, world.own, **{name: id}), sent, id=id, version=1)
                for id in (NOBODYS, theirs, NOBODYS)
            )
            tried += 1
            if got not in (before, after) or '"items": [{' in got[1]:  # a sheet tells the minute
                odd.append((one.name, name, got, after))

    assert odd == []
    assert tried > 20


def test_anothers_id_in_a_body_is_as_one_of_nobody(world):
    odd = []
    for one in operations():
        who, sent = world.asker(one), body(one, world.own)
        for way in [way for way in one.body_ids() if kind_of_field(way) != "new"]:
            answers = []
            for id in (one_of(world.foreign, kind_of_field(way) or ""), NOBODYS):
                told = with_id(one, sent, way, id, world.own)
                answers.append(undone(who, one, address(one, world.own), told, id=id, version=1))
            right = answers[0][0] == 404 if one.name in LOOKED_FOR else refused_for(way, answers[0])
            if answers[0] != answers[1] or not right:
                odd.append((one.name, way, *answers))

    assert odd == []


def refused_for(way: tuple[str, ...], answer: Answer) -> bool:
    """True if the answer points at this very field, or at what it stands in."""
    if answer[0] != 422:
        return False
    steps = ["0" if step == "*" else step for step in way]
    around = {"/" + "/".join(steps[:n]) for n in range(1, len(steps) + 1)}
    return any(fault["pointer"] in around for fault in json.loads(answer[1])["errors"])


def test_anothers_id_within_a_batch_is_as_one_of_nobody(world):
    [batch] = [one for one in operations() if one.name == "send_batch"]
    odd, tried = [], 0
    for one in [one for one in operations() if one.name in ALLOWED]:
        for name, kind in one.path_ids().items():
            answers = []
            for id in (one_of(world.foreign, kind), NOBODYS):
                path = address(one, world.own, **{name: id})
                entry = {"id": ENTRY, "made_at": "2026-05-04T10:40:00Z", "method": one.method, "if_match": 1}
                sent = {"entries": [{**entry, "path": path, "body": body(one, world.own)}]}
                answers.append(undone(world.lead, batch, batch.path, sent, id=id, version=None))
            tried += 1
            if answers[0] != answers[1] or json.loads(answers[0][1])["entries"][0]["status"] != 404:
                odd.append((one.name, *answers))

    assert odd == []
    assert tried >= len(ALLOWED)


def wrong_keys(world: World, *, of_mill: bool) -> Iterator[tuple[str, Asker]]:
    """Whoever has no business at all."""
    lead, mill = world.lead, world.mill
    yield "no key", Asker(None)
    yield "made up", Asker(Someone(crew=lead.who.crew, member=lead.who.member, key="log_made_up"))
    yield "of the other kind", lead if of_mill else mill
    keys = MillKey.objects if of_mill else AccessKey.objects
    who = mill if of_mill else Asker(join(lead.who.crew, "Spare", Role.LEAD))
    for what, spoilt in {
        "revoked": {"revoked_at": LONG_AGO + timedelta(days=1)},
        "expired": {"revoked_at": None, "created_at": LONG_AGO, "expires_at": LONG_AGO + timedelta(days=1)},
    }.items():
        keys.filter(crew=lead.who.crew).exclude(**({} if of_mill else {"member": lead.who.member})).update(
            **spoilt
        )
        yield what, who
    if not of_mill:
        gone = join(lead.who.crew, "Left", Role.LEAD)
        gone.member.left_at = LONG_AGO
        gone.member.save(update_fields=["left_at"])
        yield "of someone who left", Asker(gone)


@pytest.mark.parametrize("of_mill", [False, True], ids=["of members", "of mills"])
def test_no_wrong_key_opens_anything_or_learns_what_is_there(world, of_mill):
    odd, said = [], set()
    for what, who in wrong_keys(world, of_mill=of_mill):
        for one in [one for one in operations() if one.of_mill == of_mill]:
            answer = who.ask(one.method, address(one, world.own), body(one, world.own))
            said.add((json.dumps(answer.body), answer.headers["WWW-Authenticate"]))
            if answer.status_code != 401:
                odd.append((what, one.name, answer.status_code))

    assert odd == []
    assert len(said) == 1, "every wrong key is answered with the same words"
