"""A cabin is taken up and laid out; its layout is checked as a whole, versioned and kept."""

from importlib import import_module
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cabins.cabins.models import Cabin
from cabins.core.layout_reading import OPTIONAL, REQUIRED
from cabins.layouts.models import PastLayout, Place
from tests.cabins.building import DOOR, RECTANGLE, a_cabin, a_layout, a_log, a_yard, set_round
from tests.cabins.core.drawings import a_partition

RIDGE = {"id": "ridge", "kind": "ridge", "length_mm": 6000, "least_middle_mm": 260, "crown_limit_mm": 25}


def test_a_builder_takes_up_a_cabin_and_repeats_it(builder, learner):
    address = f"cabins/{uuid4()}"

    first = builder.put(address, {"name": "Lake cabin"})
    again = builder.put(address, {"name": "Lake cabin"})

    assert (first.status_code, again.status_code) == (201, 200)
    assert first.body["rounds"] is None
    assert first.headers["ETag"] == '"1"'
    assert learner.put(f"cabins/{uuid4()}", {"name": "Mine"}).status_code == 403
    assert [c["name"] for c in learner.get("cabins").body["items"]] == ["Lake cabin"]


def test_renaming_a_cabin_names_its_version(builder):
    address = f"cabins/{uuid4()}"
    builder.put(address, {"name": "Lake cabin"})

    missing = builder.put(address, {"name": "Hill cabin"})
    stale = builder.put(address, {"name": "Hill cabin"}, version=7)
    done = builder.put(address, {"name": "Hill cabin"}, version=1)

    assert (missing.status_code, stale.status_code, done.status_code) == (428, 412, 200)
    assert stale.body["current"]["name"] == "Lake cabin"
    assert done.body["version"] == 2


def test_two_cabins_of_a_crew_do_not_share_a_name(builder):
    builder.put(f"cabins/{uuid4()}", {"name": "Lake cabin"})

    answer = builder.put(f"cabins/{uuid4()}", {"name": "Lake cabin"})

    assert answer.status_code == 409
    assert answer.body["type"] == "/problems/cabin-name-taken"


def test_cabins_are_found_by_name_and_by_whether_they_are_laid_out(builder):
    a_cabin(builder, name="Lake cabin")
    builder.put(f"cabins/{uuid4()}", {"name": "Hill cabin"})

    assert [c["name"] for c in builder.get("cabins?name=LAKE").body["items"]] == ["Lake cabin"]
    assert [c["name"] for c in builder.get("cabins?laid_out=false").body["items"]] == ["Hill cabin"]
    assert [c["name"] for c in builder.get("cabins?order=name").body["items"]] == ["Hill cabin", "Lake cabin"]
    assert builder.get("cabins?colour=red").status_code == 400


def test_a_layout_gives_rounds_half_logs_and_places(builder):
    address = f"cabins/{uuid4()}"
    builder.put(address, {"name": "Lake cabin"})

    answer = builder.put(f"{address}/layout", a_layout(openings=[DOOR]))

    assert answer.status_code == 201
    assert (answer.body["rounds"], answer.body["pitch_mm"], answer.body["version"]) == (4, 312, 1)
    assert answer.body["half_logs"] == [
        {"wall": "B", "length_mm": 4800},
        {"wall": "D", "length_mm": 4800},
    ]
    first = builder.get(f"{address}/places?wall=A&round=1").body["items"]
    assert [(p["piece"], p["start_mm"], p["end_mm"], p["length_mm"]) for p in first] == [
        (0, -400, 2000, 2400),
        (1, 2900, 5400, 2500),
    ]
    assert [p["log"] for p in first] == [None, None]
    assert len(builder.get(f"{address}/places?open=true").body["items"]) == 4 * 4 + 3


def test_the_same_layout_again_changes_nothing_and_a_change_names_its_version(builder):
    address = a_cabin(builder)
    written = a_layout(overhang_mm="400 mm", openings=[], rounds=None)

    again = builder.put(f"{address}/layout", written)
    missing = builder.put(f"{address}/layout", a_layout(overhang_mm=500))
    stale = builder.put(f"{address}/layout", a_layout(overhang_mm=500), version=5)
    done = builder.put(f"{address}/layout", a_layout(overhang_mm=500), version=1)

    assert (again.status_code, again.body["version"]) == (200, 1)
    assert (missing.status_code, stale.status_code, done.status_code) == (428, 412, 200)
    assert stale.body["current"]["layout"]["overhang_mm"] == 400
    assert done.headers["ETag"] == '"2"'
    past = builder.get(f"{address}/layouts").body["items"]
    assert [(p["layout_version"], p["layout"]["overhang_mm"]) for p in past] == [(1, 400), (2, 500)]


def test_a_first_layout_that_names_a_version_is_stale(builder):
    address = f"cabins/{uuid4()}"
    builder.put(address, {"name": "Lake cabin"})

    assert builder.put(f"{address}/layout", RECTANGLE, version=3).status_code == 412


def test_lengths_of_a_layout_are_read_as_a_person_writes_them(builder):
    address = f"cabins/{uuid4()}"
    builder.put(address, {"name": "Lake cabin"})
    scribed = {"smallest_mm": "-1 in", "target_mm": "-1/2 in", "largest_mm": 0}

    answer = builder.put(f"{address}/layout", a_layout(gap=scribed, log_middle_mm="11 5/8 in"))

    assert answer.body["layout"]["gap"] == {"smallest_mm": -25.4, "target_mm": -12.7, "largest_mm": 0}
    assert answer.body["layout"]["log_middle_mm"] == 295.275


def test_every_fault_of_a_layout_comes_at_once_and_nothing_is_stored(builder):
    address = f"cabins/{uuid4()}"
    builder.put(address, {"name": "Lake cabin"})
    walls = [{**w, "start": "low"} for w in RECTANGLE["walls"]]
    high = {**DOOR, "head_mm": 9000}

    answer = builder.put(
        f"{address}/layout",
        a_layout(walls=walls, openings=[high], overhang_mm="400", colour="red", wall_height_mm="a lot"),
    )

    assert answer.status_code == 422
    codes = {(e["pointer"], e["code"]) for e in answer.body["errors"]}
    assert ("/walls/1/start", "same_start") in codes
    assert ("/overhang_mm", "not_a_length") in codes
    assert ("/wall_height_mm", "not_a_length") in codes
    assert ("/colour", "unknown_field") in codes
    assert len([e for e in answer.body["errors"] if e["pointer"] == "/overhang_mm"]) == 1
    assert not Place.objects.exists()
    assert not PastLayout.objects.exists()
    assert builder.get(f"{address}/layout").status_code == 404
    assert builder.get(address).body["layout_version"] == 0


@pytest.mark.parametrize("body", [b"[]", b'"walls"', b"7", b"null", b"[" * 200 + b"]" * 200])
def test_what_is_no_layout_at_all_is_refused_too(builder, body):
    address = f"cabins/{uuid4()}"
    builder.put(address, {"name": "Lake cabin"})

    assert builder.put(f"{address}/layout", body).status_code == 422


def test_a_number_nested_like_an_onion_is_a_fault_not_a_crash(builder):
    address = a_cabin(builder)
    onion = b'{"overhang_mm": ' + b"[" * 200 + b"]" * 200 + b"}"

    answer = builder.post(f"{address}/layout/check", onion)

    assert answer.status_code == 200
    assert "too_deep" in {f["code"] for f in answer.body["faults"]}


def test_checking_a_layout_stores_nothing(learner, builder):
    address = a_cabin(builder)

    good = learner.post(f"{address}/layout/check", a_layout(overhang_mm=600))
    bad = learner.post(f"{address}/layout/check", a_layout(overhang_mm=1))

    assert good.body["faults"] == []
    assert (good.body["rounds"], len(good.body["places"])) == (4, 16)
    assert [f["pointer"] for f in bad.body["faults"]] == ["/overhang_mm"]
    assert bad.body["places"] == []
    assert learner.get(f"{address}/layout").body["layout"]["overhang_mm"] == 400
    assert learner.put(f"{address}/layout", a_layout(overhang_mm=600), version=1).status_code == 403


def test_places_that_stay_keep_their_rows(builder):
    address = a_cabin(builder)
    before = {(p.wall, p.round, p.piece): p.id for p in Place.objects.all()}

    builder.put(f"{address}/layout", a_layout(openings=[DOOR], wall_height_mm=900), version=1)

    after = {(p.wall, p.round, p.piece): p.id for p in Place.objects.all()}
    assert ("A", 4, 0) in before
    assert ("A", 4, 0) not in after
    assert ("A", 1, 1) in after
    assert {key: before[key] for key in after if key in before} == {
        key: row for key, row in after.items() if key in before
    }


def test_storing_a_layout_takes_as_many_queries_for_many_places_as_for_few(builder):
    few, many = a_cabin(builder, name="Small"), a_cabin(builder, name="Tall")

    def queries_to_store(address, **changed):
        with CaptureQueriesContext(connection) as asked:
            version = builder.get(f"{address}/layout").body["version"]
            assert builder.put(f"{address}/layout", a_layout(**changed), version=version).status_code == 200
        return len(asked)

    assert queries_to_store(few, rounds=5) == queries_to_store(many, rounds=60)
    # Rows that go, go a hundred to a query.
    assert queries_to_store(few, rounds=4) == queries_to_store(many, rounds=50)


def test_the_height_is_estimated_from_the_free_logs_of_a_yard(builder):
    address = a_cabin(builder)
    crew = builder.who.crew
    yard = a_yard(crew)
    for middle in (280, 320):
        a_log(crew, yard=yard, middle_mm=middle)
    a_log(crew, yard=yard, middle_mm=900, butt_mm=950, culled=True)
    a_log(crew, yard=yard, middle_mm=900, butt_mm=950, state="set")

    answer = builder.get(f"{address}/height-estimate?yard={yard.id}").body

    assert (answer["free_logs"], answer["mean_middle_mm"]) == (2, 300)
    assert (answer["rounds"], answer["height_mm"]) == (4, 4 * 312)
    assert (answer["height_one_round_fewer_mm"], answer["height_one_round_more_mm"]) == (3 * 312, 5 * 312)
    # Four logs for each round and one to rip for the half logs of the high walls.
    assert (answer["logs_needed"], answer["logs_short"]) == (17, 15)
    assert answer["height_low_mm"] < 4 * 312 < answer["height_high_mm"]
    low, high = answer["wall_ends"]
    assert (low["start"], low["top_mm"], low["low_mm"]) == ("low", 4 * 312, answer["height_low_mm"])
    assert (high["start"], high["top_mm"]) == ("high", 4.5 * 312)


def test_the_height_is_estimated_from_the_logs_of_several_yards(builder, stranger):
    address = a_cabin(builder)
    crew = builder.who.crew
    first, second, theirs = a_yard(crew), a_yard(crew, name="South yard"), a_yard(stranger.who.crew)
    a_log(crew, yard=first, middle_mm=280)
    a_log(crew, yard=second, middle_mm=320)

    answer = builder.get(f"{address}/height-estimate?yard={first.id},{second.id}").body
    foreign = builder.get(f"{address}/height-estimate?yard={first.id},{theirs.id}")
    unread = builder.get(f"{address}/height-estimate?yard={first.id},north")

    assert (answer["free_logs"], answer["mean_middle_mm"]) == (2, 300)
    assert foreign.status_code == 404
    assert (unread.status_code, unread.body["errors"][0]["pointer"]) == (400, "?yard")
    assert "north" in unread.body["errors"][0]["detail"]


def test_an_estimate_needs_a_yard_of_ours_with_free_logs_and_a_layout(builder, stranger):
    address = a_cabin(builder)
    bare = f"cabins/{uuid4()}"
    builder.put(bare, {"name": "Bare"})
    empty, theirs = a_yard(builder.who.crew), a_yard(stranger.who.crew)

    assert builder.get(f"{address}/height-estimate").status_code == 400
    assert builder.get(f"{address}/height-estimate?yard=north").status_code == 400
    assert builder.get(f"{address}/height-estimate?yard={theirs.id}").status_code == 404
    nothing = builder.get(f"{address}/height-estimate?yard={empty.id}")
    assert (nothing.status_code, nothing.body["type"]) == (404, "/problems/no-free-logs")
    undrawn = builder.get(f"{bare}/height-estimate?yard={empty.id}")
    assert (undrawn.status_code, undrawn.body["type"]) == (404, "/problems/not-laid-out")


def test_thin_logs_with_a_deep_overlap_raise_no_wall(builder):
    scribed = {"smallest_mm": -160, "target_mm": -150, "largest_mm": -100}
    address = a_cabin(builder, layout=a_layout(gap=scribed, log_middle_mm=400))
    yard = a_yard(builder.who.crew)
    a_log(builder.who.crew, yard=yard, butt_mm=120, middle_mm=110, tip_mm=100)

    answer = builder.get(f"{address}/height-estimate?yard={yard.id}")

    assert (answer.status_code, answer.body["type"]) == (404, "/problems/logs-too-thin")


def test_strangers_find_no_cabin_of_ours(builder, stranger):
    address = a_cabin(builder)
    yard = a_yard(stranger.who.crew)

    assert stranger.get("cabins").body["items"] == []
    for part in ("", "/layout", "/layouts", "/places", f"/height-estimate?yard={yard.id}"):
        assert stranger.get(f"{address}{part}").status_code == 404
    assert stranger.put(address, {"name": "Mine"}).status_code == 404
    assert stranger.put(f"{address}/layout", RECTANGLE).status_code == 404
    assert stranger.post(f"{address}/layout/check", RECTANGLE).status_code == 404


def test_a_layout_names_members_beyond_its_walls(builder):
    address = f"cabins/{uuid4()}"
    builder.put(address, {"name": "Lake cabin"})
    purlins = {
        "id": "purlin",
        "kind": "purlin",
        "length_mm": "22 ft",
        "least_middle_mm": 220,
        "crown_limit_mm": "1 in",
        "count": 4,
    }
    ridge = {k: v for k, v in purlins.items() if k != "count"} | {"id": "ridge", "kind": "ridge"}

    answer = builder.put(f"{address}/layout", a_layout(members=[ridge, purlins]))
    odd = builder.post(f"{address}/layout/check", a_layout(members=[ridge, {**purlins, "id": "ridge"}])).body

    assert answer.status_code == 201
    assert answer.body["layout"]["members"] == [
        {**ridge, "length_mm": 6705.6, "crown_limit_mm": 25.4, "count": 1},
        {**purlins, "length_mm": 6705.6, "crown_limit_mm": 25.4},
    ]
    assert [(one["pointer"], one["code"]) for one in odd["faults"]] == [("/members/1/id", "duplicate_id")]


def test_a_layout_without_members_is_the_same_layout_as_before_there_were_any(builder):
    address = a_cabin(builder)
    stored = builder.get(f"{address}/layout").body["layout"]

    assert stored["members"] == []
    assert builder.put(f"{address}/layout", RECTANGLE).status_code == 200


def test_layouts_stored_before_walls_could_run_on_have_none_that_do(builder):
    address = a_cabin(builder)
    older = dict(Cabin.objects.get().layout)
    older["walls"] = [
        {key: value for key, value in wall.items() if not key.startswith("runs_on")}
        for wall in older["walls"]
    ]
    Cabin.objects.update(layout=older)
    PastLayout.objects.update(layout=older)

    with connection.cursor() as cursor:
        for operation in import_module("cabins.migrations.0013_run_ons").Migration.operations:
            cursor.execute(operation.sql)

    stored = builder.get(f"{address}/layout").body["layout"]
    assert not any(wall["runs_on_start"] or wall["runs_on_end"] for wall in stored["walls"])
    assert [wall["id"] for wall in stored["walls"]] == ["A", "B", "C", "D"]
    assert builder.get(f"{address}/layouts").body["items"][0]["layout"] == stored
    assert builder.put(f"{address}/layout", RECTANGLE).status_code == 200


def test_a_flat_lowers_the_walls_and_the_answer_says_where_they_end(builder):
    address = a_cabin(builder)

    flat = a_layout(
        sill_flat={"width_mm": "2 1/2 in"}, sealer_mm=6, high_start="raised_deck", deck_raise_mm=150
    )
    answer = builder.post(f"{address}/layout/check", flat).body

    # Four rounds of 300 and 12; the low walls' first log lies 3.4 into its flat and 6 up on the sealer.
    depth = 150 - (150**2 - 31.75**2) ** 0.5
    assert [(end["start"], end["top_mm"]) for end in answer["wall_ends"]] == [
        ("low", pytest.approx(4 * 312 - 12 - depth + 6, abs=0.005)),
        ("high", pytest.approx(4 * 312 + 150)),
    ]


def test_a_changed_opening_names_the_set_logs_that_it_would_cut(builder):
    window = {
        "id": "W1", "kind": "window", "wall": "A",
        "offset_mm": 2000, "width_mm": 900, "sill_mm": 640, "head_mm": 1100,
    }  # fmt: skip
    address = a_cabin(builder, layout=a_layout(openings=[window]))
    set_round(builder, address, 1)
    (log, *_) = set_round(builder, address, 2)

    same = builder.post(f"{address}/layout/check", a_layout(openings=[window])).body
    lower = builder.post(f"{address}/layout/check", a_layout(openings=[window | {"sill_mm": 560}])).body

    assert same["set_logs_cut"] == []
    (cut,) = lower["set_logs_cut"]
    assert (cut["opening"], cut["side"], cut["wall"], cut["round"]) == ("W1", "sill", "A", 2)
    assert cut["log_number"] == log.log.number and f"Log {log.log.number} is set already" in cut["words"]
    assert max(cut["depth_near_mm"], cut["depth_far_mm"]) > 50


def test_a_layout_that_leaves_parts_out_keeps_them_as_they_are(builder):
    ridge = {"id": "ridge", "kind": "ridge", "length_mm": 6700, "least_middle_mm": 220, "crown_limit_mm": 25}
    whole = a_layout(
        partitions=[a_partition(to={"wall": "C", "at_mm": 1800})],
        members=[ridge],
        roof_line={"ridge": "along", "slope": 0.5},
        sill_flat={"depth_mm": 30}, sealer_mm=4, half_logs=True, rip_kerf_mm=6, top="even",
        cut_share=0.6, run_wild_mm=20, least_piece_mm=450, rounds=5,
    )  # fmt: skip
    cabin = a_cabin(builder, layout=whole)
    before = builder.get(f"{cabin}/layout").body["layout"]

    least = {name: before[name] for name in REQUIRED}
    stored = builder.put(f"{cabin}/layout", {**least, "wall_height_mm": 2222}, version=1)

    assert stored.status_code == 200, stored.body
    assert stored.body["layout"] == {**before, "wall_height_mm": 2222}
    assert all(
        before[name] == whole[name] for name in ("rounds", "cut_share", "half_logs", "top", "sealer_mm")
    )
    assert set(OPTIONAL) <= set(before)
