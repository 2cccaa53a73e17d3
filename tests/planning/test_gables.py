"""Gables of logs from the roof line to the wall: laid out, counted, planned, reserved, cut, made, drawn."""

from importlib import import_module
from io import BytesIO
from typing import Any

import pytest
from django.db import connection
from pypdf import PdfReader

from cabins.cabins.models import Cabin
from cabins.layouts.models import PastLayout
from inventory.logs.models import Log
from tests.cabins.building import a_layout, a_log, a_yard
from tests.planning.planning_yard import a_hut, logs_enough, planned
from tests.planning.test_members import give, pieces
from tests.rectangle import RECTANGLE

pytestmark = pytest.mark.django_db(transaction=True)
ROOF = {"slope": 0.6, "ridge": "along"}
RIDGE = {
    "id": "ridge",
    "kind": "ridge",
    "length_mm": 6200,
    "least_middle_mm": 250,
    "crown_limit_mm": 25,
    "count": 1,
}
GABLE_LOGS = [f"gable {wall} {n}" for wall in "BD" for n in (1, 2, 3)]


def a_roofed_hut(someone: Any, **changed: Any) -> str:
    return a_hut(someone, **{"roof_line": ROOF, "least_piece_mm": 1500, "members": [RIDGE], **changed})


def a_yard_for_it(someone: Any) -> Any:
    """Logs for the walls, for the gables one each, and one for the ridge."""
    yard = a_yard(someone.who.crew)
    logs_enough(someone, count=12, yard=yard)
    measures = {"butt_mm": 300, "middle_mm": 292, "tip_mm": 284, "crown_mm": 4}
    for _ in GABLE_LOGS:
        a_log(someone.who.crew, yard=yard, length_mm=4400, **measures)
    a_log(someone.who.crew, yard=yard, length_mm=6600, **measures)
    return yard


def adopted(someone: Any, hut: str, yard: Any) -> str:
    plan = planned(someone, [hut], [yard.id])["plan_id"]
    assert someone.post(f"plans/{plan}/adopt").status_code == 200
    return plan


def test_a_layout_names_the_gables_logs_and_keeps_its_roof_line_when_it_is_left_out(builder):
    hut = a_roofed_hut(builder)
    laid = builder.get(f"cabins/{hut}/layout").body

    checked = builder.post(f"cabins/{hut}/layout/check", a_layout(roof_line={**ROOF, "slope": "6:12"})).body
    again = builder.put(f"cabins/{hut}/layout", a_layout(rounds=3), version=laid["version"]).body

    assert [one["member"] for one in laid["gable_logs"]] == GABLE_LOGS
    lengths = [one["length_mm"] for one in laid["gable_logs"]]
    assert lengths[:3] == sorted(lengths[:3], reverse=True) == lengths[3:]
    assert laid["layout"]["roof_line"] == {
        **ROOF,
        "heel_mm": 0,
        "least_middle_mm": None,
        "crown_limit_mm": 30,
    }
    assert [(one["pointer"], one["code"]) for one in checked["faults"]] == [
        ("/roof_line/slope", "not_a_number")
    ]
    assert again["layout"]["roof_line"] == laid["layout"]["roof_line"]
    gone = builder.put(
        f"cabins/{hut}/layout", a_layout(rounds=3, roof_line=None), version=again["version"]
    ).body
    assert (gone["layout"]["roof_line"], gone["gable_logs"]) == (None, [])


def test_a_cabin_without_a_roof_line_has_no_gables(lead):
    hut = a_hut(lead)

    told = lead.get(f"cabins/{hut}/gables").body

    assert (told["roof"], told["gables"], told["bearings"]) == (None, [], [])


def test_layouts_stored_before_there_were_roof_lines_have_none(builder):
    hut = a_hut(builder)
    older = {key: value for key, value in Cabin.objects.get().layout.items() if key != "roof_line"}
    Cabin.objects.update(layout=older)
    PastLayout.objects.update(layout=older)

    with connection.cursor() as cursor:
        for operation in import_module("cabins.migrations.0014_roof_lines").Migration.operations[1:]:
            cursor.execute(operation.sql)

    stored = builder.get(f"cabins/{hut}/layout").body["layout"]
    assert stored == {**older, "roof_line": None}
    assert builder.get(f"cabins/{hut}/layouts").body["items"][0]["layout"] == stored
    assert builder.put(f"cabins/{hut}/layout", {**RECTANGLE, "rounds": 3}).status_code == 200


def test_a_take_off_counts_the_gables_logs(lead):
    plain, roofed = a_hut(lead, "Pond hut"), a_roofed_hut(lead, name="Hill hut")

    counted = [lead.post("take-offs", {"cabins": [hut]}).body for hut in (plain, roofed)]

    assert [one["cabins"][0]["members"] for one in counted] == [0, len(GABLE_LOGS) + 1]
    logs = [log for line in counted[1]["lines"] for log in line["logs"]]
    kinds = {target["member_kind"] for log in logs for target in log["targets"]}
    assert kinds == {None, "gable", "ridge"}


def test_gable_logs_are_planned_reserved_cut_and_made_like_every_member(lead, learner):
    hut, yard = a_roofed_hut(lead), a_yard_for_it(lead)

    plan = adopted(lead, hut, yard)

    rows = {row["member"]: row for row in pieces(lead, plan, "&for_members=true")}
    assert sorted(rows) == sorted([*GABLE_LOGS, "ridge"])
    assert {row["member_kind"] for name, row in rows.items() if name != "ridge"} == {"gable"}
    reserved = {row["log"] for row in lead.get(f"reservations?open=true&cabin={hut}&limit=100").body["items"]}
    assert {row["log"] for row in rows.values()} <= reserved
    cut = [one for log in lead.get(f"cabins/{hut}/cut-list").body["logs"] for one in log["pieces"]]
    (first,) = [one for one in cut if one["member"] == "gable B 1"]
    assert first["goes_to"] == "gable B 1. Cut square; its ends are cut to the slope on the wall"
    assert first["length_mm"] == rows["gable B 1"]["length_mm"]

    made = give(learner, rows["gable B 1"])

    assert (made.status_code, made.body["kind"]) == (201, "gable")
    log = lead.get(f"cabins/{hut}/gables").body["gables"][0]["logs"][0]
    assert (log["log"], log["filling"]) == (rows["gable B 1"]["log"], "set")
    wanted = a_layout(rounds=3, least_piece_mm=1500, members=[RIDGE], roof_line={**ROOF, "slope": 0.7})
    checked = lead.post(f"cabins/{hut}/layout/check", wanted).body
    assert [(one["member"], one["change"]) for one in checked["roof_members_in_the_way"]] == [
        ("gable B 1", "changed")
    ]


def test_every_address_tells_the_same_gable(lead):
    hut, yard = a_roofed_hut(lead), a_yard_for_it(lead)
    before = lead.get(f"cabins/{hut}/gables").body
    plan = adopted(lead, hut, yard)

    told = lead.get(f"cabins/{hut}/gables").body

    assert (before["plan"], told["plan"]) == (None, plan)
    assert all(one["is_assumed"] for gable in before["gables"] for one in gable["logs"])
    assert any("local code and licensed practice" in words for words in told["cautions"])
    planned_rows = {row["member"]: row for row in pieces(lead, plan, "&for_members=true")}
    tops = lead.get(f"plans/{plan}/heights?cabin={hut}").body["tops"]
    picture = lead.get(f"cabins/{hut}/elevation?wall=B").body.decode()
    pdf = lead.get(f"cabins/{hut}/sheets/storey-pole").body
    paper = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())
    for gable in told["gables"]:
        last = [top["top_mm"] for top in tops if top["wall"] == gable["wall"] and top["round"] == 3]
        assert gable["on_mm"] == pytest.approx(sum(last) / 2, abs=0.011)
        below = gable["on_mm"]
        for log in gable["logs"]:
            piece = planned_rows[log["member"]]
            assert (log["log"], log["filling"]) == (piece["log"], "reserved")
            held = Log.objects.get(id=log["log"])
            assert log["diameter_mm"] == pytest.approx(float(held.middle_mm), abs=10)
            assert log["underside_mm"] == pytest.approx(below + RECTANGLE["gap"]["target_mm"])
            assert (log["cut_mm"], log["lacks_mm"]) == (pytest.approx(piece["length_mm"], abs=0.01), 0)
            assert log["top_text"] in paper
            assert log["length_text"] in paper
            below = log["top_mm"]
    assert 'data-member="gable B 1"' in picture
    assert told["bearings"][0]["underside_text"] in picture
    assert told["bearings"][0]["underside_text"] in paper
    assert all(caution in paper for caution in told["cautions"])
    assert 'data-filling="reserved"' in picture
