"""A lead's word counts: said once of a log, kept by every plan, shown with it, asked about when it is set."""

from typing import Any
from uuid import uuid4

import pytest

from inventory.logs.models import Log
from planning.plans.models import PlannedPiece
from tests.cabins.building import a_log, a_yard
from tests.planning.planning_yard import a_hut, ask, logs_enough, planned
from tests.planning.test_at_the_wall import adopted, round_of, set_piece
from tests.planning.test_members import RIDGE
from tests.planning.test_planning_again import pieces_of

pytestmark = pytest.mark.django_db(transaction=True)


def say(someone: Any, log: str, *said: dict[str, Any]) -> Any:
    version = someone.get(f"logs/{log}").body["version"]
    return someone.put(f"logs/{log}/instructions", {"instructions": list(said)}, version=version)


def test_a_lead_says_it_and_it_is_shown_with_the_log_until_it_is_taken_back(lead, builder):
    hut, log = a_hut(lead), str(a_log(lead.who.crew).id)

    refused = say(builder, log, {"kind": "peel_first"})
    answer = say(lead, log, {"kind": "keep_for", "use": "sill", "cabin": hut}, {"kind": "peel_first"})
    again = lead.put(
        f"logs/{log}/instructions",
        {"instructions": [{"kind": "keep_for", "use": "sill", "cabin": hut}, {"kind": "peel_first"}]},
    )

    assert refused.status_code == 403
    assert [one["text"] for one in answer.body["instructions"]] == [
        "Kept for a sill log of Pond hut.", "Not before it is peeled.",
    ]  # fmt: skip
    assert (again.status_code, again.body["version"]) == (200, answer.body["version"])
    assert lead.get("logs?limit=1").body["items"][0]["instructions"] == answer.body["instructions"]
    assert say(lead, log).body["instructions"] == []


def test_what_makes_no_sense_is_a_fault(lead):
    hut, log = a_hut(lead), str(a_log(lead.who.crew).id)
    place = {"cabin": hut, "wall": "A", "round": 1, "piece": 0}
    say(lead, str(a_log(lead.who.crew).id), {"kind": "pin", **place})

    def pointers(*said: dict[str, Any]) -> set[str]:
        answer = say(lead, log, *said)
        assert answer.status_code == 422, answer.body
        return {one["pointer"] for one in answer.body["errors"]}

    assert pointers({"kind": "keep_for"}) == {"/instructions/0/use"}
    assert pointers({"kind": "keep_for", "use": "cabin"}) == {"/instructions/0/cabin"}
    assert pointers({"kind": "pin", "cabin": hut, "member": "ridge"}) == {"/instructions/0/member"}
    assert pointers({"kind": "pin", **place, "wall": "Q"}) == {"/instructions/0/wall"}
    assert pointers({"kind": "pin", **place}) == {"/instructions/0/cabin"}, "another log is pinned there"
    assert pointers({"kind": "never_in_wall", "wall": "A"}) == {"/instructions/0/wall"}
    assert pointers({"kind": "peel_first"}, {"kind": "peel_first"}) == {"/instructions"}
    never = {"kind": "never_in_wall"}
    assert pointers({"kind": "keep_for", "use": "plate"}, never) == {"/instructions/1/kind"}
    assert pointers(never, {"kind": "pin", **place, "round": 2}) == {"/instructions/0/kind"}


def test_a_pin_that_cannot_hold_says_why(lead):
    hut = a_hut(lead)
    yard = a_yard(lead.who.crew)
    short, lies, free = (str(a_log(lead.who.crew, yard=yard, length_mm=mm).id) for mm in (4000, 6000, 6000))
    piece = {"cabin": hut, "wall": "A", "round": 1, "piece": 0}
    assert set_piece(lead, {**piece, "log": lies, "from_butt_mm": 25, "butt_at": "start"}).status_code == 201

    def codes(answer: Any) -> set[tuple[str, str]]:
        return {(one["pointer"], one["code"]) for one in answer.body["errors"]}

    there = {"kind": "pin", **piece, "wall": "C"}
    never = say(lead, lies, {"kind": "never_in_wall"})
    assert codes(say(lead, short, there)) == {("/instructions/0/log", "outside_log")}
    assert codes(say(lead, free, {**there, "from_butt_mm": 3000})) == {
        ("/instructions/0/from_butt_mm", "outside_log")
    }
    assert codes(say(lead, free, {**there, "wall": "A"})) == {("/instructions/0/log", "place_taken")}
    assert codes(never) == {("/instructions/0/kind", "contradicts")}
    assert "wall A of Pond hut" in never.body["errors"][0]["detail"]
    pinned = [{**piece, "wall": "C", "log": short}, {**piece, "log": free}]
    assert codes(ask(lead, [hut], [str(yard.id)], pinned=pinned)) == {
        ("/pinned/0/from_butt_mm", "outside_log"),
        ("/pinned/1/log", "place_taken"),
    }
    assert say(lead, free, there).status_code == 200


def test_every_later_plan_keeps_the_ridge_and_leaves_the_unpeeled_log(lead):
    hut = a_hut(lead, members=[RIDGE])
    yard = a_yard(lead.who.crew)
    logs_enough(lead, yard=yard)
    long = [str(a_log(lead.who.crew, yard=yard, length_mm=7500, crown_mm=2).id) for _ in range(2)]
    raw = Log.objects.filter(yard=yard).exclude(id__in=long).order_by("-middle_mm").first()
    Log.objects.filter(id=raw.id).update(peeled=False)
    say(lead, long[1], {"kind": "pin", "cabin": hut, "member": "ridge"})
    say(lead, str(raw.id), {"kind": "peel_first"})

    for seed in (1, 2):
        plan = planned(lead, [hut], [yard.id], seed=seed)["plan_id"]
        assert str(PlannedPiece.objects.get(plan=plan, member="ridge").log_id) == long[1]
        assert not PlannedPiece.objects.filter(plan=plan, log=raw).exists()


def test_a_log_set_against_the_leads_word_is_asked_about_and_the_sheet_says_it(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    here, there = round_of(lead, plan, 1)[:2]
    say(lead, here["log"], {"kind": "never_in_wall"})
    say(lead, there["log"], {"kind": "pin", **{n: here[n] for n in ("cabin", "wall", "round", "piece")}})

    asked = set_piece(lead, here)
    taken = set_piece(lead, here, confirm_doubtful=True)

    codes = {"lead_never_in_wall", "lead_pinned_another"}
    assert {one["code"] for one in asked.body["errors"]} == codes
    assert {one["code"] for one in taken.body["warnings"]} >= codes
    sheet = lead.get(f"cabins/{hut}/setting-sheet?round=1").body
    said = next(row["cautions"] for row in sheet["rows"] if row["log"] == there["log"])
    assert any("Pinned to wall" in words for words in said)


def test_only_what_was_named_is_planned_anew_and_the_rest_stands(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    yard = PlannedPiece.objects.filter(plan=plan).first().log.yard_id
    part = {"cabin": hut, "walls": ["A", "C"], "rounds": [2, 3]}

    again = planned(lead, [hut], [yard], weights={"keep": 0}, seed=9, scope=[part])["plan_id"]

    def outside(pieces: set[tuple[Any, ...]]) -> set[tuple[Any, ...]]:
        return {one for one in pieces if not (one[0] in "AC" and one[1] > 1)}

    assert outside(pieces_of(again)) == outside(pieces_of(plan))
    strange = ask(lead, [hut], [yard], scope=[{"cabin": str(uuid4())}])
    assert {one["pointer"] for one in strange.body["errors"]} == {"/scope/0/cabin"}
    nowhere = ask(lead, [hut], [yard], scope=[{"cabin": hut, "walls": ["A", "Q"], "rounds": [9]}])
    found = {one["pointer"]: one["detail"] for one in nowhere.body["errors"]}
    assert found["/scope/0/walls/1"] == "The cabin has no wall Q."
    assert found["/scope/0/rounds/0"] == "The cabin has no round 9."
    assert len(found) == 2
    bare = a_hut(lead, "Bare hut")
    unplanned = ask(lead, [bare], [yard], scope=[{"cabin": bare, "rounds": [1]}])
    assert {one["code"] for one in unplanned.body["errors"]} == {"no_plan"}


def test_a_member_is_pinned_in_one_job_alone(lead):
    hut = a_hut(lead, members=[RIDGE])
    yard = a_yard(lead.who.crew)
    logs_enough(lead, yard=yard)
    long = [str(a_log(lead.who.crew, yard=yard, length_mm=7500, crown_mm=2).id) for _ in range(2)]

    for log in long:
        pin = {"cabin": hut, "member": "ridge", "log": log}
        plan = planned(lead, [hut], [yard.id], pinned=[pin])["plan_id"]
        assert str(PlannedPiece.objects.get(plan=plan, member="ridge").log_id) == log
    wrong = ask(lead, [hut], [yard.id], pinned=[{**pin, "member": "mast"}])
    assert {one["pointer"] for one in wrong.body["errors"]} == {"/pinned/0"}
