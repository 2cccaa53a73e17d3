"""A lead asks a plan: why is this log here, what would another cost, what if."""

from typing import Any
from uuid import uuid4

import pytest

from tests.planning.planning_yard import a_hut, logs_enough, planned

pytestmark = pytest.mark.django_db(transaction=True)


def a_plan(someone: Any) -> tuple[str, str]:
    """A plan of a new hut: (its address, the hut)."""
    hut = a_hut(someone)
    return f"plans/{planned(someone, [hut], [logs_enough(someone)[0].yard_id])['plan_id']}", hut


def test_a_placement_says_what_it_costs_and_what_the_best_other_log_would(lead):
    plan, hut = a_plan(lead)

    answer = lead.get(f"{plan}/why?cabin={hut}&wall=A&round=2").body

    assert answer["terms"]["waste"] > 0
    other = answer["alternative"]
    assert other["log"] != answer["log"]
    assert other["effect"]["faults"] == []


def test_what_the_best_other_log_would_cost_is_what_the_change_really_costs(lead):
    plan, hut = a_plan(lead)
    here = {"cabin": hut, "wall": "C", "round": 3, "piece": 0}
    other = lead.get(f"{plan}/why?cabin={hut}&wall=C&round=3").body["alternative"]
    first = (
        {"kind": "move", "place": here, "log": other["log"]}
        if other["swapped_with"] is None
        else {"kind": "swap", "place": here, "with_place": other["swapped_with"]}
    )
    changes = [first, *([{"kind": "turn", "place": here}] if other["turned"] else [])]

    tried = lead.post(f"{plan}/what-if", {"changes": changes}).body

    assert tried["effect"]["objective_change"] == pytest.approx(other["effect"]["objective_change"])
    assert tried["pieces"]


def test_a_log_turned_twice_changes_nothing(lead):
    plan, hut = a_plan(lead)
    turn = {"kind": "turn", "place": {"cabin": hut, "wall": "B", "round": 1, "piece": 0}}

    once = lead.post(f"{plan}/what-if", {"changes": [turn]}).body
    twice = lead.post(f"{plan}/what-if", {"changes": [turn, turn]}).body

    assert once["effect"]["tops"]
    assert twice["effect"]["tops"] == twice["pieces"] == []
    assert twice["effect"]["objective_change"] == 0


def test_nothing_is_stored_by_a_what_if(lead):
    plan, hut = a_plan(lead)
    before = lead.get(f"{plan}/file").body
    turn = {"kind": "turn", "place": {"cabin": hut, "wall": "B", "round": 1, "piece": 0}}

    lead.post(f"{plan}/what-if", {"changes": [turn]})

    assert lead.get(f"{plan}/file").body == before


def test_changes_that_cannot_be_are_named(lead):
    plan, hut = a_plan(lead)
    nowhere = {"cabin": hut, "wall": "Z", "round": 1, "piece": 0}
    here = nowhere | {"wall": "A"}

    no_place = lead.post(f"{plan}/what-if", {"changes": [{"kind": "turn", "place": nowhere}]})
    no_log = lead.post(f"{plan}/what-if", {"changes": [{"kind": "move", "place": here, "log": str(uuid4())}]})
    wrong = lead.post(f"{plan}/what-if", {"changes": [{"kind": "swap", "place": here, "log": str(uuid4())}]})

    assert [e["pointer"] for e in no_place.body["errors"]] == ["/changes/0"]
    assert no_log.body["errors"][0]["code"] == "does_not_fit"
    assert {e["pointer"] for e in wrong.body["errors"]} == {"/changes/0/with_place", "/changes/0/log"}
    assert lead.get(f"{plan}/why?cabin={hut}&wall=Z&round=1").status_code == 400


def test_a_stranger_cannot_ask_our_plan(lead, stranger):
    plan, hut = a_plan(lead)
    lead.get(f"{plan}/why?cabin={hut}&wall=A&round=1")

    assert stranger.get(f"{plan}/why?cabin={hut}&wall=A&round=1").status_code == 404
