"""What is sawn holds for every plan: pieces stay pieces, no plan joins them, and the cut list says so."""

from typing import Any
from uuid import UUID, uuid4

import pytest

from inventory.logs.models import Log
from planning.plans.models import Plan, PlannedPiece
from tests.planning.planning_yard import a_hut, planned
from tests.planning.test_at_the_wall import NOON, adopted, round_of, set_piece
from tests.planning.test_planning_again import pieces_of
from tests.planning.test_printed import sheet

pytestmark = pytest.mark.django_db(transaction=True)


def lines_of(someone: Any, hut: str) -> list[dict[str, Any]]:
    logs = someone.get(f"cabins/{hut}/cut-list").body["logs"]
    return [{**piece, "log": log["log"]} for log in logs for piece in log["pieces"]]


def tick(someone: Any, hut: str, line: dict[str, Any], **changed: Any) -> str:
    """Record a line of the cut list as sawn, as the page does; the record's id."""
    id = str(uuid4())
    fields = ("log", "near_butt_mm", "near_tip_mm", "wall", "round", "piece")
    body = {name: line[name] for name in fields} | {"cabin": hut, "prepared_at": NOON}
    answer = someone.put(f"prepared-pieces/{id}", body | changed)
    assert answer.status_code == 201, answer.body
    return id


def test_a_line_of_the_cut_list_is_ticked_and_taken_back_on_page_and_paper(lead, learner):
    hut = a_hut(lead)
    adopted(lead, hut)
    line = lines_of(learner, hut)[0]

    id = tick(learner, hut, line)

    ticked = lines_of(learner, hut)[0]
    assert (ticked["prepared_piece"], ticked["marks"], ticked["version"]) == (id, ["sawn"], 1)
    assert " X" in " ".join(sheet(lead, f"cabins/{hut}/sheets/cut-list"))
    learner.post(f"prepared-pieces/{id}/undo", {"reason": "It lies whole on its rack."})
    assert lines_of(learner, hut)[0]["prepared_piece"] is None
    assert " X" not in " ".join(sheet(lead, f"cabins/{hut}/sheets/cut-list"))


def test_no_sawn_piece_is_wasted_when_a_log_breaks_and_the_rest_is_planned_again(lead):
    hut = a_hut(lead)
    adopted(lead, hut)
    lines = lines_of(lead, hut)
    broken = next(one for one in lines if one["round"] == 3)
    sawn = [one for one in lines if one["round"] < 3 and one["log"] != broken["log"]]
    for one in sawn:
        tick(lead, hut, one)
    Log.objects.filter(id=broken["log"]).update(state="gone")
    yard = Log.objects.get(id=broken["log"]).yard_id

    again = planned(lead, [hut], [yard])["plan_id"]

    rows = PlannedPiece.objects.filter(plan=again).values_list("log", "from_butt_mm", "start_mm", "end_mm")
    taken = {str(log): (float(near), float(near + end - start)) for log, near, start, end in rows}
    for one in sawn:
        near, far = taken[one["log"]]
        assert near == pytest.approx(one["near_butt_mm"], abs=0.1)
        assert far == pytest.approx(one["near_tip_mm"], abs=0.1)
    assert lead.post(f"plans/{again}/adopt").status_code == 200
    told = lead.get(f"cabins/{hut}/cut-list").body
    assert told["unused"] == []
    assert sum(one["marks"] == ["sawn"] for one in lines_of(lead, hut)) == len(sawn)


def test_a_plan_across_a_cut_made_since_is_stale_and_its_cut_list_says_so(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    line = next(one for one in lines_of(lead, hut) if one["round"] == 3)
    other = planned(lead, [hut], [Log.objects.get(id=line["log"]).yard_id])["plan_id"]
    middle = (line["near_butt_mm"] + line["near_tip_mm"]) / 2
    tick(lead, hut, line, near_tip_mm=middle, cabin=None, wall="", round=None, piece=None)

    refused = lead.post(f"plans/{other}/adopt")

    assert {one["code"] for one in refused.body["errors"]} == {"log_sawn"}
    across = [one for one in lines_of(lead, hut) if one["is_across"]]
    assert [(one["log"], one["prepared_piece"]) for one in across] == [(line["log"], None)]
    assert any("sawn otherwise" in words for log in lead.get(f"cabins/{hut}/cut-list").body["logs"]
               for words in log["cautions"])  # fmt: skip
    sheet = lead.get(f"cabins/{hut}/setting-sheet?round=3").body["rows"]
    warned = [row["log"] for row in sheet if any("sawn otherwise" in words for words in row["cautions"])]
    assert warned == [line["log"]]
    piece = next(one for one in round_of(lead, plan, 3) if one["log"] == line["log"])
    assert "across_saw_cut" in {one["code"] for one in set_piece(lead, piece).body["errors"]}


def test_a_sawn_piece_that_is_set_stays_where_it_is_and_why_and_what_if_know_its_log(lead):
    hut = a_hut(lead)
    adopted(lead, hut)
    for line in (one for one in lines_of(lead, hut) if one["round"] < 3):
        tick(lead, hut, line)
    plan = adopted_of(hut)
    for piece in round_of(lead, plan, 1):
        assert set_piece(lead, piece).status_code == 201

    yard = Log.objects.get(id=piece["log"]).yard_id
    again = planned(lead, [hut], [yard])["plan_id"]

    assert pieces_at(again) == pieces_at(plan)
    place = {"cabin": hut, "wall": "A", "round": 2, "piece": 0}
    query = "&".join(f"{name}={value}" for name, value in place.items())
    why = lead.get(f"plans/{again}/why?{query}").body
    here = next(one for one in round_of(lead, again, 2) if one["wall"] == "A")
    assert (why["log"], why["log_number"]) == (here["log"], here["log_number"])
    turned = lead.post(f"plans/{again}/what-if", {"changes": [{"kind": "turn", "place": place}]}).body
    assert turned["pieces"][0]["log"] == here["log"]
    assert turned["pieces"][0]["from_butt_mm"] == pytest.approx(here["from_butt_mm"], abs=1e-4)


def adopted_of(hut: str) -> str:
    return str(Plan.objects.get(current_for__cabin=UUID(hut)).id)


def pieces_at(plan: str) -> set[tuple[object, ...]]:
    """As `pieces_of`, cuts to the tenth of a millimetre: within a sawn piece they may slide by a hair."""
    return {(*one[:5], round(float(str(one[5])), 1), one[6]) for one in pieces_of(plan)}


def test_a_notched_piece_stays_in_its_place_whatever_the_weights(lead):
    hut = a_hut(lead)
    adopted(lead, hut)
    line = next(one for one in lines_of(lead, hut) if one["round"] == 2)
    tick(lead, hut, line, marks=["sawn", "notched"])
    yard = Log.objects.get(id=line["log"]).yard_id

    again = planned(lead, [hut], [yard], weights={"keep": 0}, seed=9)["plan_id"]

    where = {name: line[name] for name in ("wall", "round", "piece")}
    assert str(PlannedPiece.objects.get(plan=again, **where).log_id) == line["log"]
