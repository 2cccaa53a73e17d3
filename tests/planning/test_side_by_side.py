"""Two plans side by side: what a lead weighs, each figure as the plan's own pages have it."""

import pytest

from planning.plans.models import PlannedPiece
from tests.planning.planning_yard import ROUNDS, a_hut, planned
from tests.planning.test_at_the_wall import adopted

pytestmark = pytest.mark.django_db(transaction=True)


def test_two_plans_stand_side_by_side_in_what_a_lead_weighs(lead, learner):
    hut = a_hut(lead)
    current = adopted(lead, hut)
    yard = PlannedPiece.objects.filter(plan=current).first().log.yard_id
    other = planned(lead, [hut], [yard], weights={"keep": 0}, seed=11)["plan_id"]

    told = learner.get(f"plans/{other}/side-by-side?other={current}").body

    assert [one["plan"] for one in told["plans"]] == [other, current]
    for one in told["plans"]:
        whole = lead.get(f"plans/{one['plan']}").body
        assert one["plate_out_of_level_mm"] == pytest.approx(whole["metrics"]["max_plate_out_of_level"])
        assert one["waste_mm"] == pytest.approx(whole["metrics"]["waste_mm"])
        pieces = PlannedPiece.objects.filter(plan=one["plan"])
        assert one["logs_used"] == pieces.values("log").distinct().count()
        assert one["logs_used"] + one["logs_left"] == 14
        assert one["long_logs_left"] <= one["logs_left"]
    assert [lift["round"] for lift in told["plans"][0]["lifts"]] == list(range(1, ROUNDS + 1))
    assert told["plans"][1]["changed_places"] == 0
    changes = lead.get(f"plans/{other}/changes").body["changes"]
    assert told["plans"][0]["changed_places"] == sum(len(one["places"]) for one in changes)


def test_the_heaviest_lift_of_a_round_is_that_of_its_setting_sheet(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)

    lifts = lead.get(f"plans/{plan}/side-by-side?other={plan}").body["plans"][0]["lifts"]

    for lift in lifts:
        rows = lead.get(f"cabins/{hut}/setting-sheet?round={lift['round']}").body["rows"]
        heaviest = max(rows, key=lambda row: row["lift"]["weight_high_kg"])
        assert lift["weight_high_kg"] == pytest.approx(heaviest["lift"]["weight_high_kg"])
        assert lift["log"] == heaviest["log"]
        assert lift["unknown"] == 0
