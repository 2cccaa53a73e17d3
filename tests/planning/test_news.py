"""What the chain tells other programs: plans ready, rounds complete, logs culled, hazards found."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from planning.plans.staleness import tell_of_stale_plans
from tests.cabins.building import a_log
from tests.following import until_the_feed_shows_all
from tests.people import MORNING
from tests.planning.planning_yard import a_hut, logs_enough, planned
from tests.planning.test_at_the_wall import adopted, measure, round_of, set_piece


def told(someone, kind: str) -> list[dict]:
    until_the_feed_shows_all()
    return [event["data"] for event in someone.get("events?limit=500").body["items"] if event["kind"] == kind]


@pytest.mark.django_db(transaction=True)
def test_a_plan_that_is_ready_is_told_once(lead):
    hut = a_hut(lead)

    job = planned(lead, [hut], [logs_enough(lead)[0].yard_id])

    assert told(lead, "plan_ready") == [
        {"job": job["id"], "plan": job["plan_id"], "feasible": True, "complete": True}
    ]


@pytest.mark.django_db(transaction=True)
def test_a_round_is_told_when_its_last_log_is_set(lead):
    hut = a_hut(lead)
    pieces = round_of(lead, adopted(lead, hut), 1)

    for piece in pieces[:-1]:
        set_piece(lead, piece)
    before = told(lead, "round_complete")
    set_piece(lead, pieces[-1])

    assert before == []
    assert told(lead, "round_complete") == [{"cabin": hut, "round": 1}]


@pytest.mark.django_db(transaction=True)
def test_a_plan_that_no_longer_fits_is_told_once_with_the_reasons(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    here, there = round_of(lead, plan, 1)[0], round_of(lead, plan, 2)[0]
    other = round_of(lead, plan, 3)[0]["log"]
    assert tell_of_stale_plans(at=MORNING) == 0

    assert set_piece(lead, here, log=there["log"], confirm_doubtful=True).status_code == 201
    version = lead.get(f"logs/{other}").body["version"]
    lead.patch(f"logs/{other}", {"crown_mm": 9}, version=version)

    assert [tell_of_stale_plans(at=MORNING) for _ in range(2)] == [1, 0]
    (news,) = told(lead, "plan_stale")
    assert (news["plan"], news["cabin"]) == (plan, hut)
    assert len(news["because"]) == 2


@pytest.mark.django_db(transaction=True)
def test_only_crews_where_something_changed_lately_are_looked_at_and_once_a_night_all(lead):
    hut = a_hut(lead)
    first = round_of(lead, adopted(lead, hut), 1)[0]["log"]
    version = lead.get(f"logs/{first}").body["version"]
    lead.patch(f"logs/{first}", {"crown_mm": 9}, version=version)
    an_hour_on = now() + timedelta(hours=1)

    assert tell_of_stale_plans(at=an_hour_on) == 0
    assert tell_of_stale_plans(at=an_hour_on, changed_within=None) == 1
    assert [event["cabin"] for event in told(lead, "plan_stale")] == [hut]


def test_a_culled_log_is_told_once_with_its_reason(lead):
    log = a_log(lead.who.crew, number="17")

    for _ in range(2):
        lead.post(f"logs/{log.id}/put-aside", {"reason": "Rot at the tip."})

    assert told(lead, "log_culled") == [{"log": str(log.id), "number": "17", "reason": "Rot at the tip."}]


def test_a_hazard_found_later_is_told_and_one_charted_at_first_is_not(lead):
    log = a_log(lead.who.crew, number="17")
    wire = {"kind": "metal", "from_butt_mm": 2100}

    answer = lead.patch(f"logs/{log.id}", {"hazards": [wire]}, version=log.version)
    lead.patch(f"logs/{log.id}", {"remarks": "wire"}, version=answer.body["version"])

    (news,) = told(lead, "log_hazardous")
    assert (news["number"], news["hazards"][0]["kind"]) == ("17", "metal")


def logs_in(someone, plan: str) -> set[str]:
    return {piece["log"] for piece in someone.get(f"plans/{plan}/pieces?limit=500").body["items"]}


def happened(someone, after: str, *kinds: str) -> list[tuple[str, dict]]:
    until_the_feed_shows_all()
    found = someone.get(f"events?limit=500&after={after}&kind={','.join(kinds)}").body
    return [(event["kind"], event["data"]) for event in found["items"]]


@pytest.mark.django_db(transaction=True)
def test_a_dashboard_follows_adopting_setting_and_measuring_by_events_alone(lead):
    hut = a_hut(lead)
    yard = logs_enough(lead)[0].yard_id
    plan = planned(lead, [hut], [yard])["plan_id"]
    until_the_feed_shows_all()
    cursor = lead.get("events?after=end").body["cursor"]

    lead.post(f"plans/{plan}/adopt")
    lead.post(f"plans/{plan}/adopt")
    first = round_of(lead, plan, 1)[0]
    record = set_piece(lead, first).body
    tops = lead.get(f"plans/{plan}/heights?cabin={hut}").body["tops"]
    top = next(t for t in tops if (t["wall"], t["round"], t["column"]) == (first["wall"], 1, 0))
    height = measure(lead, hut, first["wall"], 1, "start", round(top["top_mm"])).body
    lead.post(f"set-logs/{record['id']}/undo", {"reason": "Scribed the wrong side."})

    adopting = happened(lead, cursor, "plan_adopted", "log_reserved", "log_released")
    reserved = [data for kind, data in adopting if kind == "log_reserved"]
    assert adopting[0] == ("plan_adopted", {"plan": plan, "cabins": [hut]})
    assert {data["log"] for data in reserved} == logs_in(lead, plan)
    assert all(data == {"log": data["log"], "cabin": hut, "plan": plan} for data in reserved)
    # Adopting twice is told once; the log that was set and taken back may be reserved a second time.
    assert len(adopting) == 1 + len(reserved)
    assert len(reserved) - len(logs_in(lead, plan)) <= 1
    where = {name: first[name] for name in ("cabin", "wall", "round", "piece", "log")}
    assert happened(lead, cursor, "log_set", "log_set_undone", "height_measured") == [
        ("log_set", {"set_log": record["id"], **where}),
        (
            "height_measured",
            {
                "height": height["id"], "cabin": hut, "wall": first["wall"], "round": 1, "end": "start",
                "height_mm": height["height_mm"],
            },
        ),
        ("log_set_undone", {"set_log": record["id"], **where, "reason": "Scribed the wrong side."}),
    ]  # fmt: skip


@pytest.mark.django_db(transaction=True)
def test_a_later_plan_tells_only_of_logs_that_change_hands(lead):
    hut = a_hut(lead)
    yard = logs_enough(lead)[0].yard_id
    first, second = (planned(lead, [hut], [yard], seed=seed)["plan_id"] for seed in (1, 2))
    lead.post(f"plans/{first}/adopt")
    until_the_feed_shows_all()
    cursor = lead.get("events?after=end").body["cursor"]

    lead.post(f"plans/{second}/adopt")

    before, after = logs_in(lead, first), logs_in(lead, second)
    told = happened(lead, cursor, "log_reserved", "log_released")
    assert {data["log"] for kind, data in told if kind == "log_released"} == before - after
    assert {data["log"] for kind, data in told if kind == "log_reserved"} == after - before
    assert {data["because"] for kind, data in told if kind == "log_released"} <= {"replaced"}


@pytest.mark.django_db(transaction=True)
def test_a_reservation_that_the_lead_ends_is_told(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    reservation = lead.get("reservations?open=true").body["items"][0]

    lead.post(f"reservations/{reservation['id']}/release")

    assert told(lead, "log_released") == [
        {"log": reservation["log"], "cabin": hut, "plan": plan, "because": "released"}
    ]
