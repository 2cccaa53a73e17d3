"""At the wall: logs set by the plan and against it, heights measured, the rest planned again."""

from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from pypdf import PdfReader

from inventory.logs.models import Log, LogState
from planning.plans.models import CurrentPlan
from planning.plans.staleness import stale_because
from planning.reservations.models import Reservation
from tests.cabins.building import a_yard
from tests.planning.planning_yard import ROUNDS, a_hut, logs_enough, planned

pytestmark = pytest.mark.django_db(transaction=True)
NOON = "2026-05-04T12:00:00Z"
EVENING = "2026-05-04T18:00:00Z"


def adopted(someone: Any, hut: str, **changed: Any) -> str:
    """A plan made from a new yard that suffices, and adopted; its id."""
    job = planned(someone, [hut], [logs_enough(someone)[0].yard_id], **changed)
    someone.post(f"plans/{job['plan_id']}/adopt")
    return job["plan_id"]


def set_piece(someone: Any, piece: dict[str, Any], id: str | None = None, **changed: Any) -> Any:
    """Record a row of the plan (or one like it) as set."""
    fields = ("cabin", "wall", "round", "piece", "log", "from_butt_mm", "butt_at")
    body = {name: piece[name] for name in fields} | {"set_at": NOON} | changed
    return someone.put(f"set-logs/{id or uuid4()}", body)


def round_of(someone: Any, plan: str, number: int) -> list[dict[str, Any]]:
    return someone.get(f"plans/{plan}/pieces?round={number}").body["items"]


def measure(someone: Any, hut: str, wall: str, number: int, end: str, height_mm: float) -> Any:
    body = {
        "cabin": hut, "wall": wall, "round": number, "end": end, "height_mm": height_mm,
        "measured_at": EVENING,
    }  # fmt: skip
    return someone.put(f"heights/{uuid4()}", body)


def test_a_learner_sets_a_log_as_planned_and_the_reservation_is_kept(lead, learner):
    hut = a_hut(lead)
    piece = round_of(lead, adopted(lead, hut), 1)[0]

    answer = set_piece(learner, piece)

    assert answer.status_code == 201
    assert answer.body["warnings"] == []
    reservation = Reservation.objects.get(log=piece["log"])
    assert reservation.ended_because == "kept"
    assert Log.objects.get(id=piece["log"]).state in (LogState.SET, LogState.CUT_UP)


def test_a_log_the_plan_did_not_foresee_is_set_with_a_warning(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    here, there = round_of(lead, plan, 1)[0], round_of(lead, plan, 2)[0]

    asked = set_piece(lead, here, log=there["log"])
    answer = set_piece(lead, here, log=there["log"], confirm_doubtful=True)

    assert (asked.status_code, asked.body["type"]) == (409, "/problems/doubts-unconfirmed")
    assert {one["code"] for one in asked.body["errors"]} >= {"not_as_planned", "planned_elsewhere"}
    assert answer.status_code == 201
    assert {w["code"] for w in answer.body["warnings"]} >= {"not_as_planned", "planned_elsewhere"}


def test_a_log_turned_round_is_a_warning(lead):
    hut = a_hut(lead)
    piece = round_of(lead, adopted(lead, hut), 1)[0]
    other_way = "end" if piece["butt_at"] == "start" else "start"

    answer = set_piece(lead, piece, butt_at=other_way)

    assert [w["code"] for w in answer.body["warnings"]] == ["turned"]


def test_a_log_reserved_for_another_cabin_is_set_here_only_when_confirmed_and_its_reservation_ends(lead):
    mine, theirs = a_hut(lead, "Pond hut"), a_hut(lead, "Hill hut")
    reserved = round_of(lead, adopted(lead, theirs), 1)[0]

    asked = set_piece(lead, reserved, cabin=mine)
    answer = set_piece(lead, reserved, cabin=mine, confirm_doubtful=True)

    assert asked.status_code == 409
    assert [one["code"] for one in asked.body["errors"]] == ["reserved_elsewhere"]
    assert "Hill hut" in asked.body["errors"][0]["detail"]
    assert [one["code"] for one in answer.body["warnings"]] == ["reserved_elsewhere"]
    reservation = Reservation.objects.get(log=reserved["log"])
    assert (reservation.ended_because, reservation.ended_at is None) == ("taken", False)
    assert Log.objects.get(id=reserved["log"]).state in (LogState.SET, LogState.CUT_UP)


def test_a_builder_writes_off_a_log_that_split_and_its_place_is_free_again(lead, builder, learner):
    hut = a_hut(lead)
    piece = round_of(lead, adopted(lead, hut), 1)[0]

    refused = learner.post(f"logs/{piece['log']}/write-off", {"reason": "Split end to end."})
    answer = builder.post(f"logs/{piece['log']}/write-off", {"reason": "Split end to end."})
    again = builder.post(f"logs/{piece['log']}/write-off", {"reason": "Split end to end."})

    assert refused.status_code == 403
    assert (answer.status_code, answer.body["state"]) == (200, "gone")
    assert answer.body["gone_reason"] == "Split end to end."
    assert again.body["version"] == answer.body["version"]
    [reservation] = lead.get(f"reservations?cabin={hut}&log={piece['log']}").body["items"]
    assert reservation["ended_because"] == "log_gone"
    other = next(log for log in logs_enough(lead, yard=a_yard(lead.who.crew, "South yard")))
    assert set_piece(lead, piece, log=str(other.id), confirm_doubtful=True).status_code == 201


def test_a_log_that_is_gone_is_told_first_and_never_shown_as_the_next_one(lead, builder):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    first = lead.get(f"cabins/{hut}/next-log").body["row"]
    builder.post(f"logs/{first['log']}/write-off", {"reason": "Split end to end."})

    told = lead.get(f"cabins/{hut}/next-log").body
    sheet = lead.get(f"cabins/{hut}/setting-sheet?round=1").body
    paper = lead.get(f"cabins/{hut}/sheets/setting?round=1").content
    cuts = lead.get(f"cabins/{hut}/sheets/cut-list").content
    heights = lead.get(f"plans/{plan}/heights?cabin={hut}").body

    words = (
        f"Log {first['log_number']} is gone: plan again or choose another for wall {first['wall']}, round 1."
    )
    assert words in [one["detail"] for one in told["lost"]]
    assert told["row"]["log"] != first["log"]
    assert told["open_places"] == heights["open_places"] == 4 * ROUNDS
    assert [one["detail"] for one in sheet["lost"]] == [words]
    assert first["log"] not in [row["log"] for row in sheet["rows"]]
    for file in (paper, cuts):
        text = " ".join(page.extract_text() for page in PdfReader(BytesIO(file)).pages)
        assert "is gone: plan again" in " ".join(text.split())
    for piece in round_of(lead, plan, 1):
        if piece["log"] != first["log"]:
            assert set_piece(lead, piece).status_code == 201
    over = lead.get(f"cabins/{hut}/next-log").body
    assert (over["row"], over["steering"]) == (None, None), "no log over a place that is empty"
    assert words in [one["detail"] for one in over["lost"]]


def test_a_log_taken_for_another_cabin_is_told_to_the_one_that_lost_it(lead):
    mine, theirs = a_hut(lead, "Pond hut"), a_hut(lead, "Hill hut")
    adopted(lead, theirs)
    first = lead.get(f"cabins/{theirs}/next-log").body["row"]

    record = set_piece(lead, first | {"cabin": theirs, "from_butt_mm": first["cut_near_butt_mm"]},
                       cabin=mine, confirm_doubtful=True).body  # fmt: skip
    told = lead.get(f"cabins/{theirs}/next-log").body
    lead.post(f"set-logs/{record['id']}/undo", {"reason": "It goes back."})
    after = lead.get(f"cabins/{theirs}/next-log").body

    assert f"Log {first['log_number']} lies in another cabin: plan again" in told["lost"][0]["detail"]
    assert told["row"]["log"] != first["log"]
    assert (after["lost"], after["row"]["log"]) == ([], first["log"])


def test_a_log_in_a_wall_is_not_written_off(lead, builder):
    piece = round_of(lead, adopted(lead, a_hut(lead)), 1)[0]
    set_piece(lead, piece)
    Log.objects.filter(id=piece["log"]).update(state=LogState.SET)

    answer = builder.post(f"logs/{piece['log']}/write-off", {"reason": "Split."})

    assert (answer.status_code, answer.body["type"]) == (409, "/problems/log-in-use")


def test_recording_again_changes_nothing(lead):
    hut = a_hut(lead)
    piece = round_of(lead, adopted(lead, hut), 1)[0]
    id = str(uuid4())

    first, again = set_piece(lead, piece, id), set_piece(lead, piece, id)

    assert (first.status_code, again.status_code) == (201, 200)
    assert first.body == again.body


def test_an_undone_log_is_reserved_again(lead, learner):
    hut = a_hut(lead)
    piece = round_of(lead, adopted(lead, hut), 1)[0]
    record = set_piece(lead, piece).body

    undone = learner.post(f"set-logs/{record['id']}/undo", {"reason": "Scribed the wrong side."})

    assert undone.body["undone_at"] is not None
    assert Log.objects.get(id=piece["log"]).state == LogState.RESERVED
    assert Reservation.objects.filter(log=piece["log"], ended_at=None).count() == 1
    assert set_piece(lead, piece).status_code == 201


def test_undone_twice_a_released_log_stays_free(lead):
    hut = a_hut(lead)
    piece = round_of(lead, adopted(lead, hut), 1)[0]
    undo = f"set-logs/{set_piece(lead, piece).body['id']}/undo"
    lead.post(undo, {"reason": "Scribed the wrong side."})
    reservation = Reservation.objects.get(log=piece["log"], ended_at=None)
    lead.post(f"reservations/{reservation.id}/release")

    assert lead.post(undo, {"reason": "Scribed the wrong side."}).status_code == 200

    assert Log.objects.get(id=piece["log"]).state == LogState.IN_RACK
    assert not Reservation.objects.filter(log=piece["log"], ended_at=None).exists()


def test_a_culled_log_that_is_undone_is_reserved_again_like_any_other(lead):
    hut = a_hut(lead)
    piece = round_of(lead, adopted(lead, hut), 1)[0]
    record = set_piece(lead, piece).body
    Log.objects.filter(id=piece["log"]).update(culled=True)

    lead.post(f"set-logs/{record['id']}/undo", {"reason": "Scribed the wrong side."})

    assert Log.objects.get(id=piece["log"]).state == LogState.RESERVED


def test_the_next_log_is_the_lowest_open_one_and_steers_from_measured_heights(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    for piece in round_of(lead, plan, 1):
        assert set_piece(lead, piece).status_code == 201
    computed = lead.get(f"cabins/{hut}/next-log").body

    top = next(e["own_top_mm"] for e in computed["steering"]["ends"] if e["column"] == 0)
    wall = computed["row"]["wall"]
    assert measure(lead, hut, wall, 1, "start", top + 9).status_code == 201

    measured = lead.get(f"cabins/{hut}/next-log").body
    assert (computed["row"]["round"], computed["open_places"]) == (2, 4 * ROUNDS - 4)
    end = next(e for e in measured["steering"]["ends"] if e["column"] == 0)
    assert end["own_top_mm"] == pytest.approx(top + 9)
    assert measured["steering"]["advice"]
    assert measured["steering"]["cautions"]


def test_a_cabin_without_a_plan_has_no_next_log(lead):
    hut = a_hut(lead)

    assert lead.get(f"cabins/{hut}/next-log").body["type"] == "/problems/no-plan-yet"
    assert lead.get(f"cabins/{hut}/setting-sheet?round=1").status_code == 409


def test_the_rest_is_planned_again_from_what_was_built(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    first_round = round_of(lead, plan, 1)
    for piece in first_round:
        set_piece(lead, piece)
    tops = {
        (t["wall"], t["column"]): t["top_mm"]
        for t in lead.get(f"plans/{plan}/heights?cabin={hut}").body["tops"]
        if t["round"] == 1
    }
    for (wall, column), top in tops.items():
        assert measure(lead, hut, wall, 1, "end" if column else "start", top + 7).status_code == 201
    yard = Log.objects.get(id=first_round[0]["log"]).yard_id

    stale = lead.post(f"plans/{planned(lead, [hut], [yard])['plan_id']}/adopt")
    again = stale.body["id"]

    assert stale.status_code == 200
    pieces = {(p["wall"], p["round"]): p["log"] for p in lead.get(f"plans/{again}/pieces").body["items"]}
    for piece in first_round:
        assert pieces[piece["wall"], 1] == piece["log"], "what is set stays"
    heights = lead.get(f"plans/{again}/heights?cabin={hut}").body
    for t in (t for t in heights["tops"] if t["round"] == 1):
        assert t["is_measured"]
        assert t["top_mm"] == pytest.approx(tops[t["wall"], t["column"]] + 7)
    assert lead.get(f"plans/{plan}").body["state"] == "replaced"
    sheet = lead.get(f"cabins/{hut}/setting-sheet?round=1").body
    assert (sheet["already_set"], sheet["rows"]) == (4, [])


def test_a_plan_made_before_a_log_was_set_is_stale(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    yard = Log.objects.get(id=round_of(lead, plan, 1)[0]["log"]).yard_id
    late = planned(lead, [hut], [yard])["plan_id"]
    set_piece(lead, round_of(lead, plan, 1)[0])

    answer = lead.post(f"plans/{late}/adopt")

    assert answer.status_code == 409
    assert "built_changed" in {e["code"] for e in answer.body["errors"]}


def test_when_every_log_is_set_nothing_is_next(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    for number in range(1, ROUNDS + 1):
        for piece in round_of(lead, plan, number):
            assert set_piece(lead, piece).status_code == 201

    answer = lead.get(f"cabins/{hut}/next-log").body

    assert (answer["open_places"], answer["row"], answer["steering"]) == (0, None, None)
    assert Reservation.objects.filter(ended_at=None).count() == 0


def test_the_setting_sheet_is_written_as_the_crew_writes_lengths(lead, learner):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    lead.patch("crew", {"length_unit": "ft_in", "fraction": 8}, version=1)

    sheet = learner.get(f"cabins/{hut}/setting-sheet?round=2").body
    next_log = learner.get(f"cabins/{hut}/next-log").body
    heights = learner.get(f"plans/{plan}/heights?cabin={hut}").body

    row = sheet["rows"][0]
    assert row["length_text"] == "19' 0 3/8\""  # 5800 mm
    assert all(corner["notch_text"].endswith('"') for corner in row["corners"])
    assert all("' " in corner["top_text"] for corner in row["corners"])
    assert next_log["row"]["cut_near_butt_text"].startswith("0' ")
    assert any('"' in line for line in next_log["steering"]["advice"])
    assert all("'" in top["top_text"] for top in heights["tops"])


def test_the_setting_sheet_tells_the_pull_of_a_flatter_sling(lead):
    hut = a_hut(lead)
    adopted(lead, hut)

    steep, flat = (
        lead.get(f"cabins/{hut}/setting-sheet?round=1&sling_angle_deg={angle}").body["rows"][0]["lift"]
        for angle in (60, 30)
    )

    assert steep["sling"]["tension_kg"] == pytest.approx(steep["weight_high_kg"] * 0.57735, rel=1e-4)
    assert flat["sling"]["tension_kg"] == pytest.approx(flat["weight_high_kg"], rel=1e-4)
    assert any("too flat" in caution for caution in flat["cautions"])
    for angle in (0, 29, 91, "nan"):
        answer = lead.get(f"cabins/{hut}/next-log?sling_angle_deg={angle}")
        assert (answer.status_code, answer.body["errors"][0]["pointer"]) == (400, "?sling_angle_deg")


def test_a_log_hangs_whole_unless_the_crew_cuts_it_on_the_ground_and_as_dry_as_charted(lead):
    hut = a_hut(lead)
    adopted(lead, hut)

    def lift(query: str = "") -> Any:
        return lead.get(f"cabins/{hut}/next-log{query}").body["row"]["lift"]

    whole, cut = lift(), lift("?hangs=cut")
    Log.objects.filter(crew=lead.who.crew).update(seasoning="dry")
    dry = lift("?hangs=whole")

    assert (whole["hangs"], cut["hangs"], dry["hangs"]) == ("whole", "cut", "whole")
    assert cut["weight_high_kg"] < whole["weight_high_kg"]
    assert dry["weight_high_kg"] < whole["weight_high_kg"]
    assert (whole["seasoning"], dry["seasoning"]) == (None, "dry")
    answer = lead.get(f"cabins/{hut}/setting-sheet?round=1&hangs=askew")
    assert (answer.status_code, answer.body["errors"][0]["pointer"]) == (400, "?hangs")


def test_the_sheet_of_a_scribed_log_says_how_it_is_scribed_and_the_gap_all_along(lead, learner):
    band = {"smallest_mm": -40, "target_mm": -25, "largest_mm": -10}
    hut = a_hut(lead, gap=band)
    adopted(lead, hut)
    Log.objects.filter(crew=lead.who.crew).update(crown_mm=30, crown_side="left")

    first = learner.get(f"cabins/{hut}/setting-sheet?round=1").body["rows"]
    second = learner.get(f"cabins/{hut}/setting-sheet?round=2").body["rows"]

    assert all(row["lying"]["scribing"] is None for row in first if row["wall"] in "AC")
    for row in second:
        lying = row["lying"]
        gap, scribing = lying["gap_along"], lying["scribing"]
        assert (lying["crown_laid"], row["crown_side"]) == ("up", "left")
        assert gap["smallest_mm"] <= -25 <= gap["largest_mm"]
        for scribe in (scribing["first"], scribing["final"]):
            wanted = scribe["setting_mm"] - scribe["widest_mm"]
            assert wanted >= scribing["overlap_mm"] - 1e-6 == pytest.approx(10)
        tops = [corner["top_mm"] - scribing["below_plan_mm"] for corner in row["corners"]]
        assert sorted(scribing["final"]["tops_mm"]) == pytest.approx(sorted(tops), abs=0.01)
        assert len(scribing["grooves"]) == 3
        assert scribing["grooves"][1]["width_text"]


def test_a_plan_warns_of_logs_that_leave_the_band_of_the_gap_along_the_wall(lead, learner):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    bowed = round_of(lead, plan, 2)[0]
    Log.objects.filter(crew=lead.who.crew).update(crown_mm=0)
    straight = learner.get(f"plans/{plan}/heights?cabin={hut}").body["outside_band"]
    Log.objects.filter(id=bowed["log"]).update(crown_mm=60)

    found = learner.get(f"plans/{plan}/heights?cabin={hut}").body["outside_band"]

    sheets = [
        row
        for number in range(1, ROUNDS + 1)
        for row in learner.get(f"plans/{plan}/setting-sheet?cabin={hut}&round={number}").body["rows"]
    ]
    outside = {(row["wall"], row["round"]): row["lying"] for row in sheets if row["lying"]["is_outside_band"]}
    assert {(one["wall"], one["round"]) for one in found} == outside.keys()
    assert (bowed["wall"], 2) in outside.keys() - {(one["wall"], one["round"]) for one in straight}
    for one in found:
        lying = outside[one["wall"], one["round"]]
        assert lying["gap_along"].items() <= one.items()
        assert one["detail"] in lying["cautions"]
    (told,) = [one for one in found if (one["wall"], one["round"]) == (bowed["wall"], 2)]
    assert (told["log"], told["log_number"]) == (bowed["log"], bowed["log_number"])
    assert told["largest_mm"] > 25


def test_a_planned_log_without_a_species_has_no_weight_and_a_caution(lead):
    hut = a_hut(lead)
    adopted(lead, hut)
    Log.objects.filter(crew=lead.who.crew).update(species=None)

    lift = lead.get(f"cabins/{hut}/next-log").body["row"]["lift"]

    assert (lift["weight_kg"], lift["weight_high_kg"], lift["sling"]) == (None, None, None)
    assert "species" in lift["why_no_weight"]
    assert any("do not lift" in caution for caution in lift["cautions"])
    assert lift["balance_from_butt_mm"] > 0


def test_a_twisted_log_on_the_setting_sheet_carries_what_the_rules_of_grain_say(lead):
    hut = a_hut(lead)
    adopted(lead, hut)
    Log.objects.filter(crew=lead.who.crew).update(grain_hand="left", grain_slope=None)
    lead.patch("grain-rules", {"weights": {"top_round_straight": "bind"}}, version=0)

    row = lead.get(f"cabins/{hut}/setting-sheet?round={ROUNDS}").body["rows"][0]

    assert (row["grain"]["band"], row["grain"]["may_lie"]) == ("severe", False)
    binding = [caution for caution in row["cautions"] if "not here" in caution]
    assert len(binding) == 1
    assert "straight grain" in binding[0]
    assert "ILBA" in binding[0]


def shorten(someone: Any, log: str, length_mm: int) -> Any:
    body = {"length_mm": length_mm, "confirm_doubtful": True}
    return someone.patch(f"logs/{log}", body, version=someone.get(f"logs/{log}").body["version"])


def test_a_planned_log_that_turns_out_too_short_makes_the_plan_stale_not_the_service_fail(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    assert shorten(lead, round_of(lead, plan, 2)[0]["log"], 3000).status_code == 200

    for address in (
        f"cabins/{hut}/setting-sheet?round=2",
        f"cabins/{hut}/next-log",
        f"plans/{plan}/heights?cabin={hut}",
    ):
        answer = lead.get(address)
        assert answer.body["type"] == "/problems/plan-stale", address
        assert answer.body["errors"][0]["code"] == "log_measured"


def test_a_set_log_written_down_too_short_leaves_the_wall_readable(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    for piece in round_of(lead, plan, 1):
        set_piece(lead, piece)
    assert shorten(lead, round_of(lead, plan, 1)[0]["log"], 3000).status_code == 200

    log = round_of(lead, plan, 1)[0]["log"]
    for address in (
        "progress",
        f"cabins/{hut}/progress",
        f"cabins/{hut}/rounds",
        f"cabins/{hut}/corners/1",
        f"cabins/{hut}/setting-sheet?round=2",
        f"cabins/{hut}/next-log",
        f"cabins/{hut}/elevation?wall=A",
        f"cabins/{hut}/elevation?wall=B",
        f"cabins/{hut}/levels-drawing",
        f"cabins/{hut}/corner-drawing?corner=1",
        f"cabins/{hut}/sheets/record",
        f"cabins/{hut}/sheets/storey-pole",
        f"logs/{log}/pieces",
        f"logs/{log}/drawing",
    ):
        assert lead.get(address).status_code == 200, address
    yard = Log.objects.get(id=round_of(lead, plan, 1)[0]["log"]).yard_id
    again = planned(lead, [hut], [yard])
    assert again["state"] in ("done", "failed")
    assert again["state"] == "done" or "short" in again["reason"] or "fit" in again["reason"], again["reason"]


def round_set(someone: Any, plan: str, number: int) -> None:
    for piece in round_of(someone, plan, number):
        assert set_piece(someone, piece, confirm_doubtful=True).status_code == 201


def planned_top(someone: Any, plan: str, hut: str, wall: str, number: int, column: int) -> float:
    tops = someone.get(f"plans/{plan}/heights?cabin={hut}").body["tops"]
    return next(
        t["planned_mm"] for t in tops if (t["wall"], t["round"], t["column"]) == (wall, number, column)
    )


def test_readings_are_told_together_with_mean_spread_and_who_and_what_another_is_worth(lead, learner):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    round_set(lead, plan, 1)
    top = planned_top(lead, plan, hut, "A", 1, 0)
    for someone, off in ((lead, 0.0), (learner, 3.0)):
        assert measure(someone, hut, "A", 1, "start", top + off).status_code == 201

    told = learner.get(f"cabins/{hut}/readings").body

    [read] = told["tops"]
    assert (read["wall"], read["round"], read["end"], read["times_read"]) == ("A", 1, "start", 2)
    assert (read["height_mm"], read["spread_mm"]) == (pytest.approx(top + 1.5), pytest.approx(3))
    assert read["error_mm"] == pytest.approx(2.5 / 2**0.5, abs=5e-5)
    assert len({one["measured_by"] for one in read["readings"]}) == 2
    assert told["plan_again"] == []
    worth = told["worth"]
    assert worth["steered"] and worth["plan"] == plan
    assert [one["round"] for one in worth["tops"]] and {one["round"] for one in worth["tops"]} <= {2, ROUNDS}
    each = [one["worth_mm"] for one in worth["tops"]]
    assert each == sorted(each, reverse=True) and max(each) < worth["tops_together_mm"] < worth["plate_mm"]
    sheet = lead.get(f"cabins/{hut}/next-log").body["steering"]
    assert any(end["own_top_mm"] == pytest.approx(top + 1.5) for end in sheet["ends"]) or sheet["wall"] != "A"


def test_without_a_band_the_logs_worth_measuring_again_are_named(lead):
    gap = {"smallest_mm": -20, "target_mm": -20, "largest_mm": -20}
    hut = a_hut(lead, gap=gap)
    adopted(lead, hut)

    worth = lead.get(f"cabins/{hut}/readings").body["worth"]

    assert (worth["steered"], worth["tops"]) == (False, [])
    assert 0 < len(worth["logs"]) <= 6
    assert all(one["log_number"] and 0 < one["worth_mm"] < worth["plate_mm"] for one in worth["logs"])


def test_first_logs_on_their_flats_are_named_for_the_first_round_until_they_lie(lead):
    hut = a_hut(lead, sill_flat={"depth_mm": 30})
    plan = adopted(lead, hut)

    before = lead.get(f"cabins/{hut}/readings").body["worth"]
    round_set(lead, plan, 1)
    after = lead.get(f"cabins/{hut}/readings").body["worth"]

    assert {(one["wall"], one["round"]) for one in before["first_logs"]} == {("A", 1), ("C", 1)}
    expected = before["first_round_mm"]
    assert all(one["log_number"] and one["worth_mm"] < expected for one in before["first_logs"])
    assert before["first_round_text"] and (after["first_logs"], after["first_round_text"]) == ([], "")


def test_planning_again_is_advised_when_the_band_cannot_mend_what_stands_and_not_before(lead):
    hut = a_hut(lead)
    plan = adopted(lead, hut)
    round_set(lead, plan, 1)
    top = planned_top(lead, plan, hut, "A", 1, 0)
    current = CurrentPlan.objects.get(plan=plan)
    band = lead.get(f"cabins/{hut}/layout").body["layout"]["gap"]
    reserve = band["target_mm"] - band["smallest_mm"]

    # Two rounds are left: each brings the wall down by what the gap may be smaller.
    mendable = measure(lead, hut, "A", 1, "start", top + 2 * reserve - 1)
    before = (stale_because(current), lead.get(f"cabins/{hut}/readings").body["plan_again"])
    lead.post(f"heights/{mendable.body['id']}/undo", {"reason": "Read at the notch."})
    beyond = measure(lead, hut, "A", 1, "start", top + 2 * reserve + 4)
    after = (stale_because(current), lead.get(f"cabins/{hut}/readings").body["plan_again"])

    assert (mendable.status_code, beyond.status_code, before) == (201, 201, ([], []))
    assert after[0] == after[1] and len(after[0]) == 1
    assert "Wall A stands" in after[0][0] and "more than the gaps of the rounds left" in after[0][0]


def test_readings_are_told_without_a_plan_too(lead):
    hut = a_hut(lead)

    told = lead.get(f"cabins/{hut}/readings").body

    assert (told["tops"], told["worth"], told["plan_again"]) == ([], None, [])
    assert "common practice" in told["uncertainty"]
