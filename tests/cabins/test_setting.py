"""A log is set in its place: it fits, the place is filled once, metal is kept from saws, the log moves on."""

from contextlib import nullcontext
from datetime import timedelta
from decimal import Decimal
from threading import Barrier, Thread
from uuid import uuid4

import pytest
from django.db import connection, transaction

from cabins.cabins.models import Cabin
from cabins.layouts.actions import SetLogsInTheWay
from cabins.set_logs.actions import LogGone, MetalNearCut, PlaceFilled, SetLogStands
from cabins.set_logs.models import SetLog
from crews.api.problems import InvalidInput, NotFound, Refusal, refusal_of
from crews.api.versions import Expected, VersionNeeded, VersionStale
from inventory.logs.checks import DoubtsUnconfirmed
from inventory.logs.models import Log, LogState
from tests.cabins.building import (
    DOOR,
    EVENING,
    NOON,
    a_cabin,
    a_layout,
    a_log,
    id_of,
    record_set,
    set_round,
    undo,
)

METAL = {"kind": "metal", "face": "top", "extent_mm": None}
KNOT = {"kind": "knot", "face": None, "extent_mm": 80}


def codes(row):
    return [warned["code"] for warned in row.warnings]


def faults(caught):
    return {(one["pointer"], one["code"]) for one in caught.value.errors}


def test_a_log_set_fills_its_place_and_is_no_longer_in_the_rack(builder):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)

    row, created = record_set(builder, cabin, log)

    log.refresh_from_db()
    assert created
    assert row.warnings == []
    assert row.set_by == builder.who.member
    assert log.state == "set"
    place = builder.get(f"{cabin}/places?wall=A&round=1").body["items"][0]
    assert (place["log"], place["log_number"], place["set_log"]) == (str(log.id), log.number, str(row.id))
    assert builder.get(cabin).body["built_version"] == 1
    assert builder.get(f"{cabin}/places?open=true&wall=A&round=1").body["items"] == []


def test_the_same_log_recorded_again_is_a_repeat(builder):
    cabin, log, id = a_cabin(builder), a_log(builder.who.crew), uuid4()

    record_set(builder, cabin, log, id=id)
    row, created = record_set(builder, cabin, log, id=id)

    assert not created
    assert (row.version, Cabin.objects.get(id=id_of(cabin)).built_version) == (1, 1)


def test_what_was_set_where_is_not_changed_but_undone(builder):
    cabin, log, id = a_cabin(builder), a_log(builder.who.crew), uuid4()
    record_set(builder, cabin, log, id=id)

    with pytest.raises(SetLogStands) as caught:
        record_set(builder, cabin, log, id=id, wall="C", butt_at="end", expected=Expected.only(1))

    assert faults(caught) == {("/wall", "stands"), ("/butt_at", "stands")}


def test_who_checked_it_and_how_it_was_cut_is_written_down_later_under_its_version(builder, lead):
    cabin, log, id = a_cabin(builder), a_log(builder.who.crew), uuid4()
    later = {"checked_by": lead.who.member.id, "gap_mm": Decimal(40)}
    record_set(builder, cabin, log, id=id)

    with pytest.raises(VersionNeeded):
        record_set(builder, cabin, log, id=id, **later)
    with pytest.raises(VersionStale):
        record_set(builder, cabin, log, id=id, expected=Expected.only(4), **later)
    row, created = record_set(builder, cabin, log, id=id, expected=Expected.only(1), **later)

    assert not created
    assert (row.version, row.checked_by) == (2, lead.who.member)
    assert codes(row) == ["gap_out_of_band"]


def test_ids_that_are_not_ours_are_faults_all_at_once(builder, stranger):
    cabin, theirs = a_cabin(builder), a_log(stranger.who.crew)

    with pytest.raises(InvalidInput) as caught:
        record_set(
            builder,
            a_cabin(stranger),
            theirs,
            set_by=stranger.who.member.id,
            checked_by=stranger.who.member.id,
        )

    unknown = {("/cabin", "unknown"), ("/log", "unknown"), ("/set_by", "unknown"), ("/checked_by", "unknown")}
    assert faults(caught) == unknown
    row, _ = record_set(builder, cabin, a_log(builder.who.crew))
    with pytest.raises(NotFound):
        record_set(stranger, a_cabin(stranger, name="Mine"), theirs, id=row.id)
    with pytest.raises(NotFound):
        undo(stranger, row)


@pytest.mark.parametrize(
    ("place", "pointer"),
    [
        ({"wall": "Z"}, "/wall"),
        ({"wall": "A", "round": 9}, "/round"),
        ({"wall": "A", "round": 1, "piece": 1}, "/piece"),
    ],
)
def test_a_place_that_the_layout_does_not_have_is_a_fault(builder, place, pointer):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)

    with pytest.raises(InvalidInput) as caught:
        record_set(builder, cabin, log, **place)

    assert faults(caught) == {(pointer, "unknown")}


@pytest.mark.parametrize("from_butt", [0, Decimal("24.5"), 176, 200])
def test_a_log_short_of_its_trim_is_set_once_that_is_confirmed(builder, from_butt):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)

    with pytest.raises(DoubtsUnconfirmed) as caught:
        record_set(builder, cabin, log, from_butt_mm=Decimal(from_butt))
    stored = SetLog.objects.exists()
    row, created = record_set(builder, cabin, log, from_butt_mm=Decimal(from_butt), confirm_doubtful=True)

    assert faults(caught) == {("/from_butt_mm", "short_of_trim")}
    assert (stored, created) == (False, True)
    assert codes(row) == ["short_of_trim"]


@pytest.mark.parametrize("from_butt", [Decimal("200.1"), 1000])
def test_wood_that_the_log_does_not_have_is_never_set(builder, from_butt):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)

    with pytest.raises(InvalidInput) as caught:
        record_set(builder, cabin, log, from_butt_mm=Decimal(from_butt), confirm_doubtful=True)

    assert faults(caught) == {("/from_butt_mm", "outside_log")}
    assert not SetLog.objects.exists()


@pytest.mark.parametrize("from_butt", [25, 175])
def test_a_piece_may_take_all_but_the_trim(builder, from_butt):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)

    _, created = record_set(builder, cabin, log, from_butt_mm=Decimal(from_butt))

    assert created


def test_two_pieces_of_one_log_lie_a_cut_and_two_trims_apart_unless_confirmed(builder):
    cabin = a_cabin(builder, layout=a_layout(openings=[DOOR]))
    log = a_log(builder.who.crew)
    record_set(builder, cabin, log, piece=0, from_butt_mm=Decimal(25))  # to 2425

    with pytest.raises(DoubtsUnconfirmed) as caught:
        record_set(builder, cabin, log, piece=1, from_butt_mm=Decimal(2479))
    with pytest.raises(InvalidInput) as overlapping:
        record_set(builder, cabin, log, piece=1, from_butt_mm=Decimal(2424), confirm_doubtful=True)
    row, _ = record_set(builder, cabin, log, piece=1, from_butt_mm=Decimal(2480))

    assert faults(caught) == {("/from_butt_mm", "close_to_piece")}
    assert faults(overlapping) == {("/from_butt_mm", "overlaps_piece")}
    assert codes(row) == []


def test_a_log_is_cut_up_while_a_piece_of_it_is_left_and_set_when_none_is(builder):
    cabin = a_cabin(builder, layout=a_layout(openings=[DOOR]))
    log = a_log(builder.who.crew)

    record_set(builder, cabin, log, piece=0, from_butt_mm=Decimal(25))
    log.refresh_from_db()
    left = builder.get(f"logs/{log.id}/pieces").body
    record_set(builder, cabin, log, piece=1, from_butt_mm=Decimal(3300))  # to 5800
    after = builder.get(f"logs/{log.id}/pieces").body

    assert log.state == "cut_up"
    assert [(s["near_butt_mm"], s["near_tip_mm"], s["length_mm"]) for s in left["left"]] == [
        (2480, 5975, 3495)
    ]
    assert [(s["near_butt_mm"], s["near_tip_mm"]) for s in after["left"]] == [(2480, 3245)]
    assert [(p["piece"], p["near_butt_mm"]) for p in after["pieces"]] == [(0, 25), (1, 3300)]
    assert after["state"] == "cut_up"


def test_a_log_of_two_pieces_with_nothing_left_is_set(builder):
    cabin = a_cabin(builder, layout=a_layout(openings=[DOOR]))
    log = a_log(builder.who.crew)

    record_set(builder, cabin, log, piece=0, from_butt_mm=Decimal(500))
    record_set(builder, cabin, log, piece=1, from_butt_mm=Decimal(3475))

    log.refresh_from_db()
    assert log.state == "set"
    assert builder.get(f"logs/{log.id}/pieces").body["left"] == []


def test_a_log_is_cut_into_three_pieces_at_most_unless_confirmed(builder):
    openings = [
        {**DOOR, "id": str(at), "wall": wall, "offset_mm": at, "width_mm": 600}
        for wall in "AC"
        for at in (500, 1700)
    ]
    openings = [{**o, "id": f"{o['wall']}{o['id']}"} for o in openings]
    cabin = a_cabin(builder, layout=a_layout(openings=openings))
    log = a_log(builder.who.crew, length_mm=12000)
    for wall, piece, at in (("A", 0, 100), ("A", 1, 2000), ("C", 0, 4000)):
        record_set(builder, cabin, log, wall=wall, piece=piece, from_butt_mm=Decimal(at))

    with pytest.raises(DoubtsUnconfirmed) as caught:
        record_set(builder, cabin, log, wall="C", piece=1, from_butt_mm=Decimal(6000))
    fourth, _ = record_set(
        builder, cabin, log, wall="C", piece=1, from_butt_mm=Decimal(6000), confirm_doubtful=True
    )

    assert faults(caught) == {("/from_butt_mm", "too_many_pieces")}
    assert codes(fourth) == ["too_many_pieces"]
    log.refresh_from_db()
    assert log.state == "set"


def test_a_filled_place_takes_no_second_log(builder):
    cabin, first, second = a_cabin(builder), a_log(builder.who.crew), a_log(builder.who.crew)
    record_set(builder, cabin, first)

    with pytest.raises(PlaceFilled) as caught:
        record_set(builder, cabin, second, confirm_doubtful=True)

    assert first.number in caught.value.detail
    second.refresh_from_db()
    assert second.state == "in_rack"


def test_the_database_itself_fills_a_place_once(builder):
    cabin, second = a_cabin(builder), a_log(builder.who.crew)
    row, _ = record_set(builder, cabin, a_log(builder.who.crew))
    row.id, row.log = uuid4(), second
    with pytest.raises(Exception, match="place_filled_once") as caught, transaction.atomic():
        row.save(force_insert=True)

    assert isinstance(refusal_of(caught.value), PlaceFilled)


def test_who_takes_back_a_log_under_others_is_told_which_lie_over_it(builder):
    cabin = a_cabin(builder)
    low, high, _, _ = set_round(builder, cabin, 1)
    top = set_round(builder, cabin, 2)[0]

    free = undo(builder, top)
    under = undo(builder, low)
    notched = undo(builder, high)

    assert codes(free) == ["under_others"], "walls B and D of round 2 are notched over it"
    [told] = [one["detail"] for one in under.warnings]
    for where in ("wall B, round 1", "wall D, round 1", "wall B, round 2"):
        assert where in told
    assert "wall C" not in told
    assert "wall A, round 2" not in told, "undone before"
    assert "wall C, round 2" in notched.warnings[0]["detail"]
    assert "wall C, round 1" not in notched.warnings[0]["detail"], "the high wall lies over it"


def test_who_takes_back_the_topmost_log_is_not_warned(builder):
    cabin = a_cabin(builder)
    rows = set_round(builder, cabin, 1)

    assert codes(undo(builder, rows[3])) == []


def test_a_log_that_is_gone_is_not_set(builder):
    cabin, log = a_cabin(builder), a_log(builder.who.crew, state="gone")

    with pytest.raises(LogGone):
        record_set(builder, cabin, log)


def test_a_log_is_not_set_tomorrow(builder):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)

    with pytest.raises(InvalidInput) as caught:
        record_set(builder, cabin, log, set_at=EVENING + timedelta(days=1))

    assert faults(caught) == {("/set_at", "future")}


@pytest.mark.parametrize(("minutes_ahead", "is_taken"), [(9, True), (11, False), (180, False)])
def test_a_phones_clock_may_be_some_minutes_ahead_and_no_more(builder, minutes_ahead, is_taken):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)

    with nullcontext() if is_taken else pytest.raises(InvalidInput):
        record_set(builder, cabin, log, set_at=EVENING + timedelta(minutes=minutes_ahead))


# The piece runs from 60 to 5860 mm; its corners lie at 460 and 5460 mm from the butt.
@pytest.mark.parametrize(
    ("at", "extent"), [(20, None), (359, None), (740, None), (5200, None), (5700, None), (1000, 4300)]
)
def test_metal_near_a_cut_or_notch_is_refused_by_default(builder, at, extent):
    cabin = a_cabin(builder)
    log = a_log(builder.who.crew, hazards=[{**METAL, "from_butt_mm": at, "extent_mm": extent}])

    with pytest.raises(MetalNearCut) as caught:
        record_set(builder, cabin, log)

    assert faults(caught) == {("/from_butt_mm", "metal_near_cut")}
    log.refresh_from_db()
    assert log.state == "in_rack"


@pytest.mark.parametrize("at", [770, 3000, 5150])
def test_metal_far_from_every_cut_is_set_with_a_warning_and_shown(builder, at):
    cabin = a_cabin(builder)
    log = a_log(builder.who.crew, hazards=[{**METAL, "from_butt_mm": at}])

    row, _ = record_set(builder, cabin, log)

    assert codes(row) == ["metal_in_piece"]
    shown = builder.get("set-logs").body["items"][0]
    assert shown["log_hazards"] == [{**METAL, "from_butt_mm": at}]


def test_metal_that_was_taken_out_is_stated_and_stays_on_record(builder):
    cabin = a_cabin(builder)
    log = a_log(builder.who.crew, hazards=[{**METAL, "from_butt_mm": 500}])

    row, _ = record_set(builder, cabin, log, metal_removed=True)

    assert row.metal_removed
    assert codes(row) == ["metal_removed"]


def test_turning_the_log_moves_the_metal_away_from_the_notch(builder):
    """The piece runs from 60 to 2460 mm, its corner 400 mm from the end that lies at the wall's start."""
    cabin = a_cabin(builder, layout=a_layout(openings=[DOOR]))
    log = a_log(builder.who.crew, hazards=[{**METAL, "from_butt_mm": 1900}])

    with pytest.raises(MetalNearCut):
        record_set(builder, cabin, log, butt_at="end")  # the corner lies 2060 mm from the butt
    _, created = record_set(builder, cabin, log, butt_at="start")  # now 460 mm

    assert created


def test_a_knot_near_a_notch_a_cull_and_an_open_place_below_are_warnings(builder):
    cabin = a_cabin(builder)
    log = a_log(
        builder.who.crew,
        hazards=[{**KNOT, "from_butt_mm": 500}, {**KNOT, "from_butt_mm": 3000}],
        culled=True,
        cull_reason="crooked",
        state="put_aside",
    )

    row, _ = record_set(builder, cabin, log, round=2)

    assert codes(row) == ["knot_near_cut", "culled", "open_below"]


def test_the_piece_below_is_the_one_that_lies_under_it(builder):
    cabin = a_cabin(builder, layout=a_layout(openings=[{**DOOR, "head_mm": 330}]))
    for piece in (0, 1):
        log = a_log(builder.who.crew)
        record_set(builder, cabin, log, piece=piece)

    row, _ = record_set(builder, cabin, a_log(builder.who.crew), round=2)

    assert codes(row) == []


@pytest.mark.parametrize(
    ("cut", "code"),
    [
        ({"gap_mm": Decimal(4)}, "gap_out_of_band"),
        ({"gap_mm": Decimal(26)}, "gap_out_of_band"),
        ({"notch_start_mm": Decimal(240)}, "notch_too_deep"),
        ({"notch_end_mm": Decimal(40)}, "notch_shallow"),
    ],
)
def test_a_gap_out_of_its_band_and_a_notch_beyond_its_limits_are_warnings(builder, cut, code):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)

    row, _ = record_set(builder, cabin, log, wall="B", **cut)

    assert codes(row) == [code]


def test_a_notch_is_measured_only_at_a_corner_that_the_piece_reaches(builder):
    cabin = a_cabin(builder, layout=a_layout(openings=[DOOR]))

    with pytest.raises(InvalidInput) as caught:
        record_set(builder, cabin, a_log(builder.who.crew), piece=0, notch_end_mm=Decimal(120))

    assert faults(caught) == {("/notch_end_mm", "no_corner")}


def test_undone_with_a_reason_the_log_lies_in_its_rack_and_the_place_is_open(builder):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)
    row, _ = record_set(builder, cabin, log)

    gone = undo(builder, row)
    again = undo(builder, row, reason="Another reason")

    log.refresh_from_db()
    assert (log.state, gone.undo_reason, again.undo_reason) == ("in_rack", "Wrong log", "Wrong log")
    assert gone.version == again.version == 2
    assert builder.get(cabin).body["built_version"] == 2
    assert builder.get("set-logs?undone=false").body["items"] == []
    assert record_set(builder, cabin, log)[1]


def test_a_cull_that_is_taken_out_lies_aside_again(builder):
    cabin = a_cabin(builder)
    log = a_log(builder.who.crew, culled=True, state="put_aside")
    row, _ = record_set(builder, cabin, log)

    undo(builder, row)

    log.refresh_from_db()
    assert log.state == "put_aside"


def test_a_log_sold_meanwhile_does_not_come_back_when_its_record_is_undone(builder):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)
    row, _ = record_set(builder, cabin, log)
    Log.objects.filter(id=log.id).update(state=LogState.GONE)

    undo(builder, row)

    log.refresh_from_db()
    assert log.state == LogState.GONE


def test_an_undone_record_is_repeated_but_not_revived(builder):
    cabin, log, id = a_cabin(builder), a_log(builder.who.crew), uuid4()
    row, _ = record_set(builder, cabin, log, id=id)
    undo(builder, row)

    again, created = record_set(builder, cabin, log, id=id)

    assert not created
    assert again.undone_at is not None
    with pytest.raises(SetLogStands):
        record_set(builder, cabin, log, id=id, remarks="After all", expected=Expected.only(2))


def test_a_layout_that_moves_or_removes_a_filled_place_is_refused_naming_it(builder):
    cabin = a_cabin(builder)
    record_set(builder, cabin, a_log(builder.who.crew, number="17"), wall="A")
    rows = set_round(builder, cabin, 4)

    shorter = builder.put(f"{cabin}/layout", a_layout(wall_height_mm=900), version=1)
    moved = builder.put(f"{cabin}/layout", a_layout(overhang_mm=420), version=1)
    checked = builder.post(f"{cabin}/layout/check", a_layout(wall_height_mm=900))
    kept = builder.put(f"{cabin}/layout", a_layout(wall_height_mm=1500), version=1)

    assert (shorter.status_code, moved.status_code, kept.status_code) == (409, 409, 200)
    assert shorter.body["type"] == "/problems/set-logs-in-the-way"
    assert {e["code"] for e in shorter.body["errors"]} == {"place_removed"}
    assert len(shorter.body["errors"]) == 4
    assert "Log 17 is set in wall A, round 1" in moved.body["errors"][0]["detail"]
    assert {(w["wall"], w["round"], w["change"]) for w in checked.body["set_logs_in_the_way"]} == {
        (wall, 4, "removed") for wall in "ABCD"
    }
    assert SetLogsInTheWay.slug() == "set-logs-in-the-way"
    for row in rows:
        undo(builder, row)
    assert builder.put(f"{cabin}/layout", a_layout(wall_height_mm=900), version=2).status_code == 200
    assert builder.get("set-logs?undone=true").body["items"][0]["length_mm"] is None


def test_walls_that_start_the_other_way_move_what_is_set_in_them(builder):
    cabin = a_cabin(builder)
    record_set(builder, cabin, a_log(builder.who.crew))
    swapped = [{**w, "start": "high" if w["start"] == "low" else "low"} for w in a_layout()["walls"]]

    answer = builder.put(f"{cabin}/layout", a_layout(walls=swapped), version=1)

    assert [e["code"] for e in answer.body["errors"]] == ["place_moved"]


def test_set_logs_are_found_by_cabin_log_wall_and_round(learner, builder):
    cabin, other = a_cabin(builder), a_cabin(builder, name="Hill cabin")
    rows = set_round(builder, cabin, 1)
    far, _ = record_set(builder, other, a_log(builder.who.crew))

    def found(query):
        return {one["id"] for one in learner.get(f"set-logs?{query}").body["items"]}

    assert found(f"cabin={id_of(cabin)}") == {str(row.id) for row in rows}
    assert found(f"cabin={id_of(other)}") == {str(far.id)}
    assert found(f"log={rows[2].log_id}") == {str(rows[2].id)}
    assert found(f"cabin={id_of(cabin)}&wall=B&round=1") == {str(rows[1].id)}
    assert found("round=2") == set()
    assert learner.get("set-logs?butt_at=start").status_code == 400


def test_strangers_find_no_set_log_of_ours(builder, stranger):
    cabin, log = a_cabin(builder), a_log(builder.who.crew)
    row, _ = record_set(builder, cabin, log)

    assert stranger.get("set-logs").body["items"] == []
    assert stranger.get(f"set-logs/{row.id}").status_code == 404
    assert stranger.get(f"logs/{log.id}/pieces").status_code == 404
    assert builder.get(f"set-logs/{row.id}").body["log_number"] == log.number


@pytest.fixture
def two_at_once(builder):
    def run(*jobs):
        """Run the jobs at the same moment, each on its own connection; what each gave or raised."""
        start, results = Barrier(len(jobs)), {}

        def work(number, job):
            start.wait()
            try:
                results[number] = job()
            except Refusal as refused:
                results[number] = type(refused)
            finally:
                connection.close()

        threads = [Thread(target=work, args=one) for one in enumerate(jobs)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(timeout=20)
        return [results[number] for number in range(len(jobs))]

    return run


@pytest.mark.django_db(transaction=True)
def test_of_two_who_fill_one_place_at_once_one_is_refused(builder, two_at_once):
    cabin = a_cabin(builder)
    logs = [a_log(builder.who.crew) for _ in range(2)]

    results = two_at_once(*(lambda log=log: record_set(builder, cabin, log)[1] for log in logs))

    assert sorted(map(str, results)) == sorted(map(str, [True, PlaceFilled]))
    assert SetLog.objects.filter(undone_at=None).count() == 1
    assert Cabin.objects.get(id=id_of(cabin)).built_version == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_who_cut_one_log_at_once_in_two_cabins_one_is_refused(builder, two_at_once):
    lake, hill = a_cabin(builder), a_cabin(builder, name="Hill cabin")
    log = a_log(builder.who.crew)

    results = two_at_once(
        lambda: record_set(builder, lake, log)[1], lambda: record_set(builder, hill, log)[1]
    )

    assert sorted(map(str, results)) == sorted(map(str, [True, InvalidInput]))


@pytest.mark.django_db(transaction=True)
def test_the_same_record_sent_twice_at_once_is_stored_once(builder, two_at_once):
    cabin, log, id = a_cabin(builder), a_log(builder.who.crew), uuid4()

    results = two_at_once(*[lambda: record_set(builder, cabin, log, id=id, set_at=NOON)[1]] * 2)

    assert sorted(results) == [False, True]
    assert SetLog.objects.count() == 1


@pytest.mark.parametrize("query", ["round=1.5", "round=99999999999", "round=one", "wall=%00", "cabin=lake"])
def test_a_list_is_not_narrowed_by_what_cannot_be(builder, query):
    assert builder.get(f"set-logs?{query}").status_code == 400
