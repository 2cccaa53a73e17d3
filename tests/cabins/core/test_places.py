"""Places, crossings and columns: where logs lie, where they cross, and how many rounds it takes."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabins.core.courses import settling_spaces_mm
from cabins.core.layout import read_layout
from cabins.core.places import (
    CrossingKind,
    HalfLog,
    WallPlace,
    columns_of,
    crossings_of,
    half_logs_of,
    places_of,
    rounds_for_height,
)
from cabins.core.rounds import ImpossibleRise
from tests.cabins.core.drawings import a_partition, a_rectangle, an_l_shape, an_opening


def spans(document: dict[str, Any], wall: str) -> dict[int, list[tuple[float, float]]]:
    """The places of one wall, by round."""
    found: dict[int, list[tuple[float, float]]] = {}
    for place in places_of(read_layout(document)):
        if place.wall == wall:
            found.setdefault(place.round, []).append((place.start_mm, place.end_mm))
    return found


def test_a_course_without_an_opening_is_one_place_from_overhang_to_overhang():
    places = places_of(read_layout(a_rectangle(openings=[])))

    assert len(places) == 4 * 8
    assert places[0] == WallPlace(wall="A", round=1, piece=0, start_mm=-380, end_mm=5080, length_mm=5460)


def test_a_door_leaves_two_places_in_the_courses_it_takes_more_than_half_of():
    # Logs of 358 with gaps of 13: the door from 333, with its space of 90 to 2240, takes 38 of round 1 and
    # all of round 6, whose top is 2226.
    wall = spans(a_rectangle(openings=[an_opening()]), "A")

    assert wall[1] == [(-380, 5080)]
    for number in (2, 3, 4, 5, 6):
        assert wall[number] == [(-380, 1760), (2710, 5080)]
    assert wall[7] == [(-380, 5080)]


def test_a_high_wall_is_split_half_a_round_higher():
    # Rounds of wall B span 185.5 to 556.5 and on; a window from 900 to 2050 takes 28 of
    # round 2 and 10 of round 6.
    wall = spans(a_rectangle(openings=[an_opening(wall="B", sill_mm=900, head_mm=2050, offset_mm=800)]), "B")

    assert [number for number, course in wall.items() if len(course) == 2] == [3, 4, 5]
    assert wall[2] == [(-380, 3880)]


def test_pieces_are_numbered_from_the_walls_start_whatever_order_openings_are_drawn_in():
    openings = [
        an_opening(offset_mm=3000, width_mm=600),
        an_opening(id="W", offset_mm=600, width_mm=800, sill_mm=900, head_mm=2050),
    ]

    wall = spans(a_rectangle(openings=openings), "A")

    assert wall[2] == [(-380, 3000), (3600, 5080)]
    assert wall[4] == [(-380, 600), (1400, 3000), (3600, 5080)]


def test_how_much_of_a_log_an_opening_may_take_is_a_setting():
    # 38 of 358 are 10.6 %.
    strict = spans(a_rectangle(openings=[an_opening()], cut_share=0.1), "A")

    assert strict[1] == [(-380, 1760), (2710, 5080)]


@given(
    offset=st.floats(180, 2000),
    width=st.floats(100, 2000),
    sill=st.floats(0, 1400),
    height=st.floats(10, 1500),
    start=st.sampled_from(["low", "high"]),
)
def test_places_and_openings_together_cover_every_course_once(
    offset: float, width: float, sill: float, height: float, start: str
):
    opening = an_opening(offset_mm=offset, width_mm=width, sill_mm=sill, head_mm=sill + height)
    document = a_rectangle(openings=[opening])
    for number, wall in enumerate(document["walls"]):
        wall["start"] = start if number % 2 == 0 else {"low": "high", "high": "low"}[start]

    layout = read_layout(document)
    top = opening["head_mm"] + settling_spaces_mm(layout)["door"]
    for number, course in spans(document, "A").items():
        underside = 371 * (number - 1) + (185.5 if start == "high" else 0) + 13
        taken = (min(underside + 358, top) - max(underside, sill)) / 358
        is_cut = taken > 0.5 or (underside < sill and top < underside + 358)
        assert len(course) == (2 if is_cut else 1)
        covered = sum(end - begin for begin, end in course)
        assert covered + (width if is_cut else 0) == pytest.approx(4700 + 2 * 380)


def test_at_every_corner_one_low_and_one_high_wall_cross():
    crossings = crossings_of(read_layout(a_rectangle()))

    assert [(c.id, c.low_wall, c.low_at_mm, c.high_wall, c.high_at_mm) for c in crossings] == [
        ("SW", "A", 0, "D", 3500),
        ("SE", "A", 4700, "B", 0),
        ("NE", "C", 0, "B", 3500),
        ("NW", "C", 4700, "D", 0),
    ]
    assert {crossing.kind for crossing in crossings} == {CrossingKind.CORNER}


def test_a_partition_crosses_the_two_walls_it_meets():
    layout = read_layout(a_rectangle(partitions=[a_partition()], openings=[]))

    tees = [crossing for crossing in crossings_of(layout) if crossing.kind is CrossingKind.TEE]

    assert [(c.id, c.low_wall, c.low_at_mm, c.high_wall, c.high_at_mm) for c in tees] == [
        ("P-A", "A", 3200, "P", 0),
        ("P-C", "C", 1500, "P", 3500),
    ]


def test_a_partitions_logs_run_past_the_walls_they_cross():
    layout = read_layout(a_rectangle(partitions=[a_partition()], openings=[]))

    first = next(place for place in places_of(layout) if place.wall == "P")

    assert (first.start_mm, first.end_mm) == (-380, 3880)


def test_heights_are_taken_at_the_ends_of_a_wall_and_at_its_tees():
    columns = columns_of(read_layout(a_rectangle(partitions=[a_partition()], openings=[])))

    assert [(c.column, c.at_mm, c.crossing) for c in columns["A"]] == [
        (0, 0, "SW"),
        (1, 3200, "P-A"),
        (2, 4700, "SE"),
    ]
    assert [(c.column, c.at_mm, c.crossing) for c in columns["P"]] == [(0, 0, "P-A"), (1, 3500, "P-C")]


def test_an_l_shape_has_six_corners_and_its_walls_alternate():
    layout = read_layout(an_l_shape())

    assert len(crossings_of(layout)) == 6
    assert len(places_of(layout)) == 6 * layout.round_count


def test_high_walls_start_on_half_logs_unless_their_deck_is_raised():
    assert half_logs_of(read_layout(a_rectangle())) == (
        HalfLog(wall="B", length_mm=4260),
        HalfLog(wall="D", length_mm=4260),
    )
    assert half_logs_of(read_layout(a_rectangle(high_start="raised_deck"))) == ()


def test_the_least_number_of_rounds_reaches_the_height():
    assert rounds_for_height(2600, 371) == 8
    assert rounds_for_height(2597, 371) == 7
    assert rounds_for_height(7 * 371.1, 371.1) == 7
    assert rounds_for_height(10, 371) == 1


def test_a_round_that_does_not_rise_is_refused():
    with pytest.raises(ImpossibleRise, match="does not raise a wall"):
        rounds_for_height(2600, 0)
