"""A piece is sawn, peeled, notched or moved before it is set: recorded once, undone with a reason."""

from typing import Any
from uuid import uuid4

import pytest

from inventory.logs.models import Log
from tests.cabins.building import NOON, a_cabin, a_log, id_of, record_set
from tests.cabins.test_giving import a_roofed_cabin, made

pytestmark = pytest.mark.django_db(transaction=True)


def prepared(someone: Any, log: Log, *, id: str | None = None, **changed: Any) -> Any:
    """Record the part from 1 m to 4 m of a log as sawn, for nothing yet."""
    body = {"log": str(log.id), "near_butt_mm": 1000, "near_tip_mm": 4000, "prepared_at": NOON.isoformat()}
    version = changed.pop("version", None)
    given = {} if version is None else {"version": version}
    return someone.put(f"prepared-pieces/{id or uuid4()}", {**body, **changed}, **given)


def codes(answer: Any) -> set[tuple[str, str]]:
    return {(one["pointer"], one["code"]) for one in answer.body["errors"]}


def in_place(cabin: str, wall: str = "A", piece: int = 0) -> dict[str, Any]:
    return {"cabin": str(id_of(cabin)), "wall": wall, "round": 1, "piece": piece}


def test_a_sawn_piece_is_a_piece_of_its_log_and_the_rest_is_left(learner):
    log = a_log(learner.who.crew)

    answer = prepared(learner, log)

    assert answer.status_code == 201, answer.body
    assert (answer.body["marks"], answer.body["length_mm"], answer.body["cabin"]) == (["sawn"], 3000, None)
    told = learner.get(f"logs/{log.id}/pieces").body
    assert [(one["near_butt_mm"], one["marks"]) for one in told["prepared"]] == [(1000, ["sawn"])]
    assert [(one["near_butt_mm"], one["near_tip_mm"]) for one in told["left"]] == [(25, 945), (4055, 5975)]
    [event] = learner.get("events?kind=piece_sawn").body["items"]
    said = {
        "prepared_piece": answer.body["id"],
        "log": str(log.id),
        "near_butt_mm": 1000,
        "near_tip_mm": 4000,
    }
    assert event["data"] == said
    assert told["pieces"] == []


def test_the_same_again_changes_nothing_and_marks_are_added_under_the_version(learner):
    log, id = a_log(learner.who.crew), str(uuid4())
    first = prepared(learner, log, id=id)

    again = prepared(learner, log, id=id)
    blind = prepared(learner, log, id=id, marks=["sawn", "at_wall"])
    marked = prepared(learner, log, id=id, marks=["at_wall", "sawn"], version=1)
    unsawn = prepared(learner, log, id=id, marks=["at_wall"], version=2)
    moved = prepared(learner, log, id=id, marks=["sawn", "at_wall"], near_tip_mm=3000, version=2)

    assert (first.status_code, again.status_code, again.body["version"]) == (201, 200, 1)
    assert blind.body["type"] == "/problems/version-needed"
    assert (marked.status_code, marked.body["marks"]) == (200, ["sawn", "at_wall"])
    assert {one.body["type"] for one in (unsawn, moved)} == {"/problems/prepared-piece-stands"}


def test_it_is_undone_with_a_reason_and_the_log_is_whole_again(learner):
    log, id = a_log(learner.who.crew), str(uuid4())
    prepared(learner, log, id=id)

    without = learner.post(f"prepared-pieces/{id}/undo", {"reason": ""})
    undone = learner.post(f"prepared-pieces/{id}/undo", {"reason": "The wrong line was ticked."})

    assert without.status_code == 422
    assert undone.body["undo_reason"] == "The wrong line was ticked."
    told = learner.get(f"logs/{log.id}/pieces").body
    assert (told["prepared"], len(told["left"])) == ([], 1)
    assert prepared(learner, log).status_code == 201


def test_wood_that_is_not_there_or_in_another_piece_is_a_fault(builder):
    cabin, log = a_cabin(builder), a_log(builder.who.crew, length_mm=9000)
    record_set(builder, cabin, log, from_butt_mm=60)
    prepared(builder, log, near_butt_mm=6000, near_tip_mm=7000)

    found = [
        codes(prepared(builder, log, near_butt_mm=near, near_tip_mm=tip))
        for near, tip in ((7100, 9001), (8000, 7500), (100, 500), (6900, 7100))
    ]

    assert found == [
        {("/near_tip_mm", "outside_log")},
        {("/near_tip_mm", "no_length")},
        {("/near_butt_mm", "overlaps_piece")},
        {("/near_butt_mm", "overlaps_piece")},
    ]
    assert codes(prepared(builder, log, wall="A")) == {("/wall", "invalid")}
    assert codes(prepared(builder, log, **in_place(cabin, wall="Q"))) == {("/wall", "unknown")}


def test_metal_near_a_cut_is_refused_until_it_is_out_and_a_short_piece_is_asked_back(builder):
    cabin = a_cabin(builder)
    log = a_log(
        builder.who.crew, hazards=[{"kind": "metal", "from_butt_mm": 4100, "extent_mm": None, "face": None}]
    )

    metal = prepared(builder, log)
    short = prepared(builder, log, metal_removed=True, near_tip_mm=3000, **in_place(cabin))
    taken = prepared(builder, log, metal_removed=True)

    assert metal.body["type"] == "/problems/metal-near-cut"
    assert {one["pointer"] for one in metal.body["errors"]} == {"/near_butt_mm"}
    assert (short.body["type"], codes(short)) == (
        "/problems/doubts-unconfirmed", {("/near_tip_mm", "short_for_place")}
    )  # fmt: skip
    assert [one["code"] for one in taken.body["warnings"]] == ["metal_removed"]


def set_at(someone: Any, cabin: str, log: Log, near: float, **more: Any) -> Any:
    body = {"log": str(log.id), "from_butt_mm": near, "butt_at": "start", "set_at": NOON.isoformat()}
    return someone.put(f"set-logs/{uuid4()}", {**in_place(cabin), **body, **more})


def test_a_log_that_is_set_agrees_with_what_was_sawn(learner, lead):
    cabin = a_cabin(lead)
    length = next(
        one["length_mm"]
        for one in lead.get(f"{cabin}/places?wall=A&round=1").body["items"]
        if one["piece"] == 0
    )
    log = a_log(lead.who.crew, length_mm=length + 2000)
    assert prepared(lead, log, near_butt_mm=500, near_tip_mm=500 + length).status_code == 201

    across = set_at(learner, cabin, log, 100)
    short = set_at(learner, cabin, log, 530)
    as_sawn = set_at(learner, cabin, log, 503)

    assert codes(across) == {("/from_butt_mm", "across_saw_cut")}
    assert codes(short) == {("/from_butt_mm", "sawn_short")}
    assert (as_sawn.status_code, as_sawn.body["warnings"]) == (201, [])
    undo = learner.get(f"logs/{log.id}/pieces").body["prepared"][0]["prepared_piece"]
    refused = learner.post(f"prepared-pieces/{undo}/undo", {"reason": "Never sawn."})
    assert refused.body["type"] == "/problems/prepared-piece-stands"


def test_a_piece_sawn_for_another_place_or_longer_is_a_warning(lead):
    cabin, log = a_roofed_cabin(lead), a_log(lead.who.crew, length_mm=7000)
    prepared(lead, log, near_butt_mm=1000, near_tip_mm=5200, cabin=str(id_of(cabin)), member="post 1")

    row = made(lead, cabin, log)  # the ridge, 4 m from 1 m on

    assert {one["code"] for one in row.warnings} == {"sawn_for_another", "sawn_longer"}


def test_a_log_of_another_crew_is_not_there(stranger, lead):
    assert codes(prepared(stranger, a_log(lead.who.crew))) == {("/log", "unknown")}
