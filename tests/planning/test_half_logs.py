"""Half logs the whole way: planned in pairs from one log, first on the sheets, set, undone, measured."""

from random import Random
from typing import Any
from uuid import uuid4

import pytest

from inventory.core.profile import nearest_diameter_mm
from inventory.logs.models import Log, LogState
from inventory.logs.profiles import profile_of_log
from planning.jobs import tasks
from planning.jobs.models import PlanningStart
from planning.reservations.models import Reservation
from tests.cabins.building import a_log, a_yard, id_of
from tests.planning.made_up_plans import a_made_up_plan
from tests.planning.planning_yard import ROUNDS, a_hut, ask, logs_enough, planned
from tests.planning.test_at_the_wall import NOON, adopted, measure, round_of, set_piece

pytestmark = pytest.mark.django_db(transaction=True)
A_PARTITION = {
    "id": "P",
    "from": {"wall": "A", "at_mm": 2500},
    "to": {"wall": "C", "at_mm": 2500},
    "start": "high",
}
FLAT = {"half_logs": True, "sill_flat": {"width_mm": 60}, "rip_kerf_mm": 4}


def a_hut_on_half_logs(someone: Any, **changed: Any) -> str:
    return a_hut(someone, **FLAT, **changed)


def set_half(someone: Any, hut: str, wall: str, log: Log, **changed: Any) -> Any:
    """A half log of wall B or D, 60 mm from its log's butt."""
    body = {"cabin": hut, "wall": wall, "round": 0, "piece": 0, "log": str(log.id)}
    return someone.put(
        f"set-logs/{uuid4()}", body | {"from_butt_mm": 60, "butt_at": "start", "set_at": NOON} | changed
    )


def codes(answer: Any) -> set[str]:
    return {error["code"] for error in answer.body["errors"]}


def test_a_plan_rips_one_log_for_the_half_logs_of_two_walls(lead):
    hut = a_hut_on_half_logs(lead)

    plan = adopted(lead, hut)

    one, two = round_of(lead, plan, 0)
    assert {one["wall"], two["wall"]} == {"B", "D"}
    assert one["log"] == two["log"]
    assert (one["from_butt_mm"], one["butt_at"]) == (two["from_butt_mm"], two["butt_at"])
    assert lead.get(f"plans/{plan}").body["complete"]
    pieces = lead.get(f"plans/{plan}/pieces").body["items"]
    assert len(pieces) == 4 * ROUNDS + 2
    assert sum(piece["log"] == one["log"] for piece in pieces) == 2
    assert Reservation.objects.filter(log=one["log"], ended_at=None).count() == 1


def test_half_logs_come_first_with_the_height_to_leave(lead):
    hut = a_hut_on_half_logs(lead)
    plan = adopted(lead, hut)

    sheet = lead.get(f"plans/{plan}/setting-sheet?cabin={hut}&round=0").body
    first = lead.get(f"cabins/{hut}/next-log").body

    assert [row["wall"] for row in sheet["rows"]] == ["B", "D"]
    assert (first["row"]["wall"], first["row"]["round"], first["steering"]) == ("B", 0, None)
    log = Log.objects.get(id=sheet["rows"][0]["log"])
    for row in sheet["rows"]:
        rip = row["rip"]
        assert rip["kerf_mm"] == 4
        assert float(log.tip_mm) / 2 - 10 < rip["leave_near_tip_mm"] < rip["leave_near_butt_mm"]
        assert rip["leave_near_butt_mm"] < float(log.butt_mm) / 2 + 10
        assert [corner["notch_mm"] for corner in row["corners"]] == [None, None]
        for corner in row["corners"]:
            assert corner["top_mm"] == pytest.approx((corner["diameter_mm"] - 4) / 2, abs=0.01)
        assert any("half weighs about half" in caution for caution in row["cautions"])
    second = lead.get(f"plans/{plan}/setting-sheet?cabin={hut}&round=1").body["rows"]
    assert all(row["rip"] is None for row in second)
    # The low walls' first logs lie on their flat, and over the half logs.
    low = [row for row in second if row["wall"] in "AC"]
    assert all(0 < corner["notch_mm"] < 200 for row in low for corner in row["corners"])


def test_the_plans_heights_are_the_judges_with_flats_and_half_logs(lead):
    hut = a_hut_on_half_logs(lead)
    plan = lead.get(f"plans/{adopted(lead, hut)}").body

    heights = lead.get(f"plans/{plan['id']}/heights?cabin={hut}").body

    at_plate = [abs(v["out_of_level_mm"]) for v in heights["levels"] if v["round"] == ROUNDS]
    assert max(at_plate) == pytest.approx(plan["metrics"]["max_plate_out_of_level"], abs=0.01)
    mismatches = [abs(m["mismatch_mm"]) for m in heights["mismatches"]]
    assert max(mismatches) == pytest.approx(plan["metrics"]["max_corner_mismatch"], abs=0.01)


def test_half_logs_are_set_as_planned_and_undone_like_any_other(lead, learner):
    hut = a_hut_on_half_logs(lead)
    one, two = round_of(lead, adopted(lead, hut), 0)
    id = uuid4()

    first = set_piece(learner, one, id=str(id))
    half_left = Log.objects.get(id=one["log"]).state
    second = set_piece(learner, two)
    undone = lead.post(f"set-logs/{id}/undo", {"reason": "it rocked"})

    assert (first.status_code, second.status_code, undone.status_code) == (201, 201, 200)
    assert first.body["warnings"] == second.body["warnings"] == []
    assert half_left == LogState.CUT_UP
    assert Reservation.objects.get(log=one["log"], ended_at=None).cabin_id == id_of(f"cabins/{hut}")
    told = lead.get(f"cabins/{hut}/rounds").body["rounds"][0]
    assert (told["round"], told["places"], told["filled"]) == (0, 2, 1)
    assert [wall["wall"] for wall in told["walls"]] == ["B", "D"]


def test_two_halves_share_a_stretch_and_a_whole_piece_does_not(lead):
    hut = a_hut_on_half_logs(lead)
    log = a_log(lead.who.crew)
    assert set_half(lead, hut, "B", log).status_code == 201

    pieces = lead.get(f"logs/{log.id}/pieces").body
    whole = set_half(lead, hut, "C", log, round=1)
    second = set_half(lead, hut, "D", log, from_butt_mm=100)
    another = a_hut_on_half_logs(lead, name="Hill hut")
    third = set_half(lead, another, "B", log)

    assert [(piece["is_half"], piece["near_butt_mm"]) for piece in pieces["pieces"]] == [(True, 60)]
    assert [(left["is_half"], left["near_butt_mm"]) for left in pieces["left"]][-1] == (True, 60)
    assert codes(whole) == {"overlaps_piece"}
    assert second.status_code == 201
    assert codes(third) == {"no_third_half"}


def test_a_half_log_has_no_notch_and_no_gap(lead):
    hut = a_hut_on_half_logs(lead)

    answer = set_half(lead, hut, "B", a_log(lead.who.crew), gap_mm=12, notch_end_mm=90)

    assert {(error["pointer"], error["code"]) for error in answer.body["errors"]} == {
        ("/gap_mm", "half_log"),
        ("/notch_end_mm", "half_log"),
    }


def test_a_log_is_tried_in_a_place_for_half_logs(lead):
    hut, log = a_hut_on_half_logs(lead), a_log(lead.who.crew)

    answer = lead.get(f"cabins/{hut}/sheet?wall=B&round=0&log={log.id}")

    assert answer.status_code == 200
    assert (answer.body["round"], answer.body["steering"], answer.body["misfits"]) == (0, None, [])


def test_a_cabin_without_places_for_half_logs_takes_none(lead):
    answer = set_half(lead, a_hut(lead), "B", a_log(lead.who.crew))

    assert codes(answer) == {"unknown"}


def test_what_a_half_log_comes_to_is_replaced_by_what_is_measured(lead):
    hut = a_hut_on_half_logs(lead)
    log = a_log(lead.who.crew, butt_mm=320, middle_mm=320, tip_mm=320)
    set_half(lead, hut, "B", log)

    def tops() -> list[float]:
        wall = next(one for one in lead.get(f"cabins/{hut}/rounds").body["rounds"][0]["walls"])
        return [wall["start_mm"], wall["end_mm"]]

    computed = tops()
    measured = measure(lead, hut, "B", 0, "start", 161)

    assert computed == [158, 158]
    assert measured.status_code == 201
    assert tops() == [161, 158]


def test_planned_again_the_other_half_of_a_set_one_is_used(lead):
    hut = a_hut_on_half_logs(lead)
    logs = logs_enough(lead)
    set_half(lead, hut, "B", logs[13])

    job = planned(lead, [hut], [logs[0].yard_id])

    pieces = lead.get(f"plans/{job['plan_id']}/pieces?round=0").body["items"]
    assert [(piece["wall"], piece["log"]) for piece in pieces] == [
        ("B", str(logs[13].id)),
        ("D", str(logs[13].id)),
    ]
    assert lead.get(f"plans/{job['plan_id']}").body["complete"]


def test_the_first_low_log_of_a_wall_open_under_it_is_said(lead):
    hut = a_hut_on_half_logs(lead)

    answer = set_half(lead, hut, "B", a_log(lead.who.crew), round=1)

    assert [warning["detail"] for warning in answer.body["warnings"]] == [
        "The half log of wall B is still open under it."
    ]


def test_even_tops_are_planned_and_set_over_the_last_round(lead):
    hut = a_hut(lead, top="even", rip_kerf_mm=4)
    plan = adopted(lead, hut)

    sheet = lead.get(f"plans/{plan}/setting-sheet?cabin={hut}&round={ROUNDS + 1}").body
    heights = lead.get(f"plans/{plan}/heights?cabin={hut}").body["tops"]
    answer = set_piece(lead, round_of(lead, plan, ROUNDS + 1)[0])

    assert [(row["wall"], row["length_mm"]) for row in sheet["rows"]] == [("A", 4700), ("C", 4700)]
    assert sheet["rows"][0]["log"] == sheet["rows"][1]["log"]
    high = [top["top_mm"] for top in heights if (top["round"], top["wall"]) in ((ROUNDS, "B"), (ROUNDS, "D"))]
    for row in sheet["rows"]:
        assert row["rip"]["kerf_mm"] == 4
        assert [corner["notch_mm"] for corner in row["corners"]] == [None, None]
        # Level with the high walls, to what the logs and half a gap allow.
        assert all(min(high) - 25 < corner["top_mm"] < max(high) + 25 for corner in row["corners"])
    assert answer.status_code == 201


def test_half_logs_over_the_last_round_are_measured_at_both_ends_and_listed_with_the_rounds(lead, learner):
    yard = a_yard(lead.who.crew)
    logs_enough(lead, count=24, yard=yard)
    hut = a_hut(lead, top="even", partitions=[A_PARTITION])
    plan = a_made_up_plan(lead, hut, [yard.id], Random(3))
    lead.post(f"plans/{plan}/adopt")
    top = ROUNDS + 1
    ripped = a_log(lead.who.crew, yard=yard, length_mm=4000, butt_mm=330, middle_mm=300, tip_mm=290)
    for piece in (0, 1):
        over = {"round": top, "piece": piece, "confirm_doubtful": True}
        assert set_half(lead, hut, "A", ripped, **over).status_code == 201
    last = lead.get(f"plans/{plan}/heights?cabin={hut}").body["tops"]

    (over,) = [row for row in learner.get(f"cabins/{hut}/rounds").body["rounds"] if row["round"] == top]
    (wall,) = [one for one in over["walls"] if one["wall"] == "A"]

    assert [one["wall"] for one in over["walls"]] == ["A", "C"]
    assert (over["places"], over["filled"], wall["places"], wall["filled"]) == (4, 2, 2, 2)
    assert not wall["start_is_measured"]
    # Where it begins, half a log inside the corner, on the line between the tops of the last round.
    tops = {one["column"]: one for one in last if (one["wall"], one["round"]) == ("A", ROUNDS)}
    slope = (tops[1]["top_mm"] - tops[0]["top_mm"]) / 2500
    profile = profile_of_log(ripped)
    half = (nearest_diameter_mm(profile, 60) - 5) / 2
    assert wall["start_mm"] == pytest.approx(tops[0]["top_mm"] + 150 * slope + 12 + half, abs=0.02)

    beside = measure(lead, hut, "A", top, "P-A", 1200)
    high = measure(lead, hut, "B", top, "start", 1200)
    misread = measure(lead, hut, "A", top, "start", round(wall["start_mm"]) + 100)
    right = measure(lead, hut, "A", top, "start", round(wall["start_mm"]) + 6)

    assert [(one.status_code, codes(one)) for one in (beside, high)] == [(422, {"unknown"})] * 2
    assert "measured at the wall's start and end" in beside.body["errors"][0]["detail"]
    assert (misread.status_code, codes(misread)) == (409, {"far_from_computed"})
    assert right.status_code == 201
    (over,) = [row for row in learner.get(f"cabins/{hut}/rounds").body["rounds"] if row["round"] == top]
    assert over["walls"][0]["start_mm"] == pytest.approx(round(wall["start_mm"]) + 6)
    assert over["walls"][0]["start_is_measured"]
    # The rounds below and the planner know nothing of it.
    assert lead.get(f"plans/{plan}/heights?cabin={hut}").body["tops"] == last
    start = PlanningStart.objects.get(job=ask(lead, [hut], [yard.id]).body["id"])
    problem = tasks._request_of(start)["problem"]
    assert "as_built" not in problem["cabins"][0]
