"""How far a cabin is: a round is complete when all its places are filled, heights follow from what stands."""

from datetime import timedelta
from random import Random
from uuid import uuid4

import pytest

from cabins.cabins.models import Cabin
from cabins.heights.models import MeasuredHeight
from cabins.layouts.models import Place
from cabins.progress.queries import crew_progress
from cabins.walls.queries import set_pieces_of, wall_stack
from crews.events.models import Event
from tests.cabins.building import (
    DOOR,
    NOON,
    a_cabin,
    a_layout,
    a_log,
    id_of,
    record_set,
    set_round,
    undo,
    where,
)


def measure(someone, cabin, height_mm, *, wall="A", round=1, end="start"):
    at = (NOON + timedelta(hours=round + 1)).isoformat()
    body = {"cabin": str(id_of(cabin)), "wall": wall, "round": round, "end": end}
    sent = {**body, "height_mm": height_mm, "measured_at": at, "confirm_doubtful": True}
    assert someone.put(f"heights/{uuid4()}", sent).status_code == 201


def walls(answer):
    return {wall["wall"]: wall for wall in answer["walls"]}


def test_a_cabin_not_laid_out_has_nothing_to_show(builder):
    address = f"cabins/{uuid4()}"
    builder.put(address, {"name": "Bare"})

    progress = builder.get(f"{address}/progress").body
    rounds = builder.get(f"{address}/rounds")

    assert (progress["rounds"], progress["walls"], progress["wall_height_mm"]) == (0, [], None)
    assert (rounds.status_code, rounds.body["type"]) == (404, "/problems/not-laid-out")


def test_a_cabin_laid_out_has_all_its_rounds_before_it(learner, builder):
    cabin = a_cabin(builder)

    progress = learner.get(f"{cabin}/progress").body

    assert (progress["rounds"], progress["rounds_complete"], progress["rounds_left"]) == (4, 0, 4)
    assert (progress["logs_set"], progress["logs_left"], progress["places"]) == (0, 16, 16)
    assert (progress["height_mm"], progress["rounds_needed"]) == (0, 4)
    assert progress["completed_at"] is None
    assert progress["last_set_at"] is None
    # High walls start half a log up: half of 300 mm and a gap of 12.
    assert {name: wall["start_mm"] for name, wall in walls(progress).items()} == {
        "A": 0,
        "B": 156,
        "C": 0,
        "D": 156,
    }


def test_a_round_is_complete_exactly_when_all_its_places_are_filled(builder):
    cabin = a_cabin(builder, layout=a_layout(openings=[DOOR]))
    crew = builder.who.crew
    for hour, wall, piece in ((1, "B", 0), (3, "C", 0), (2, "D", 0), (0, "A", 1)):
        at = NOON + timedelta(hours=hour)
        record_set(builder, cabin, a_log(crew), wall=wall, piece=piece, set_at=at)
    open_round = builder.get(f"{cabin}/rounds").body["rounds"][0]
    last, _ = record_set(builder, cabin, a_log(crew), wall="A", piece=0)

    complete = builder.get(f"{cabin}/rounds").body["rounds"][0]
    undo(builder, last)
    undone = builder.get(f"{cabin}/rounds").body["rounds"][0]

    assert (open_round["filled"], open_round["places"]) == (4, 5)
    assert (open_round["is_complete"], open_round["completed_at"]) == (False, None)
    assert complete["is_complete"]
    assert complete["completed_at"] == (NOON + timedelta(hours=3)).isoformat().replace("+00:00", "Z")
    assert [w["filled"] for w in complete["walls"]] == [2, 1, 1, 1]
    assert (undone["is_complete"], undone["completed_at"]) == (False, None)


def test_a_round_is_told_to_be_complete_only_while_no_place_is_empty(builder):
    cabin = a_cabin(builder)
    crew = builder.who.crew
    taken_back, _ = record_set(builder, cabin, a_log(crew), wall="A")
    undo(builder, taken_back)

    told = []
    for wall in "BCDA":
        record_set(builder, cabin, a_log(crew), wall=wall)
        told.append(Event.objects.filter(kind="round_complete").count())

    assert told == [0, 0, 0, 1]


def test_a_round_over_a_hole_is_complete_yet_does_not_count_as_height(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 2)

    rounds = builder.get(f"{cabin}/rounds").body["rounds"]
    progress = builder.get(f"{cabin}/progress").body

    assert [r["is_complete"] for r in rounds] == [False, True, False, False]
    assert (progress["rounds_complete"], progress["height_mm"], progress["logs_set"]) == (0, 0, 4)


def test_the_height_follows_from_the_logs_set(builder):
    """A worked example: logs of 300 mm throughout, a gap of 12, two rounds."""
    cabin, crew = a_cabin(builder), builder.who.crew
    for number in (1, 2):
        for wall in "ABCD":
            log = a_log(crew, butt_mm=300, middle_mm=300, tip_mm=300)
            record_set(builder, cabin, log, wall=wall, round=number)

    progress = builder.get(f"{cabin}/progress").body

    assert progress["rounds_complete"] == 2
    assert progress["height_mm"] == 2 * 312
    assert progress["rounds_needed"] == 2  # 576 mm are left, 312 a round
    assert walls(progress)["B"]["end_mm"] == 156 + 2 * 312
    assert {wall["out_of_level_mm"] for wall in progress["walls"]} == {0}
    assert not walls(progress)["A"]["start_is_assumed"]


def test_a_wall_is_out_of_level_by_what_its_log_tapers_between_its_corners(builder):
    """Butt at the start, 60 mm trimmed: corners at 460 and 5460 mm, on the lines between the stations."""
    cabin = a_cabin(builder)
    record_set(builder, cabin, a_log(builder.who.crew))

    wall = walls(builder.get(f"{cabin}/progress").body)["A"]

    start = 340 - 30 * (460 - 305) / 2695
    end = 310 - 20 * (5460 - 3000) / 2695
    assert wall["rounds_up"] == 1
    assert wall["start_mm"] == pytest.approx(start + 12, abs=0.005)
    assert wall["out_of_level_mm"] == pytest.approx(end - start, abs=0.005)


def test_measured_heights_replace_computed_ones_and_the_rounds_above_go_on_from_them(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)
    set_round(builder, cabin, 2)
    before = walls(builder.get(f"{cabin}/progress").body)["A"]

    measure(builder, cabin, 300)
    measure(builder, cabin, 320, end="end")

    progress = walls(builder.get(f"{cabin}/progress").body)
    rounds = builder.get(f"{cabin}/rounds").body["rounds"]
    first = walls(rounds[0])["A"]
    rise = before["start_mm"] - walls(rounds[0])["C"]["start_mm"]
    assert (first["start_mm"], first["end_mm"], first["out_of_level_mm"]) == (300, 320, 20)
    assert (first["start_is_measured"], walls(rounds[0])["C"]["start_is_measured"]) == (True, False)
    assert progress["A"]["start_mm"] == pytest.approx(300 + rise, abs=0.02)
    assert progress["A"]["start_error_mm"] < progress["C"]["start_error_mm"]


def test_the_stack_of_a_wall_holds_notches_from_what_was_measured(builder):
    """A worked example: low top 330 measured, high wall starts at 156, so its notch is 330 - 156 - 12."""
    cabin = a_cabin(builder)
    crew = builder.who.crew
    for wall in "ABCD":
        record_set(builder, cabin, a_log(crew, butt_mm=300, middle_mm=300, tip_mm=300), wall=wall)
    measure(builder, cabin, 330, end="end")

    held = Cabin.objects.get(id=id_of(cabin))
    notch = next(n for n in wall_stack(held).notches if (n.crossing, n.wall, n.round) == ("2", "B", 1))

    assert notch.depth_mm == 330 - 156 - 12
    assert {(row["wall"], row["round"]) for row in set_pieces_of(held)} == {(wall, 1) for wall in "ABCD"}


@pytest.mark.parametrize("seed", range(6))
def test_progress_agrees_with_the_rounds_one_by_one(builder, seed):
    """Counted by the database from the last heights, against the whole stack of `rounds`; any wall at all."""
    chance, crew = Random(seed), builder.who.crew
    for name in ("Hill cabin", "Moor cabin"):
        cabin = a_cabin(builder, name=name, layout=a_layout(openings=[DOOR] if chance.random() < 0.5 else []))
        for place in Place.objects.filter(cabin=id_of(cabin)).order_by("round", "wall", "piece"):
            if chance.random() < 1.1 - place.round / 4:
                log = a_log(crew, middle_mm=chance.randint(300, 330), tip_mm=chance.randint(250, 300))
                spot = where(place.wall, place.round, place.piece)
                at = NOON + timedelta(hours=chance.randint(0, 8))
                row, _ = record_set(builder, cabin, log, set_at=at, at=at, **spot)
                if chance.random() < 0.1:
                    undo(builder, row)
        for _ in range(chance.randint(0, 20)):
            at = NOON + timedelta(hours=chance.randint(-2, 12))
            MeasuredHeight.objects.create(
                crew=crew, cabin_id=id_of(cabin), wall=chance.choice("ABCD"), round=chance.randint(0, 4),
                end=chance.choice(["start", "end"]), height_mm=chance.randint(1, 1400), measured_at=at,
                measured_by=builder.who.member, recorded_by=builder.who.member, created_at=at, changed_at=at,
            )  # fmt: skip

        told, rounds = builder.get(f"{cabin}/progress").body, builder.get(f"{cabin}/rounds").body["rounds"]

        up = {w: next((n for n, r in enumerate(rounds) if _open(r, w)), len(rounds)) for w in "ABCD"}
        complete = min(up.values())
        assert {name: wall["rounds_up"] for name, wall in walls(told).items()} == up
        assert told["rounds_complete"] == complete
        assert told["completed_at"] == (rounds[complete - 1]["completed_at"] if complete else None)
        assert told["places"] == sum(one["places"] for one in rounds)
        assert told["logs_set"] == sum(one["filled"] for one in rounds)
        assert told["last_set_at"] == _last_set(builder, cabin)
        for name, wall in walls(told).items():
            if up[name]:
                shown = walls(rounds[up[name] - 1])[name]
                ends = shown.keys() - {"places", "filled"}
                assert {one: wall[one] for one in ends} == {one: shown[one] for one in ends}
        if complete:
            tops = [walls(rounds[complete - 1])[name][end] for name in "AC" for end in ("start_mm", "end_mm")]
            assert told["height_mm"] == pytest.approx(sum(tops) / 4, abs=0.011)


def _open(round, wall):
    return walls(round)[wall]["filled"] < walls(round)[wall]["places"]


def _last_set(someone, cabin):
    rows = someone.get(f"set-logs?cabin={id_of(cabin)}&undone=false&limit=500").body["items"]
    return max((row["set_at"] for row in rows), default=None)


def test_all_cabins_of_a_crew_come_in_one_answer(builder, stranger):
    first = a_cabin(builder)
    set_round(builder, first, 1)
    for name in ("Hill cabin", "Moor cabin"):
        set_round(builder, a_cabin(builder, name=name), 1)
    builder.put(f"cabins/{uuid4()}", {"name": "Bare"})
    a_cabin(stranger)

    many = builder.get("progress").body["cabins"]

    assert [c["cabin_name"] for c in many] == ["Lake cabin", "Hill cabin", "Moor cabin", "Bare"]
    assert many[0] == builder.get(f"{first}/progress").body
    assert [c["rounds_complete"] for c in many] == [1, 1, 1, 0]


def test_the_progress_of_many_cabins_takes_as_many_queries_as_that_of_one(builder, django_assert_num_queries):
    crew = builder.who.crew
    set_round(builder, a_cabin(builder), 1)

    with django_assert_num_queries(8):
        one = crew_progress(crew)
    for name in ("Hill cabin", "Moor cabin"):
        set_round(builder, a_cabin(builder, name=name), 1)
    with django_assert_num_queries(8):
        many = crew_progress(crew)

    assert (len(one), len(many)) == (1, 3)


def test_strangers_see_no_progress_of_ours(builder, stranger):
    cabin = a_cabin(builder)

    assert stranger.get(f"{cabin}/progress").status_code == 404
    assert stranger.get(f"{cabin}/rounds").status_code == 404
    assert stranger.get("progress").body["cabins"] == []
