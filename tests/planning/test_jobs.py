"""Asking for a plan: into the queue, through the planner's own process, to a plan with its sheets."""

from uuid import UUID, uuid4

import pytest

from planning.jobs.models import PlanningJob
from planning.jobs.problem import draw_up
from planning.jobs.tasks import run_start
from tests.cabins.building import a_log, a_yard
from tests.planning.planning_yard import ROUNDS, a_hut, ask, logs_enough, planned

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_yard_that_suffices_gives_a_complete_plan(builder):
    hut = a_hut(builder)
    logs = logs_enough(builder)

    job = planned(builder, [hut], [logs[0].yard_id])

    assert job["state"] == "done"
    plan = builder.get(f"plans/{job['plan_id']}").body
    assert plan["complete"]
    assert plan["feasible"]
    assert plan["shortages"] == []
    pieces = builder.get(f"plans/{plan['id']}/pieces").body["items"]
    assert len(pieces) == 4 * ROUNDS
    assert len({piece["log"] for piece in pieces}) == 4 * ROUNDS


def test_a_crews_own_limits_of_cutting_reach_the_wall_the_plan_and_the_take_off(lead):
    hut, log = a_hut(lead), logs_enough(lead, 1)[0]
    own = {"trim_each_end_mm": 60, "kerf_mm": 8, "most_pieces": 2, "hazard_clear_mm": 400}
    tried = f"cabins/{hut}/sheet?wall=A&round=1&log={log.id}&from_butt_mm=25"
    assert lead.get(tried).body["misfits"] == []

    assert lead.patch("wall-settings", own, version=0).status_code == 200

    job = ask(lead, [hut], [log.yard_id])
    params = draw_up(PlanningJob.objects.get(id=job.body["id"]))[0].params
    counted = lead.post("take-offs", {"cabins": [hut]}).body["basis"]
    assert [one["code"] for one in lead.get(tried).body["misfits"]] == ["short_of_trim"]
    assert own == {
        "trim_each_end_mm": params.trim_each_end_mm,
        "kerf_mm": params.kerf_mm,
        "most_pieces": params.max_pieces_per_log,
        "hazard_clear_mm": params.hazard_clear_mm,
    }
    assert any("at most 2 pieces with 60 mm trim at each end and 8 mm" in one["rule"] for one in counted)


def test_no_crew_lets_a_saw_near_metal(lead):
    answer = lead.patch("wall-settings", {"hazard_clear_mm": 50}, version=0)

    assert [one["pointer"] for one in answer.body["errors"]] == ["/hazard_clear_mm"]


def test_the_setting_sheet_says_where_to_cut_and_what_to_lift(builder):
    hut = a_hut(builder)
    job = planned(builder, [hut], [logs_enough(builder)[0].yard_id])

    sheet = builder.get(f"plans/{job['plan_id']}/setting-sheet?cabin={hut}&round=2").body

    assert [row["order"] for row in sheet["rows"]] == [1, 2, 3, 4]
    assert {row["wall"] for row in sheet["rows"][:2]} == {"A", "C"}, "low walls are lifted first"
    for row in sheet["rows"]:
        assert row["cut_near_tip_mm"] - row["cut_near_butt_mm"] == pytest.approx(row["length_mm"])
        assert len(row["corners"]) == 2
        assert all(corner["notch_mm"] > 0 for corner in row["corners"])
        lift = row["lift"]
        assert 0 < lift["weight_low_kg"] < lift["weight_kg"] < lift["weight_high_kg"]
        assert (lift["hangs"], lift["seasoning"]) == ("whole", None)
        assert row["cut_near_butt_mm"] < lift["balance_from_butt_mm"] < row["cut_near_tip_mm"]
        assert lift["cautions"]
    assert any("local" in caution for caution in sheet["cautions"])
    assert builder.get(f"plans/{job['plan_id']}/setting-sheet?cabin={hut}&round=9").status_code == 404


def test_the_plans_heights_agree_with_its_judge(builder):
    hut = a_hut(builder)
    job = planned(builder, [hut], [logs_enough(builder)[0].yard_id])
    plan = builder.get(f"plans/{job['plan_id']}").body

    heights = builder.get(f"plans/{plan['id']}/heights?cabin={hut}").body

    at_plate = [abs(v["out_of_level_mm"]) for v in heights["levels"] if v["round"] == ROUNDS]
    assert max(at_plate) == pytest.approx(plan["metrics"]["max_plate_out_of_level"], abs=0.01)
    mismatches = [abs(m["mismatch_mm"]) for m in heights["mismatches"]]
    assert max(mismatches) == pytest.approx(plan["metrics"]["max_corner_mismatch"], abs=0.01)


def test_a_short_yard_gives_the_best_part_and_says_what_to_order(builder):
    hut = a_hut(builder)
    logs = logs_enough(builder, count=9)

    job = planned(builder, [hut], [logs[0].yard_id])

    assert job["state"] == "done"
    plan = builder.get(f"plans/{job['plan_id']}").body
    assert not plan["complete"]
    assert sum(shortage["count"] for shortage in plan["shortages"]) == 3
    for shortage in plan["shortages"]:
        assert shortage["length_mm"] >= 4800
        assert shortage["least_middle_mm"] > 0


def test_the_spare_that_the_take_off_counts_is_left_over_or_the_plan_says_how_much_of_it_is(builder):
    hut, logs = a_hut(builder), logs_enough(builder)
    counted = builder.post("take-offs", {"cabins": [hut]}).body

    job = planned(builder, [hut], [logs[0].yard_id])
    without = ask(builder, [hut], [logs[0].yard_id], spare_rounds=0)

    spare = builder.get(f"plans/{job['plan_id']}").body["spare"]
    lines = {line["logs"][0]["needed_mm"]: line["spare"] for line in counted["lines"] if line["spare"]}
    assert (job["spare_rounds"], job["state"]) == (1, "done")
    assert {row["length_mm"]: row["counted"] for row in spare} == lines
    assert [row["left"] for row in spare] == [2, 0], "14 logs for 12 places"
    assert draw_up(PlanningJob.objects.get(id=without.body["id"]))[0].spare == ()


def test_excluded_logs_stay_out_and_pinned_ones_stay_where_they_are(builder):
    hut = a_hut(builder)
    logs = logs_enough(builder)
    pin = {"cabin": hut, "wall": "C", "round": 1, "piece": 0, "log": str(logs[13].id), "butt_at": "end"}

    elsewhere = a_log(builder.who.crew, yard=a_yard(builder.who.crew, name="Far yard"))
    excluded = [str(logs[0].id), str(elsewhere.id)]

    job = planned(builder, [hut], [logs[0].yard_id], excluded=excluded, pinned=[pin])

    assert job["state"] == "done", job["reason"]
    pieces = builder.get(f"plans/{job['plan_id']}/pieces").body["items"]
    assert str(logs[0].id) not in {piece["log"] for piece in pieces}
    there = next(p for p in pieces if (p["wall"], p["round"]) == ("C", 1))
    assert (there["log"], there["butt_at"]) == (str(logs[13].id), "end")


def test_an_empty_yard_fails_with_a_reason_a_person_understands(builder):
    hut = a_hut(builder)

    job = planned(builder, [hut], [a_yard(builder.who.crew).id])

    assert job["state"] == "failed"
    assert "no log" in job["reason"]
    assert job["plan_id"] is None


def test_a_plan_says_how_sure_it_is(builder):
    hut = a_hut(builder)
    job = planned(builder, [hut], [logs_enough(builder)[0].yard_id])

    sure = builder.get(f"plans/{job['plan_id']}").body["sure"]

    by = {row["steered"]: row["mean_mm"] for row in sure}
    assert by[False] > by[True] > 0
    assert all(row["p90_mm"] > row["mean_mm"] for row in sure)


def test_a_lead_reads_what_other_presets_would_give(builder):
    hut = a_hut(builder)
    names = [preset["name"] for preset in builder.get("planning-presets").body["presets"]]

    job = planned(
        builder, [hut], [logs_enough(builder)[0].yard_id], preset="thrifty", trade_offs=True, seconds=2
    )

    table = builder.get(f"plans/{job['plan_id']}").body["trade_offs"]
    assert [row["preset"] for row in table] == names
    assert all(row["logs_used"] >= 12 - 2 for row in table)
    problem = builder.get(f"planning-jobs/{job['id']}/problem").body
    usual = builder.get("planning-presets").body["presets"][0]["weights"]
    assert problem["params"]["weights"]["waste"] > usual["waste"]


def test_asking_twice_with_one_id_gives_one_job(builder):
    hut = a_hut(builder)
    yard = a_log(builder.who.crew).yard_id
    id = str(uuid4())

    first = ask(builder, [hut], [yard], id=id)
    again = ask(builder, [hut], [yard], id=id)
    other = ask(builder, [hut], [yard], id=id, seconds=9)

    assert (first.status_code, again.status_code, other.status_code) == (202, 202, 428)
    assert first.headers["Location"] == f"/api/v1/planning-jobs/{id}"
    assert PlanningJob.objects.count() == 1


def test_a_crew_has_so_many_jobs_under_way_and_no_more(builder, settings):
    settings.PLANNING_JOBS_MOST = 2
    hut, yard, first = a_hut(builder), a_log(builder.who.crew).yard_id, str(uuid4())
    assert [ask(builder, [hut], [yard], id=id).status_code for id in (first, str(uuid4()))] == [202, 202]

    refused = ask(builder, [hut], [yard], id=str(uuid4()))
    again = ask(builder, [hut], [yard], id=first)
    builder.post(f"planning-jobs/{first}/cancel")

    assert (refused.status_code, refused.body["type"]) == (409, "/problems/too-many-planning-jobs")
    assert again.status_code == 202, "a repeat is no further job"
    assert ask(builder, [hut], [yard], id=str(uuid4())).status_code == 202


def test_every_fault_of_a_request_is_named(builder, stranger):
    unlaid = str(uuid4())
    builder.put(f"cabins/{unlaid}", {"name": "Bare ground"})
    theirs = a_hut(stranger)
    foreign_log = a_log(stranger.who.crew)
    pin = {"cabin": unlaid, "wall": "A", "round": 1, "piece": 0, "log": str(foreign_log.id), "butt_at": "end"}

    answer = ask(
        builder, [unlaid, theirs], [foreign_log.yard_id], excluded=[str(foreign_log.id)], pinned=[pin],
        weights={"looks": 3},
    )  # fmt: skip

    assert answer.status_code == 422
    assert {e["pointer"] for e in answer.body["errors"]} == {
        "/cabins/0", "/cabins/1", "/yards/0", "/excluded/0", "/pinned/0", "/pinned/0/log", "/weights/looks",
    }  # fmt: skip
    assert PlanningJob.objects.count() == 0


def test_a_job_cancelled_before_it_began_makes_no_plan(builder):
    hut = a_hut(builder)
    job = ask(builder, [hut], [logs_enough(builder)[0].yard_id]).body

    builder.post(f"planning-jobs/{job['id']}/cancel")
    run_start(UUID(job["id"]))

    ended = builder.get(f"planning-jobs/{job['id']}").body
    assert ended["state"] == "cancelled"
    assert builder.post(f"planning-jobs/{job['id']}/cancel").status_code == 200


def test_a_job_that_is_done_is_not_cancelled(builder):
    hut = a_hut(builder)
    job = planned(builder, [hut], [logs_enough(builder)[0].yard_id])

    assert builder.post(f"planning-jobs/{job['id']}/cancel").status_code == 409


def test_the_files_of_a_job_are_the_documented_ones(builder):
    hut = a_hut(builder)
    job = planned(builder, [hut], [logs_enough(builder)[0].yard_id])

    problem = builder.get(f"planning-jobs/{job['id']}/problem").body
    plan = builder.get(f"plans/{job['plan_id']}/file").body

    assert problem["format"] == "wall-problem/1"
    assert plan["format"] == "wall-plan/1"
    assert plan["problem"] == problem["name"]


def test_a_learner_reads_plans_but_does_not_ask_for_them(builder, learner, stranger):
    hut = a_hut(builder)
    job = planned(builder, [hut], [logs_enough(builder)[0].yard_id])

    assert ask(learner, [hut], []).status_code == 403
    assert learner.get(f"plans/{job['plan_id']}").status_code == 200
    for address in (
        f"plans/{job['plan_id']}",
        f"planning-jobs/{job['id']}",
        f"plans/{job['plan_id']}/pieces",
    ):
        assert stranger.get(address).status_code == 404
    assert stranger.post(f"plans/{job['plan_id']}/adopt").status_code == 404
