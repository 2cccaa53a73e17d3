"""Members beyond the walls in plans: the long straight logs kept for them, reserved, made, planned around."""

from decimal import Decimal
from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from pypdf import PdfReader

from cabins.roof_members.models import RoofMember
from inventory.logs.models import Log, LogState
from planning.plans.models import CurrentPlan, Plan, PlannedPiece
from planning.plans.staleness import stale_because
from planning.reservations.models import Reservation
from tests.cabins.building import a_log, a_yard
from tests.planning.planning_yard import ROUNDS, a_hut, logs_enough, planned

pytestmark = pytest.mark.django_db(transaction=True)
NOON = "2026-05-04T12:00:00Z"
RIDGE = {
    "id": "ridge",
    "kind": "ridge",
    "length_mm": 7200,
    "least_middle_mm": 280,
    "crown_limit_mm": 15,
    "count": 1,
}
PURLINS = {**RIDGE, "id": "purlin", "kind": "purlin", "length_mm": 5000, "least_middle_mm": 250, "count": 2}


def a_ridge_log(someone: Any, yard: Any, **fields: Any) -> Log:
    """A long straight log whose middle is what the wall wants as well."""
    measures = {"length_mm": 7500, "butt_mm": 330, "middle_mm": 315, "tip_mm": 300, "crown_mm": 2}
    return a_log(someone.who.crew, yard=yard, **{**measures, **fields})


def a_bowed_log(someone: Any, yard: Any) -> Log:
    """A log that fills a place of the wall only at a price."""
    return a_log(someone.who.crew, yard=yard, butt_mm=330, middle_mm=315, tip_mm=300, crown_mm=900)


def a_scant_yard(someone: Any) -> tuple[Log, Log]:
    """One log fewer than the hut's walls need, the long straight one, and a bowed one; the last two."""
    yard = a_yard(someone.who.crew)
    logs_enough(someone, count=4 * ROUNDS - 1, yard=yard)
    return a_ridge_log(someone, yard), a_bowed_log(someone, yard)


def pieces(someone: Any, plan: str, asked: str = "") -> list[dict[str, Any]]:
    return someone.get(f"plans/{plan}/pieces?limit=500{asked}").body["items"]


def adopted(someone: Any, hut: str, yard: Any) -> str:
    """A plan of the hut from the yard, adopted; its id."""
    plan = planned(someone, [hut], [yard])["plan_id"]
    assert someone.post(f"plans/{plan}/adopt").status_code == 200
    return plan


def give(someone: Any, piece: dict[str, Any], id: Any = None, *, version: Any = None, **changed: Any) -> Any:
    """Record a row of the plan (or one like it) as made."""
    body = {name: piece[name] for name in ("cabin", "member", "log", "from_butt_mm")}
    address = f"roof-members/{id or uuid4()}"
    return someone.put(address, {**body, "installed_at": NOON, **changed}, version=version)


def test_the_one_long_straight_log_is_kept_for_the_ridge_although_a_wall_would_like_it(lead):
    without, with_ridge = a_hut(lead, "Pond hut"), a_hut(lead, "Hill hut", members=[RIDGE])
    long_log, bowed = a_scant_yard(lead)

    # Long enough for the search to settle on a busy machine as well.
    walls_only = pieces(lead, planned(lead, [without], [long_log.yard_id], seconds=5)["plan_id"])
    both = pieces(lead, planned(lead, [with_ridge], [long_log.yard_id], seconds=5)["plan_id"])

    assert str(long_log.id) in {row["log"] for row in walls_only}
    assert str(bowed.id) not in {row["log"] for row in walls_only}
    (ridge,) = [row for row in both if row["member"] is not None]
    assert (ridge["log"], ridge["member_kind"], ridge["length_mm"]) == (str(long_log.id), "ridge", 7200)
    assert (ridge["wall"], ridge["round"], ridge["piece"]) == (None, None, None)
    assert str(bowed.id) in {row["log"] for row in both if row["wall"] is not None}
    assert len(both) == 4 * ROUNDS + 1


def test_pieces_for_members_are_listed_apart_or_by_name(lead):
    hut = a_hut(lead, members=[RIDGE, PURLINS])
    yard = logs_enough(lead, count=18)[0].yard
    a_ridge_log(lead, yard)
    plan = planned(lead, [hut], [yard.id])["plan_id"]

    beyond, in_walls = pieces(lead, plan, "&for_members=true"), pieces(lead, plan, "&for_members=false")
    named = pieces(lead, plan, "&member=purlin 2")

    assert {row["member"] for row in beyond} == {"ridge", "purlin 1", "purlin 2"}
    assert len(in_walls) == 4 * ROUNDS
    assert [(row["member"], row["length_mm"]) for row in named] == [("purlin 2", 5000)]
    assert all("member" in p or "wall" in p for p in lead.get(f"plans/{plan}/file").body["pieces"])


def test_a_member_that_no_log_can_give_is_a_shortage(lead):
    hut = a_hut(lead, members=[RIDGE])
    job = planned(lead, [hut], [logs_enough(lead)[0].yard_id])

    plan = lead.get(f"plans/{job['plan_id']}").body

    assert not plan["complete"]
    assert plan["shortages"] == [{"length_mm": 7250, "least_middle_mm": 280, "count": 1}]


def test_an_adopted_plan_reservations_the_members_logs_and_sheets_show_walls_only(lead):
    hut = a_hut(lead, members=[RIDGE])
    long_log, _ = a_scant_yard(lead)

    plan = adopted(lead, hut, long_log.yard_id)

    reserved = lead.get(f"reservations?open=true&cabin={hut}").body["items"]
    assert str(long_log.id) in {row["log"] for row in reserved}
    assert len(reserved) == 4 * ROUNDS + 1
    assert Log.objects.get(id=long_log.id).state == LogState.RESERVED
    sheet = lead.get(f"cabins/{hut}/setting-sheet?round=1").body
    assert len(sheet["rows"]) == 4
    assert lead.get(f"plans/{plan}/heights?cabin={hut}").body["open_places"] == 4 * ROUNDS
    assert lead.get(f"cabins/{hut}/next-log").body["open_places"] == 4 * ROUNDS


def test_a_learner_records_the_ridge_as_made_and_the_reservation_is_kept(lead, learner):
    hut = a_hut(lead, members=[RIDGE])
    long_log, _ = a_scant_yard(lead)
    (ridge,) = pieces(lead, adopted(lead, hut, long_log.yard_id), "&member=ridge")
    before = lead.get(f"cabins/{hut}/progress").body

    answer = give(learner, ridge)

    assert answer.status_code == 201
    assert (answer.body["kind"], answer.body["length_mm"], answer.body["warnings"]) == ("ridge", 7200, [])
    assert answer.body["installed_by"] == str(learner.who.member.id)
    assert any("local code" in caution for caution in answer.body["cautions"])
    assert Reservation.objects.get(log=long_log).ended_because == "kept"
    assert Log.objects.get(id=long_log.id).state == LogState.SET
    after = lead.get(f"cabins/{hut}/progress").body
    assert (before["members"], before["members_installed"], after["members_installed"]) == (1, 0, 1)
    assert after["logs_left"] == before["logs_left"]


def test_recording_again_changes_nothing_and_only_remarks_change_under_their_version(lead):
    hut = a_hut(lead, members=[RIDGE])
    log = a_ridge_log(lead, a_yard(lead.who.crew))
    row = {"cabin": hut, "member": "ridge", "log": str(log.id), "from_butt_mm": 100}
    id = uuid4()

    first, again = give(lead, row, id), give(lead, row, id)
    unversioned = give(lead, row, id, remarks="Crown up")
    changed = give(lead, row, id, remarks="Crown up", version=1)
    moved = give(lead, row, id, remarks="Crown up", from_butt_mm=60, version=2)

    assert (first.status_code, again.status_code, unversioned.status_code) == (201, 200, 428)
    assert (
        first.body
        == again.body
        == lead.get("roof-members").body["items"][0]
        | {"remarks": "", **{name: first.body[name] for name in ("version", "changed_at")}}
    )
    assert (changed.status_code, changed.body["remarks"], changed.body["version"]) == (200, "Crown up", 2)
    assert moved.body["type"] == "/problems/roof-member-stands"


def test_another_log_than_the_plans_is_recorded_once_that_is_confirmed(lead):
    hut = a_hut(lead, members=[RIDGE])
    long_log, _ = a_scant_yard(lead)
    (ridge,) = pieces(lead, adopted(lead, hut, long_log.yard_id), "&member=ridge")
    other = a_ridge_log(lead, long_log.yard)

    asked = give(lead, ridge, log=str(other.id))
    answer = give(lead, ridge, log=str(other.id), confirm_doubtful=True)

    assert [one["code"] for one in asked.body["errors"]] == ["not_as_planned"]
    assert [warned["code"] for warned in answer.body["warnings"]] == ["not_as_planned"]
    assert f"log {long_log.number}" in answer.body["warnings"][0]["detail"]


def test_who_sets_the_ridge_log_in_a_wall_is_told_what_it_is_kept_for(lead):
    hut = a_hut(lead, members=[RIDGE])
    long_log, _ = a_scant_yard(lead)
    here = pieces(lead, adopted(lead, hut, long_log.yard_id), "&round=1")[0]
    fields = ("cabin", "wall", "round", "piece", "butt_at")

    answer = lead.put(
        f"set-logs/{uuid4()}",
        {name: here[name] for name in fields}
        | {"log": str(long_log.id), "from_butt_mm": 100, "set_at": NOON, "confirm_doubtful": True},
    )

    told = {warned["code"]: warned["detail"] for warned in answer.body["warnings"]}
    assert told["planned_elsewhere"] == f"The plan keeps log {long_log.number} for ridge."


def test_a_log_reserved_for_another_cabin_makes_a_member_here_only_when_confirmed(lead):
    theirs, mine = a_hut(lead, "Hill hut", members=[RIDGE]), a_hut(lead, "Pond hut", members=[RIDGE])
    long_log, _ = a_scant_yard(lead)
    (ridge,) = pieces(lead, adopted(lead, theirs, long_log.yard_id), "&member=ridge")

    refused = give(lead, ridge, cabin=mine)
    made = give(lead, ridge, cabin=mine, confirm_doubtful=True)

    assert refused.status_code == 409
    assert {one["code"] for one in refused.body["errors"]} == {"reserved_elsewhere"}
    assert made.status_code == 201
    assert Reservation.objects.get(log=ridge["log"]).ended_because == "taken"


def test_an_undone_member_is_reserved_again_and_may_be_made_anew(lead, learner):
    hut = a_hut(lead, members=[RIDGE])
    long_log, _ = a_scant_yard(lead)
    (ridge,) = pieces(lead, adopted(lead, hut, long_log.yard_id), "&member=ridge")
    record = give(lead, ridge).body

    undone = learner.post(f"roof-members/{record['id']}/undo", {"reason": "It split."})
    again = learner.post(f"roof-members/{record['id']}/undo", {"reason": "It split."})

    assert (undone.body["undo_reason"], again.body) == ("It split.", undone.body)
    assert Log.objects.get(id=long_log.id).state == LogState.RESERVED
    assert Reservation.objects.filter(log=long_log, ended_at=None).count() == 1
    assert [row["id"] for row in lead.get("roof-members?undone=true").body["items"]] == [record["id"]]
    assert give(lead, ridge).status_code == 201


def test_the_rest_is_planned_again_around_a_member_that_was_made(lead):
    hut = a_hut(lead, members=[RIDGE, {**PURLINS, "count": 1}])
    yard = logs_enough(lead, count=16)[0].yard
    long_log = a_ridge_log(lead, yard, length_mm=13_000, crown_mm=0)
    row = {"cabin": hut, "member": "ridge", "log": str(long_log.id), "from_butt_mm": 5400}
    stale = planned(lead, [hut], [yard.id])["plan_id"]

    assert give(lead, row).status_code == 201
    refused = lead.post(f"plans/{stale}/adopt")
    plan = adopted(lead, hut, yard.id)

    assert [one["code"] for one in refused.body["errors"]] == ["built_changed"]
    (ridge,) = pieces(lead, plan, "&member=ridge")
    assert (ridge["log"], ridge["from_butt_mm"]) == (str(long_log.id), 5400)
    assert lead.get(f"plans/{plan}").body["feasible"]
    rest = [p for p in pieces(lead, plan, f"&log={long_log.id}") if p["member"] != "ridge"]
    assert all(p["from_butt_mm"] + p["length_mm"] <= 5400 - 55 for p in rest)


def test_the_drawing_of_a_log_names_the_member_it_is_kept_for(lead):
    hut = a_hut(lead, members=[RIDGE])
    long_log, _ = a_scant_yard(lead)
    (ridge,) = pieces(lead, adopted(lead, hut, long_log.yard_id), "&member=ridge")

    reserved = lead.get(f"logs/{long_log.id}/drawing").content.decode()
    give(lead, ridge)
    made = lead.get(f"logs/{long_log.id}/drawing").content.decode()

    assert "Pond hut, ridge" in reserved
    assert "Pond hut, ridge, set" in made


def test_the_cut_list_has_the_member_beside_the_walls_until_it_is_made(lead):
    hut = a_hut(lead, members=[RIDGE])
    long_log, _ = a_scant_yard(lead)
    (ridge,) = pieces(lead, adopted(lead, hut, long_log.yard_id), "&member=ridge")

    def printed() -> str:
        pdf = lead.get(f"cabins/{hut}/sheets/cut-list").content
        return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages)

    before = printed()
    give(lead, ridge)

    assert f"{4 * ROUNDS + 1} pieces" in before
    assert "ridge" in before
    assert "ridge" not in printed()


def test_a_plan_no_longer_fits_once_a_member_was_made_from_another_log(lead):
    hut = a_hut(lead, members=[RIDGE])
    long_log, _ = a_scant_yard(lead)
    (ridge,) = pieces(lead, adopted(lead, hut, long_log.yard_id), "&member=ridge")
    other = a_ridge_log(lead, long_log.yard)
    current = CurrentPlan.objects.get(cabin=hut)

    record = give(lead, ridge).body
    as_planned = stale_because(current)
    lead.post(f"roof-members/{record['id']}/undo", {"reason": "It split."})
    give(lead, ridge, log=str(other.id), confirm_doubtful=True)

    assert as_planned == []
    assert stale_because(current) == [f"ridge was made from log {other.number} instead of another."]


def test_a_phone_without_a_signal_sends_a_member_later(lead):
    hut = a_hut(lead, members=[RIDGE])
    log = a_ridge_log(lead, a_yard(lead.who.crew))
    entry = {
        "id": str(uuid4()),
        "made_at": NOON,
        "method": "PUT",
        "path": f"/api/v1/roof-members/{uuid4()}",
        "body": {
            "cabin": hut,
            "member": "ridge",
            "log": str(log.id),
            "from_butt_mm": "4 in",
            "installed_at": NOON,
        },
    }

    sent = lead.post("batch", {"entries": [entry]}).body

    assert (sent["accepted"], sent["entries"][0]["status"]) == (1, 201)
    assert RoofMember.objects.get().from_butt_mm == Decimal("101.6")


def test_the_database_plans_each_piece_for_a_place_or_for_a_member(lead):
    hut = a_hut(lead, members=[RIDGE])
    long_log, _ = a_scant_yard(lead)
    plan = Plan.objects.get(id=planned(lead, [hut], [long_log.yard_id])["plan_id"])
    place = {"wall": "A", "round": 9, "piece": 0, "start_mm": 0, "end_mm": 3000}
    as_member = {"member": "post", "member_kind": "post", "member_length_mm": 2400}
    common = {"plan": plan, "cabin_id": hut, "log": long_log, "from_butt_mm": 25, "butt_at": "start"}

    for wrong, name in (
        ({**place, **as_member}, "planned_for_place_or_member"),
        ({}, "planned_for_place_or_member"),
        ({**as_member, "member": "ridge"}, "planned_once_for_member"),
    ):
        with pytest.raises(IntegrityError, match=name), transaction.atomic():
            PlannedPiece.objects.create(**common, **wrong)


def test_strangers_see_and_make_no_members_of_ours(lead, stranger):
    hut = a_hut(lead, members=[RIDGE])
    log = a_ridge_log(lead, a_yard(lead.who.crew))
    row = {"cabin": hut, "member": "ridge", "log": str(log.id), "from_butt_mm": 100}
    record = give(lead, row).body

    theirs = give(stranger, row)

    assert {one["pointer"] for one in theirs.body["errors"]} == {"/cabin", "/log"}
    assert stranger.get(f"roof-members/{record['id']}").status_code == 404
    assert stranger.post(f"roof-members/{record['id']}/undo", {"reason": "x"}).status_code == 404
    assert stranger.get("roof-members").body["items"] == []
    own = a_hut(stranger, members=[RIDGE])
    log = a_ridge_log(stranger, a_yard(stranger.who.crew))
    taken = give(stranger, {**row, "cabin": own, "log": str(log.id)}, record["id"])
    assert taken.status_code == 404
    assert RoofMember.objects.count() == 1
