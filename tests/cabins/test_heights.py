"""Heights are measured where logs lie; the latest counts, a far one is confirmed, many go in at once."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cabins.cabins.models import Cabin
from cabins.heights.models import MeasuredHeight
from cabins.set_logs.models import SetLog
from cabins.walls.queries import columns_by_name, standing_of, wall_stack
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

LATER = NOON + timedelta(hours=1)
# What the first log of a low wall comes to at its two ends, to the millimetre.
TOPS = {"start": 350, "end": 304}


def a_height(cabin, height_mm, **fields):
    return {"cabin": str(id_of(cabin)), **a_line(height_mm, **fields)}


def a_line(height_mm, **fields):
    usual = {"wall": "A", "round": 1, "end": "start", "measured_at": LATER.isoformat()}
    return {**usual, "height_mm": height_mm, **fields}


def built(cabin):
    """The measured tops that count: {wall: {(round, end or tee): height_mm}}."""
    [standing] = standing_of([Cabin.objects.get(id=id_of(cabin))]).values()
    names = {place: name for name, place in columns_by_name(standing.layout).items()}
    found = {}
    for (wall, number, column), height in standing.heights_mm.items():
        if number > 0:
            found.setdefault(wall, {})[number, names[wall, column][1]] = height
    return found


def test_a_learner_records_a_height_and_repeats_it(builder, learner):
    cabin, address = a_cabin(builder), f"heights/{uuid4()}"
    set_round(builder, cabin, 1)

    first = learner.put(address, a_height(cabin, "13 3/4 in"))
    again = learner.put(address, a_height(cabin, 349.25))

    assert (first.status_code, again.status_code) == (201, 200)
    assert first.body["height_mm"] == 349.25
    assert first.body["measured_by"] == str(learner.who.member.id)
    assert built(cabin) == {"A": {(1, "start"): MeasuredHeight.objects.get().height_mm}}
    assert learner.get(cabin).body["built_version"] == 5
    assert learner.get(address).body == again.body


def test_correcting_a_height_names_its_version_but_never_moves_it(builder):
    cabin, address = a_cabin(builder), f"heights/{uuid4()}"
    set_round(builder, cabin, 1)
    builder.put(address, a_height(cabin, 350))

    missing = builder.put(address, a_height(cabin, 340))
    stale = builder.put(address, a_height(cabin, 340), version=9)
    done = builder.put(address, a_height(cabin, 340), version=1)
    moved = builder.put(address, a_height(cabin, 340, end="end"), version=2)

    assert (missing.status_code, stale.status_code, done.status_code) == (428, 412, 200)
    assert stale.body["current"]["height_mm"] == 350
    assert done.body["version"] == 2
    assert (moved.status_code, moved.body["type"]) == (409, "/problems/height-stands")
    assert builder.get(cabin).body["built_version"] == 6


def test_a_height_is_measured_only_where_a_log_lies(builder):
    cabin = a_cabin(builder, layout=a_layout(openings=[DOOR]))
    record_set(builder, cabin, a_log(builder.who.crew), piece=0)

    start = builder.put(f"heights/{uuid4()}", a_height(cabin, 350))
    end = builder.put(f"heights/{uuid4()}", a_height(cabin, 304, end="end"))

    assert start.status_code == 201
    assert [(e["pointer"], e["code"]) for e in end.body["errors"]] == [("/round", "not_set")]


def test_every_fault_of_many_heights_comes_at_once_and_none_is_stored(builder, stranger):
    cabin, id = a_cabin(builder), str(uuid4())
    set_round(builder, cabin, 1)
    before, tomorrow = NOON - timedelta(hours=1), EVENING.replace(year=2999)
    lines = [
        a_line(330, id=id),
        a_line(330, id=id, wall="Z"),
        a_line(330, id=str(uuid4()), round=9),
        a_line(330, id=str(uuid4()), round=2),
        a_line(330, id=str(uuid4()), measured_at=before.isoformat()),
        a_line(330, id=str(uuid4()), measured_at=tomorrow.isoformat()),
        a_line(330, id=str(uuid4()), measured_by=str(stranger.who.member.id)),
    ]

    answer = builder.post(f"{cabin}/heights", {"heights": lines})

    assert answer.status_code == 422
    assert {(e["pointer"], e["code"]) for e in answer.body["errors"]} == {
        ("/heights/1/id", "twice"),
        ("/heights/1/wall", "unknown"),
        ("/heights/2/round", "unknown"),
        ("/heights/3/round", "not_set"),
        ("/heights/4/measured_at", "before_set"),
        ("/heights/5/measured_at", "future"),
        ("/heights/6/measured_by", "unknown"),
    }
    assert not MeasuredHeight.objects.exists()


def test_a_body_with_wrong_fields_is_named_line_by_line(builder):
    cabin = a_cabin(builder)

    answer = builder.post(f"{cabin}/heights", {"heights": [a_line("tall", id="x", hight=3)]})
    none = builder.post(f"{cabin}/heights", {"heights": []})

    assert {e["pointer"] for e in answer.body["errors"]} == {
        "/heights/0/id",
        "/heights/0/height_mm",
        "/heights/0/hight",
    }
    assert none.status_code == 422


def test_many_heights_are_stored_together_and_again_without_change(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)
    lines = [a_line(mm, id=str(uuid4()), wall=w, end=e) for w in "AC" for e, mm in TOPS.items()]

    first = builder.post(f"{cabin}/heights", {"heights": lines})
    again = builder.post(f"{cabin}/heights", {"heights": lines})
    changed = builder.post(f"{cabin}/heights", {"heights": [lines[0], {**lines[1], "height_mm": 305}]})

    assert (first.status_code, again.status_code) == (201, 200)
    assert [h["id"] for h in first.body["heights"]] == [line["id"] for line in lines]
    assert first.body == again.body
    assert builder.get(cabin).body["built_version"] == 5
    assert changed.status_code == 409
    assert changed.body["errors"][0]["pointer"] == "/heights/1/height_mm"


def test_many_heights_take_as_many_queries_as_one(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)

    def queries_to_store(*walls):
        lines = [a_line(mm, id=str(uuid4()), wall=w, end=e) for w in walls for e, mm in TOPS.items()]
        with CaptureQueriesContext(connection) as asked:
            assert builder.post(f"{cabin}/heights", {"heights": lines}).status_code == 201
        return len(asked)

    assert queries_to_store("A") == queries_to_store("A", "C")


def test_a_height_far_from_the_computed_one_is_stored_only_when_confirmed(builder):
    cabin, address = a_cabin(builder), f"heights/{uuid4()}"
    set_round(builder, cabin, 1)
    # At the start corner of wall A the log measures 338 mm: with the gap its top is expected at 350 mm, to
    # sqrt(2.5^2 + 4^2 + 3^2) = 5.6 mm. A doubt begins at four times that, 22.4 mm.

    doubted = builder.put(address, a_height(cabin, 450))
    far = builder.put(f"heights/{uuid4()}", a_height(cabin, 373))
    near = builder.put(f"heights/{uuid4()}", a_height(cabin, 372))
    confirmed = builder.put(address, a_height(cabin, 450, confirm_doubtful=True))

    assert (doubted.status_code, doubted.body["type"]) == (409, "/problems/doubts-unconfirmed")
    assert [(e["pointer"], e["code"]) for e in doubted.body["errors"]] == [
        ("/height_mm", "far_from_computed")
    ]
    [told] = doubted.body["errors"]
    assert told["detail"].startswith("450 mm is 100 mm above the 350 mm that ")
    assert (near.status_code, far.status_code) == (201, 409)
    assert confirmed.status_code == 201
    assert builder.put(address, a_height(cabin, 450)).status_code == 200


def test_a_doubt_never_begins_farther_off_than_forty_millimetres(builder):
    cabin = a_cabin(builder, layout=a_layout(rounds=8))
    for number in range(1, 9):
        set_round(builder, cabin, number)
    # Eight logs of 338.3 and as many gaps of 12: 2802 mm, to sqrt(2.5^2 + 8 x (4^2 + 3^2)) = 14.4 mm; four
    # times that is 57.

    far = builder.put(f"heights/{uuid4()}", a_height(cabin, 2844, round=8))
    near = builder.put(f"heights/{uuid4()}", a_height(cabin, 2840, round=8))

    assert (near.status_code, far.status_code) == (201, 409)


def test_a_high_wall_whose_start_nobody_measured_is_doubted_only_from_forty_millimetres(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)
    expected = wall_stack(Cabin.objects.get(id=id_of(cabin))).heights_mm["B", 1, 0]

    unknown = builder.put(f"heights/{uuid4()}", a_height(cabin, expected + 35, wall="B"))
    builder.put(f"heights/{uuid4()}", a_height(cabin, 160, wall="D", round=0))
    on_it = wall_stack(Cabin.objects.get(id=id_of(cabin))).heights_mm["D", 1, 0]
    known = builder.put(f"heights/{uuid4()}", a_height(cabin, on_it + 35, wall="D"))

    assert (unknown.status_code, known.status_code) == (201, 409)


def a_parted_cabin(someone):
    """A rectangle with partition P on wall A, 3 m from its start, and on C; one round of every wall set."""
    partition = {"id": "P", "from": {"wall": "A", "at_mm": 3000}, "to": {"wall": "C", "at_mm": 2000}}
    cabin = a_cabin(someone, layout=a_layout(partitions=[{**partition, "start": "high"}]))
    for number in (1, 2):
        for wall in "ABCDP":
            record_set(someone, cabin, a_log(someone.who.crew), wall=wall, round=number)
    return cabin


def test_a_height_is_measured_at_a_tee_and_counts_there(builder):
    cabin = a_parted_cabin(builder)
    wall_of = lambda: wall_stack(Cabin.objects.get(id=id_of(cabin)))  # noqa: E731
    expected = wall_of().heights_mm["A", 1, 1]

    answer = builder.put(f"heights/{uuid4()}", a_height(cabin, expected + 10, end="P-A"))
    unknown = builder.put(f"heights/{uuid4()}", a_height(cabin, 330, end="P-C"))
    misread = builder.put(f"heights/{uuid4()}", a_height(cabin, expected + 100, end="P-A"))

    assert answer.status_code == 201, answer.body
    assert answer.body["end"] == "P-A"
    assert built(cabin)["A"] == {(1, "P-A"): MeasuredHeight.objects.get().height_mm}
    assert wall_of().heights_mm["A", 1, 1] == pytest.approx(expected + 10)
    assert [h["end"] for h in builder.get(f"heights?cabin={id_of(cabin)}&end=P-A").body["items"]] == ["P-A"]
    assert [(e["pointer"], e["code"]) for e in unknown.body["errors"]] == [("/end", "unknown")]
    assert "P-A" in unknown.body["errors"][0]["detail"]
    assert misread.status_code == 409


def test_a_tee_nobody_measured_lies_on_the_line_between_the_measured_ends(builder):
    cabin = a_parted_cabin(builder)
    stack = wall_stack(Cabin.objects.get(id=id_of(cabin)))
    before = [stack.heights_mm["A", 1, column] for column in range(3)]
    lines = [
        a_line(before[0] - 14, id=str(uuid4())),
        a_line(before[2] - 10, id=str(uuid4()), end="end"),
    ]

    assert builder.post(f"{cabin}/heights", {"heights": lines}).status_code == 201

    after = wall_stack(Cabin.objects.get(id=id_of(cabin)))
    # The ends came down by 14 and 10 mm: three fifths of the way along, 11.6 mm; the log is the same.
    assert after.heights_mm["A", 1, 1] == pytest.approx(before[1] - 11.6)
    off_line = builder.put(f"heights/{uuid4()}", a_height(cabin, before[1] + 13, end="P-A"))
    assert off_line.status_code == 409, "24.6 mm off the line, 5.6 mm expected"


def test_a_height_at_a_tee_does_not_outlive_the_log_under_it(builder):
    cabin = a_parted_cabin(builder)
    builder.put(f"heights/{uuid4()}", a_height(cabin, 330, end="P-A", confirm_doubtful=True))

    undo(builder, SetLog.objects.get(wall="A", round=1))

    assert built(cabin) == {}


def test_a_doubt_is_told_in_the_crews_own_lengths(builder):
    cabin, crew = a_cabin(builder), builder.who.crew
    set_round(builder, cabin, 1)
    crew.length_unit = "ft_in"
    crew.save()

    doubted = builder.put(f"heights/{uuid4()}", a_height(cabin, 508))

    [told] = doubted.body["errors"]
    assert told["detail"].startswith('20" is 6 1/4" above the 13 3/4" that ')


def test_heights_sent_together_are_judged_one_on_the_other(builder):
    cabin = a_cabin(builder)
    for number in (1, 2, 3):
        set_round(builder, cabin, number)
    tall = [a_line(round * 365, id=str(uuid4()), round=round) for round in (1, 2, 3)]

    answer = builder.post(f"{cabin}/heights", {"heights": tall})

    assert answer.status_code == 201  # each is 15 mm too tall for its own log, the third 45 mm in all


def read_three_times(builder, cabin):
    """Readings of one top, told in another order than they were taken; their addresses."""
    addresses = [f"heights/{uuid4()}" for _ in range(3)]
    for address, (minutes, height) in zip(addresses, ((0, 350), (20, 356), (10, 350)), strict=True):
        at = (LATER + timedelta(minutes=minutes)).isoformat()
        builder.put(address, a_height(cabin, height, measured_at=at))
    return addresses


def test_the_mean_of_a_tops_readings_counts_and_is_surer_than_one(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)

    read_three_times(builder, cabin)

    assert built(cabin) == {"A": {(1, "start"): 352}}
    stack = wall_stack(Cabin.objects.get(id=id_of(cabin)))
    tops = {(top.wall, top.round, top.column): top for top in stack.tops}
    assert tops["A", 1, 0].top_mm == 352
    assert tops["A", 1, 0].error_mm == pytest.approx(2.5 / 3**0.5)
    assert tops["A", 2, 0].error_mm == pytest.approx((2.5**2 / 3 + 4**2 + 3**2) ** 0.5)
    assert len(builder.get(f"heights?cabin={id_of(cabin)}&wall=A&round=1&end=start").body["items"]) == 3


def test_one_reading_is_taken_back_with_a_reason_and_the_others_count_on(builder, learner, stranger):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)
    _, high, _ = read_three_times(builder, cabin)
    was = builder.get(cabin).body["built_version"]

    silent = builder.post(f"{high}/undo", {"reason": " "})
    foreign = stranger.post(f"{high}/undo", {"reason": "Misread."})
    undone = learner.post(f"{high}/undo", {"reason": "Misread."})
    again = learner.post(f"{high}/undo", {"reason": "Another word."})

    assert (silent.status_code, foreign.status_code, undone.status_code) == (422, 404, 200)
    assert (undone.body["undo_reason"], again.body) == ("Misread.", undone.body)
    assert built(cabin) == {"A": {(1, "start"): 350}}
    assert builder.get(cabin).body["built_version"] == was + 1
    assert len(builder.get(f"heights?cabin={id_of(cabin)}&undone=false").body["items"]) == 2
    corrected = builder.put(high, a_height(cabin, 350), version=undone.body["version"])
    assert (corrected.status_code, corrected.body["type"]) == (409, "/problems/height-stands")


def test_a_reading_far_from_those_before_it_is_doubted_though_the_log_would_give_it(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)
    builder.put(f"heights/{uuid4()}", a_height(cabin, 340))
    later = (LATER + timedelta(minutes=5)).isoformat()

    # Four times sqrt(2) of 2.5 mm: 14.1; the log itself gives 350.
    near = builder.put(f"heights/{uuid4()}", a_height(cabin, 354, measured_at=later))
    far = builder.put(f"heights/{uuid4()}", a_height(cabin, 361, measured_at=later))

    assert (near.status_code, far.status_code) == (201, 409)
    assert far.body["errors"][0]["code"] == "far_from_readings"
    assert "take those readings back" in far.body["errors"][0]["detail"]


def test_what_was_read_more_than_a_week_before_was_another_wall(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)
    for days, height in ((0, 350), (6, 352), (10, 342)):
        at = (LATER + timedelta(days=days)).isoformat()
        builder.put(f"heights/{uuid4()}", a_height(cabin, height, measured_at=at))

    # The first is ten days older than the last; the second is four days older.
    assert built(cabin) == {"A": {(1, "start"): 347}}


def test_a_height_does_not_outlive_the_log_it_was_measured_on(builder):
    cabin = a_cabin(builder)
    row, _ = record_set(builder, cabin, a_log(builder.who.crew))
    builder.put(f"heights/{uuid4()}", a_height(cabin, 350))

    undo(builder, row)
    without = built(cabin)
    record_set(builder, cabin, a_log(builder.who.crew), set_at=LATER + timedelta(hours=1))
    under_another = built(cabin)

    assert without == under_another == {}


def test_what_a_wall_starts_on_is_measured_before_any_log_lies(builder):
    cabin = a_cabin(builder)

    answer = builder.put(f"heights/{uuid4()}", a_height(cabin, 181, wall="B", round=0))

    assert answer.status_code == 201
    assert built(cabin) == {}
    stack = wall_stack(Cabin.objects.get(id=id_of(cabin)))
    assert stack.heights_mm["B", 0, 0] == 181
    assert stack.heights_mm["B", 1, 0] == 181 + 312


def test_only_what_a_wall_starts_on_may_lie_below_the_deck(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)

    deck = builder.put(f"heights/{uuid4()}", a_height(cabin, -4, round=0))
    log = builder.put(f"heights/{uuid4()}", a_height(cabin, 0, confirm_doubtful=True))

    assert deck.status_code == 201
    assert [(e["pointer"], e["code"]) for e in log.body["errors"]] == [("/height_mm", "too_small")]


def test_a_cabin_without_a_layout_has_no_walls_to_measure(builder):
    address = f"cabins/{uuid4()}"
    builder.put(address, {"name": "Bare"})

    answer = builder.put(f"heights/{uuid4()}", a_height(address, 300))

    assert [(e["pointer"], e["code"]) for e in answer.body["errors"]] == [("/wall", "unknown")]


def test_strangers_neither_see_nor_store_heights_of_ours(builder, stranger):
    cabin, address = a_cabin(builder), f"heights/{uuid4()}"
    set_round(builder, cabin, 1)
    builder.put(address, a_height(cabin, 350))
    theirs = a_cabin(stranger)
    record_set(stranger, theirs, a_log(stranger.who.crew))

    assert stranger.get(address).status_code == 404
    assert stranger.get("heights").body["items"] == []
    assert stranger.put(address, a_height(theirs, 350)).status_code == 404
    assert stranger.put(f"heights/{uuid4()}", a_height(cabin, 350)).status_code == 422
    assert stranger.post(f"{cabin}/heights", {"heights": [a_line(3, id=str(uuid4()))]}).status_code == 404
    assert builder.put(f"heights/{uuid4()}", a_height(cabin, 350), version=1).status_code == 404


def test_a_height_is_measured_at_the_corner_that_a_wall_runs_on_past(builder):
    points = [(0, 0), (5000, 0), (5000, 2000), (3000, 2000), (3000, 4000), (0, 4000)]
    corners = [{"id": f"Q{n}", "x_mm": x, "y_mm": y} for n, (x, y) in enumerate(points)]
    walls = [
        {"id": id, "from": f"Q{n}", "to": f"Q{(n + 1) % 6}", "start": ("low", "high")[n % 2]}
        for n, id in enumerate("ABCDEF")
    ]
    walls[2] |= {"runs_on_end": True}
    cabin = a_cabin(builder, layout=a_layout(corners=corners, walls=walls))
    set_log, _ = record_set(builder, cabin, a_log(builder.who.crew), wall="C", round=1)
    expected = wall_stack(Cabin.objects.get(id=id_of(cabin))).heights_mm["C", 1, 1]

    answer = builder.put(f"heights/{uuid4()}", a_height(cabin, expected + 10, wall="C", end="Q3"))

    assert answer.status_code == 201, answer.body
    assert built(cabin)["C"] == {(1, "Q3"): MeasuredHeight.objects.get().height_mm}
    told = builder.get(f"{cabin}/layout").body
    assert [(c["at_mm"], c["crossing"]) for c in told["columns"] if c["wall"] == "C"] == [
        (0, "Q2"), (2000, "Q3"), (5000, "C-F")
    ]  # fmt: skip
    assert told["layout"]["walls"][2]["runs_on_end"] is True
    # From tail to tail, 400 past the corner at Q2 and past wall F.
    assert set_log.place.end_mm - set_log.place.start_mm == 5800
    assert builder.get(f"{cabin}/corners/Q3").status_code == 200
