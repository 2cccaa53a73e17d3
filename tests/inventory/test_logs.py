"""Logs: charted one by one, measured again, put aside, written off."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from uuid import UUID, uuid4

import pytest
from django.db import connections

from crews.api.problems import NotFound
from inventory.logs.models import LOG_MOVES, Log, LogState
from inventory.logs.moves import LogMoveRefused, move_log, move_logs, release_logs

NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


@pytest.fixture
def yard(lead):
    return lead.put(f"yards/{uuid4()}", {"name": "Lower yard"}).body["id"]


@pytest.fixture
def rack(lead, yard):
    return lead.put(f"racks/{uuid4()}", {"yard": yard, "name": "R1"}).body["id"]


def a_log(yard, number="A1", **what):
    """A sound log of this yard, as a body."""
    measures = {"length_mm": 6000, "butt_mm": 320, "middle_mm": 295, "tip_mm": 272}
    return {"yard": yard, "number": number, **measures, **what}


def charted(asker, yard, number="A1", **what):
    """A log that was charted: its row."""
    answer = asker.put(f"logs/{uuid4()}", a_log(yard, number, **what))
    assert answer.status_code == 201, answer.body
    return answer.body


OVAL = {"station": "middle", "first_mm": "11 5/8 in", "across_mm": "11 7/8 in"}


def test_a_second_reading_across_is_taken_its_mean_counts_and_the_difference_is_told(learner, yard):
    row = charted(learner, yard, middle_mm="11 5/8 in", read_across=[OVAL])
    again = learner.put(f"logs/{row['id']}", {**a_log(yard), "middle_mm": 298.45}, version=1)

    [read] = row["read_across"]
    assert (row["middle_mm"], read["difference_mm"]) == (298.45, 6.35)
    assert (read["first_mm"], read["across_mm"]) == (295.275, 301.625)
    assert (again.status_code, again.body["read_across"]) == (200, row["read_across"])
    [kept] = learner.get(f"logs/{row['id']}/measurements").body["items"]
    assert (kept["middle_mm"], kept["read_across"]) == (298.45, row["read_across"])


def test_a_diameter_taken_anew_lets_its_two_readings_go(learner, yard):
    row = charted(learner, yard, middle_mm="11 5/8 in", read_across=[OVAL])

    anew = learner.put(f"logs/{row['id']}", a_log(yard, middle_mm=297), version=1)
    odd = learner.patch(f"logs/{row['id']}", {"read_across": [OVAL]}, version=2)

    assert (anew.body["middle_mm"], anew.body["read_across"]) == (297, [])
    assert [(e["pointer"], e["code"]) for e in odd.body["errors"]] == [("/middle_mm", "not_the_mean")]
    assert "neither of its two readings" in odd.body["errors"][0]["detail"]


def put_in_state(row, state):
    Log.objects.filter(id=row["id"]).update(state=state)


def test_a_log_charted_twice_is_one_log(learner, yard, rack):
    address, body = f"logs/{uuid4()}", a_log(yard, rack=rack)

    made = learner.put(address, body)
    again = learner.put(address, body)

    assert (made.status_code, again.status_code) == (201, 200)
    assert again.body == made.body
    assert made.body["rack_name"] == "R1"
    assert made.body["state"] == "in_rack"
    assert len(learner.get(f"logs/{made.body['id']}/measurements").body["items"]) == 1


def test_a_log_changed_a_hundred_times_is_changed_once_more(learner, yard):
    row = charted(learner, yard)
    Log.objects.filter(id=row["id"]).update(version=123)

    answer = learner.patch(f"logs/{row['id']}", {"remarks": "Bark left."}, version=123)

    assert (answer.status_code, answer.headers["ETag"]) == (200, '"124"')


def test_trade_lengths_come_back_as_exact_millimetres(learner, yard):
    row = charted(
        learner,
        yard,
        length_mm="19' 4\"",
        butt_mm="12 1/2 in",
        middle_mm="11 5/8 in",
        tip_mm='10 31/32"',
        further_stations=[{"from_butt_mm": "1.5 m", "diameter_mm": "12 in"}],
        hazards=[{"kind": "metal", "from_butt_mm": "14' 2\"", "face": "left"}],
    )

    assert (row["length_mm"], row["middle_mm"], row["tip_mm"]) == (5892.8, 295.275, 278.60625)
    assert row["further_stations"] == [{"from_butt_mm": 1500, "diameter_mm": 304.8}]
    assert row["hazards"] == [{"kind": "metal", "from_butt_mm": 4318, "face": "left", "extent_mm": None}]


@pytest.mark.parametrize(
    ("what", "pointer", "code"),
    [
        ({"length_mm": 60}, "/length_mm", "length_out_of_reason"),
        ({"butt_mm": 260}, "/butt_mm", "butt_thinner_than_tip"),
        ({"middle_mm": 420}, "/middle_mm", "middle_outside_ends"),
        ({"middle_mm": -4}, "/middle_mm", "too_small"),
        ({"middle_mm": 1e9}, "/middle_mm", "too_large"),
        ({"middle_mm": True}, "/middle_mm", "not_a_length"),
        ({"middle_mm": "11 5/8"}, "/middle_mm", "unreadable_length"),
        ({"middle_mm": "295"}, "/middle_mm", "unreadable_length"),
        ({"crown_mm": 900}, "/crown_mm", "bow_out_of_reason"),
        ({"grain_slope": 0.5}, "/grain_slope", "grain_out_of_reason"),
        ({"sawn_face_height_mm": 200}, "/sawn_thickness_mm", "faces_incomplete"),
        ({"hazards": [{"kind": "metal", "from_butt_mm": 6500}]}, "/hazards", "hazard_outside_log"),
        ({"hazards": [{"kind": "ghost", "from_butt_mm": 65}]}, "/hazards/0/kind", "invalid_choice"),
        ({"hazards": [{"kind": "knot"}]}, "/hazards/0/from_butt_mm", "invalid"),
        (
            {"further_stations": [{"from_butt_mm": 9000, "diameter_mm": 300}]},
            "/further_stations",
            "station_outside_log",
        ),
        ({"number": "A1\nA2"}, "/number", "several_lines"),
        ({"number": " "}, "/number", "blank"),
        ({"rack": str(uuid4())}, "/rack", "unknown"),
        ({"species": str(uuid4())}, "/species", "unknown"),
        ({"yard": str(uuid4())}, "/yard", "unknown"),
        ({"colour": "red"}, "/colour", "invalid"),
    ],
)
def test_a_log_that_cannot_be_is_refused_with_the_place_of_the_fault(learner, yard, what, pointer, code):
    answer = learner.put(f"logs/{uuid4()}", {**a_log(yard), **what})

    assert answer.status_code == 422
    assert [(e["pointer"], e["code"]) for e in answer.body["errors"]] == [(pointer, code)]
    assert learner.get("logs").body["items"] == []


def test_every_fault_comes_at_once(learner, yard):
    answer = learner.put(f"logs/{uuid4()}", a_log(yard, rack=str(uuid4()), butt_mm=200, crown_mm=800))

    assert [e["pointer"] for e in answer.body["errors"]] == ["/rack", "/butt_mm", "/crown_mm"]


def test_a_doubtful_log_waits_until_someone_looked_again(learner, yard):
    address, body = f"logs/{uuid4()}", a_log(yard, middle_mm=330)

    asked = learner.put(address, body)
    stored = learner.put(address, {**body, "confirm_doubtful": True})
    repeat = learner.put(address, body)

    assert asked.status_code == 409
    assert asked.body["type"] == "/problems/doubts-unconfirmed"
    assert [(e["pointer"], e["code"]) for e in asked.body["errors"]] == [("/middle_mm", "middle_over_butt")]
    assert (stored.status_code, repeat.status_code) == (201, 200)


def test_a_number_is_used_once_in_its_yard_whatever_its_capitals(lead, yard):
    charted(lead, yard, "A1")
    upper = lead.put(f"yards/{uuid4()}", {"name": "Upper yard"}).body["id"]

    for number in ("A1", "a1"):
        answer = lead.put(f"logs/{uuid4()}", a_log(yard, number))
        assert answer.status_code == 409
        assert answer.body["type"] == "/problems/log-number-taken"
    assert charted(lead, upper, "A1")["yard"] == upper


def test_a_new_measure_keeps_the_earlier_one(lead, learner, yard):
    row = charted(lead, yard, charted_by="Odda")

    answer = learner.patch(f"logs/{row['id']}", {"middle_mm": 299, "charted_by": "Wren"}, version=1)

    kept = lead.get(f"logs/{row['id']}/measurements").body["items"]
    assert answer.body["measures_version"] == 2
    assert [(m["measures_version"], m["middle_mm"], m["charted_by"]) for m in kept] == [
        (1, 295, "Odda"),
        (2, 299, "Wren"),
    ]
    assert [m["recorded_by_name"] for m in kept] == ["Odda", "Wren"]


def test_a_new_hazard_is_a_new_measurement_but_remarks_rack_and_bark_are_not(learner, yard, rack):
    row = charted(learner, yard)
    address = f"logs/{row['id']}"

    as_it_dries = {"seasoning": "partly_dry", "felled_on": "2026-02-10"}
    learner.patch(address, {"remarks": "wavy", "rack": rack, "peeled": False, **as_it_dries}, version=1)
    before = learner.get(address).body
    learner.patch(address, {"hazards": [{"kind": "metal", "from_butt_mm": 900}]}, version=2)
    after = learner.get(address).body

    assert (before["measures_version"], before["version"], before["peeled"]) == (1, 2, False)
    assert (before["seasoning"], before["felled_on"]) == ("partly_dry", "2026-02-10")
    assert (after["measures_version"], after["version"]) == (2, 3)
    assert after["hazards"][0] == {"kind": "metal", "from_butt_mm": 900, "face": None, "extent_mm": None}


def test_a_change_names_the_version_it_changes(learner, yard):
    row = charted(learner, yard)
    address, changed = f"logs/{row['id']}", a_log(yard, middle_mm=300)

    answers = [
        learner.put(address, changed),
        learner.put(address, changed, version=7),
        learner.patch(address, {"middle_mm": 300}),
        learner.patch(address, {"middle_mm": 300}, version=7),
        learner.put(address, changed, version=1),
        learner.put(address, changed, version=1),
        learner.patch(address, {"middle_mm": 300}),
    ]

    assert [a.status_code for a in answers] == [428, 412, 428, 412, 200, 200, 200]
    assert answers[1].body["current"]["middle_mm"] == 295
    assert answers[-1].headers["ETag"] == '"2"'


def test_a_part_of_a_log_is_checked_against_the_rest_of_it(learner, yard):
    row = charted(learner, yard, hazards=[{"kind": "knot", "from_butt_mm": 5500}])

    answer = learner.patch(f"logs/{row['id']}", {"length_mm": 5000}, version=1)
    part = learner.patch(f"logs/{row['id']}", {"hazards": [{"kind": "knot"}]}, version=1)

    assert answer.status_code == 422
    assert [e["code"] for e in answer.body["errors"]] == ["hazard_outside_log"]
    assert [e["pointer"] for e in part.body["errors"]] == ["/hazards/0/from_butt_mm"]


def test_a_log_moves_to_another_yard_only_with_a_rack_of_that_yard(lead, yard, rack):
    row = charted(lead, yard, rack=rack)
    upper = lead.put(f"yards/{uuid4()}", {"name": "Upper yard"}).body["id"]

    kept = lead.patch(f"logs/{row['id']}", {"yard": upper}, version=1)
    moved = lead.patch(f"logs/{row['id']}", {"yard": upper, "rack": None}, version=1)

    assert [e["pointer"] for e in kept.body["errors"]] == ["/rack"]
    assert (moved.body["yard"], moved.body["rack"]) == (upper, None)


def test_a_cull_is_put_aside_with_a_reason_and_comes_back(learner, yard, rack):
    row = charted(learner, yard)
    address = f"logs/{row['id']}"

    aside = learner.post(f"{address}/put-aside", {"reason": "soft tip"})
    again = learner.post(f"{address}/put-aside", {"reason": "soft tip"})
    back = learner.post(f"{address}/return-to-rack", {"rack": rack})
    back_again = learner.post(f"{address}/return-to-rack", {"rack": rack})

    assert (aside.body["state"], aside.body["culled"], aside.body["cull_reason"]) == (
        "put_aside", True, "soft tip",
    )  # fmt: skip
    assert again.body == aside.body
    assert (back.body["state"], back.body["culled"], back.body["cull_reason"]) == ("in_rack", False, "")
    assert back.body["rack"] == rack
    assert back_again.body == back.body


def test_a_log_charted_as_a_cull_lies_aside_and_a_change_brings_it_back(learner, yard):
    row = charted(learner, yard, culled=True, cull_reason="hollow")

    asked = learner.put(f"logs/{row['id']}", a_log(yard, culled=False), version=1)
    back = learner.put(f"logs/{row['id']}", a_log(yard, culled=False, confirm_doubtful=True), version=1)

    assert row["state"] == "put_aside"
    assert [e["code"] for e in asked.body["errors"]] == ["cull_undone"]
    assert (back.body["state"], back.body["cull_reason"]) == ("in_rack", "")


def test_a_log_written_off_is_gone_until_it_is_found_again(builder, yard):
    row = charted(builder, yard)

    gone = builder.post(f"logs/{row['id']}/write-off", {"reason": "sold"})
    again = builder.post(f"logs/{row['id']}/write-off", {"reason": "sold"})
    found = builder.post(f"logs/{row['id']}/return-to-rack", {})

    assert (gone.body["state"], gone.body["gone_reason"]) == ("gone", "sold")
    assert again.body["version"] == gone.body["version"]
    assert (found.body["state"], found.body["gone_reason"]) == ("in_rack", "")


@pytest.mark.parametrize("state", ["reserved", "set", "cut_up"])
def test_a_log_in_use_is_neither_put_aside_nor_brought_back(builder, yard, state):
    row = charted(builder, yard)
    put_in_state(row, state)

    for verb, body in (("put-aside", {"reason": "x"}), ("return-to-rack", {})):
        answer = builder.post(f"logs/{row['id']}/{verb}", body)
        assert answer.status_code == 409
        assert answer.body["type"] == "/problems/log-in-use"
    if state != "cut_up":
        assert builder.post(f"logs/{row['id']}/write-off", {"reason": "x"}).status_code == 409
    else:
        assert builder.post(f"logs/{row['id']}/write-off", {"reason": "x"}).body["state"] == "gone"


def test_a_verb_without_a_reason_or_with_a_rack_elsewhere_is_refused(builder, yard):
    row = charted(builder, yard)

    assert builder.post(f"logs/{row['id']}/put-aside", {}).status_code == 422
    assert builder.post(f"logs/{row['id']}/write-off", {"reason": " "}).status_code == 422
    elsewhere = builder.post(f"logs/{row['id']}/return-to-rack", {"rack": str(uuid4())})
    assert [e["pointer"] for e in elsewhere.body["errors"]] == ["/rack"]


def test_a_learner_writes_nothing_off(learner, yard):
    row = charted(learner, yard)

    assert learner.post(f"logs/{row['id']}/write-off", {"reason": "sold"}).status_code == 403


@pytest.mark.parametrize("state", ["set", "cut_up", "gone"])
def test_the_measures_of_a_log_no_longer_lying_are_changed_only_knowingly(learner, yard, state):
    row = charted(learner, yard)
    put_in_state(row, state)

    asked = learner.patch(f"logs/{row['id']}", {"middle_mm": 300}, version=1)
    done = learner.patch(f"logs/{row['id']}", {"middle_mm": 300, "confirm_doubtful": True}, version=1)

    assert [e["code"] for e in asked.body["errors"]] == [f"log_{state}"]
    assert (done.body["middle_mm"], done.body["state"]) == (300, state)


def test_a_reserved_log_found_to_be_a_cull_stays_reserved(learner, yard):
    row = charted(learner, yard)
    put_in_state(row, "reserved")

    asked = learner.patch(f"logs/{row['id']}", {"culled": True}, version=1)
    done = learner.patch(f"logs/{row['id']}", {"culled": True, "confirm_doubtful": True}, version=1)

    assert [e["code"] for e in asked.body["errors"]] == ["log_reserved"]
    assert (done.body["culled"], done.body["state"]) == (True, "reserved")


def test_logs_are_listed_as_people_count(learner, yard):
    for number in ("A10", "a2", "B1", "A2b", "7"):
        charted(learner, yard, number)

    up = learner.get("logs").body["items"]
    down = learner.get("logs?order=-number").body["items"]

    assert [log["number"] for log in up] == ["7", "a2", "A2b", "A10", "B1"]
    assert [log["number"] for log in down] == ["B1", "A10", "A2b", "a2", "7"]


def test_a_list_of_logs_goes_on_from_its_cursor_in_every_order(learner, yard):
    for n in range(5):
        charted(learner, yard, f"A{n + 8}", middle_mm=290 + n, length_mm=6000 - n * 100)

    for order in ("number", "-number", "middle", "-middle", "length", "-length", "created_at"):
        page = learner.get(f"logs?order={order}&limit=2").body
        seen = [log["number"] for log in page["items"]]
        while page["next"]:
            page = learner.get(f"logs?order={order}&limit=2&after={page['next']}").body
            seen += [log["number"] for log in page["items"]]
        assert sorted(seen) == sorted(f"A{n + 8}" for n in range(5))
        whole = learner.get(f"logs?order={order}").body["items"]
        assert seen == [log["number"] for log in whole]


def test_a_list_of_logs_is_narrowed_by_what_a_lead_looks_for(lead, yard, rack):
    species = lead.get("species").body["items"][0]["id"]
    charted(lead, yard, "A1", rack=rack, species=species, length_mm=7000)
    charted(lead, yard, "A2", middle_mm=310, hazards=[{"kind": "knot", "from_butt_mm": 900}])
    charted(lead, yard, "A3", culled=True, seasoning="partly_dry", felled_on="2026-01-09")
    put_in_state(charted(lead, yard, "A4"), "reserved")

    def numbers(query):
        return [log["number"] for log in lead.get(f"logs?{query}").body["items"]]

    assert numbers(f"yard={yard}") == ["A1", "A2", "A3", "A4"]
    assert numbers(f"yard={uuid4()}") == []
    assert numbers(f"rack={rack}") == ["A1"]
    assert numbers(f"species={species}") == ["A1"]
    assert numbers("length_at_least=22' 0\"") == ["A1"]
    assert numbers("middle_at_least=300") == ["A2"]
    assert numbers("middle_at_most=300mm") == ["A1", "A3", "A4"]
    assert numbers("with_hazard=true") == ["A2"]
    assert numbers("with_hazard=false") == ["A1", "A3", "A4"]
    assert numbers("culled=true") == ["A3"]
    assert numbers("seasoning=partly_dry") == ["A3"]
    assert numbers("seasoning=dry") == []
    assert numbers("seasoning=unknown") == ["A1", "A2", "A4"]
    assert numbers("free=true") == ["A1", "A2", "A3"]
    assert numbers("free=false") == ["A4"]
    assert numbers("state=reserved,put_aside") == ["A3", "A4"]


def test_a_log_is_found_by_the_mills_tag(lead, yard):
    charted(lead, yard, "A1", mill_tag="Q  500")
    charted(lead, yard, "A2", mill_tag="Q 5001")
    charted(lead, yard, "A3")

    def numbers(tag):
        return [log["number"] for log in lead.get(f"logs?mill_tag={tag}").body["items"]]

    assert numbers("q 500") == ["A1"]
    assert numbers("500") == []


def test_what_nobody_looked_at_is_unknown_until_someone_did(lead, yard):
    row = charted(lead, yard)
    address = f"logs/{row['id']}"

    before = lead.get(f"{address}/figures").body
    piece = lead.get(f"{address}/piece?from_butt_mm=500&length_mm=3000").body
    drawing = lead.get(f"{address}/drawing").content.decode()
    looked = lead.patch(address, {"crown_mm": 0, "grain_hand": "straight"}, version=row["version"]).body

    assert (row["crown_mm"], row["grain_hand"]) == (None, None)
    assert (before["crown"]["crown_mm"], before["crown"]["half_length_mm"]) == (None, None)
    assert before["written"]["crown"] == "not looked at"
    assert "Nobody looked" in before["crown"]["cautions"][0]
    assert piece["crown_mm"] is None
    assert "crown unknown" in drawing
    assert (looked["crown_mm"], looked["grain_hand"]) == (0, "straight")
    assert looked["measures_version"] == row["measures_version"] + 1
    assert lead.get(f"{address}/figures").body["crown"]["crown_mm"] == 0


@pytest.mark.parametrize(
    "query",
    [
        "state=lost",
        "state=in_rack,lost",
        "seasoning=wet",
        "yard=here",
        "middle_at_least=thick",
        "colour=red",
        "order=age",
    ],
)
def test_a_filter_that_says_nothing_is_refused(learner, query):
    answer = learner.get(f"logs?{query}")

    assert answer.status_code == 400
    assert answer.body["errors"][0]["pointer"] == f"?{query.split('=')[0]}"


def test_strangers_find_no_log_of_ours(lead, stranger, yard):
    row = charted(lead, yard)
    own = stranger.put(f"yards/{uuid4()}", {"name": "Far yard"}).body["id"]
    address = f"logs/{row['id']}"

    answers = [
        stranger.get(address),
        stranger.get(f"{address}/measurements"),
        stranger.put(address, a_log(own)),
        stranger.patch(address, {"remarks": "mine"}, version=1),
        stranger.post(f"{address}/put-aside", {"reason": "x"}),
        stranger.post(f"{address}/return-to-rack", {}),
        stranger.post(f"{address}/write-off", {"reason": "x"}),
    ]

    assert {a.status_code for a in answers} == {404}
    assert stranger.get("logs").body["items"] == []
    assert [e["pointer"] for e in stranger.put(f"logs/{uuid4()}", a_log(yard)).body["errors"]] == ["/yard"]


@pytest.mark.parametrize("start", LogState.values)
def test_a_log_moves_only_as_the_table_says(lead, yard, start):
    row = charted(lead, yard)

    for to in LogState.values:
        put_in_state(row, start)
        log = Log.objects.get(id=row["id"])
        if to == start or to in LOG_MOVES[start]:
            moved = move_log(log, to=to, at=NOON)
            assert (moved.state, Log.objects.get(id=log.id).state) == (to, to)
            assert moved.version == log.version + (to != start)
        else:
            with pytest.raises(LogMoveRefused, match="Log A1 is"):
                move_log(log, to=to, at=NOON)


def test_logs_move_all_or_none(lead, stranger, yard):
    rows = [charted(lead, yard, f"A{n}") for n in range(3)]
    put_in_state(rows[2], "gone")
    ids = [UUID(row["id"]) for row in rows]

    with pytest.raises(LogMoveRefused):
        move_logs(crew=lead.who.crew, ids=ids, to=LogState.RESERVED, at=NOON)
    with pytest.raises(NotFound):
        move_logs(crew=stranger.who.crew, ids=ids[:2], to=LogState.RESERVED, at=NOON)

    assert set(Log.objects.filter(id__in=ids[:2]).values_list("state", flat=True)) == {"in_rack"}
    moved = move_logs(crew=lead.who.crew, ids=ids[:2], to=LogState.RESERVED, at=NOON)
    assert {log.state for log in moved} == {"reserved"}


def test_logs_given_up_lie_where_they_lay(lead, yard):
    sound, cull = charted(lead, yard, "A1"), charted(lead, yard, "A2", culled=True)
    ids = [UUID(sound["id"]), UUID(cull["id"])]
    move_logs(crew=lead.who.crew, ids=ids, to=LogState.SET, at=NOON)

    release_logs(crew=lead.who.crew, ids=ids, at=NOON)

    assert lead.get(f"logs/{sound['id']}").body["state"] == "in_rack"
    assert lead.get(f"logs/{cull['id']}").body["state"] == "put_aside"


@pytest.mark.django_db(transaction=True)
def test_the_same_number_charted_twice_at_once_is_one_log(lead, yard):
    def chart(_):
        try:
            return lead.put(f"logs/{uuid4()}", a_log(yard)).status_code
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as phones:
        codes = sorted(phones.map(chart, range(4)))

    assert codes == [201, 409, 409, 409]
    assert Log.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_the_same_request_sent_twice_at_once_is_one_log(lead, yard):
    address = f"logs/{uuid4()}"

    def chart(_):
        try:
            return lead.put(address, a_log(yard)).status_code
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as phones:
        codes = sorted(phones.map(chart, range(4)))

    assert codes == [200, 200, 200, 201]
    assert len(lead.get(f"{address}/measurements").body["items"]) == 1


def test_logs_are_found_by_number_by_words_and_by_ids(learner, stranger, yard):
    rows = [charted(learner, yard, number=number) for number in ("A1", "A12", "B 7")]
    learner.patch(f"logs/{rows[2]['id']}", {"remarks": "Bark left at A1."}, version=1)

    def numbers(query):
        return [row["number"] for row in learner.get(f"logs?{query}").body["items"]]

    assert numbers("number=a1") == ["A1"]
    assert numbers("number=b%20%207") == ["B 7"]
    assert numbers("q=a1") == ["A1", "A12", "B 7"]
    assert numbers("q=bark") == ["B 7"]
    assert numbers(f"ids={rows[0]['id']},{rows[2]['id']}") == ["A1", "B 7"]
    assert stranger.get(f"logs?ids={rows[0]['id']}").body["items"] == []
    refused = learner.get("logs?ids=A1")
    assert (refused.status_code, refused.body["errors"][0]["pointer"]) == (400, "?ids")
