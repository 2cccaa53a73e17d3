"""Before any plan: the rounds that come nearest the wanted height with the yards' logs, and the range."""

import math

import pytest

from cabins.core.height_estimate import NoLogs, height_estimate
from cabins.core.layout import read_layout
from cabins.core.layout_parts import Layout, Start
from cabins.core.rounds import ImpossibleRise
from cabins.core.wall_ends import wall_ends
from tests.cabins.core.drawings import a_rectangle

GAP = {"smallest_mm": 5, "target_mm": 10, "largest_mm": 25}
# Twice the error of a height read to 2.5 mm, and in each round of a diameter read to 4 and a notch cut to 3.
BEYOND_MM = {rounds: 2 * math.sqrt(2.5**2 + rounds * 25) for rounds in (7, 8)}


def a_hut(wall_height_mm: float, **changed: object) -> Layout:
    return read_layout(a_rectangle(gap=GAP, wall_height_mm=wall_height_mm, **changed))


def ends_of(layout: Layout, middles_mm: list[float]) -> dict[Start, float]:
    return {end.start: end.top_mm for end in height_estimate(layout, middles_mm=middles_mm).ends}


def test_seven_rounds_of_310_come_nearest_to_2100_and_take_28_logs_and_one_for_the_half_logs():
    estimate = height_estimate(a_hut(2100), middles_mm=[280, 320] * 20)

    assert (estimate.rounds, estimate.rise_mm, estimate.mean_middle_mm) == (7, 310, 300)
    assert estimate.ends[0].top_mm == pytest.approx(2170)
    assert (estimate.logs_needed, estimate.logs_short) == (29, 0)


def test_of_eight_rounds_a_little_low_and_nine_far_too_high_the_eight_are_chosen():
    # A builder's yard: 8 rounds give 8' 1 5/8", 9 give 9' 2" for 8' 2" wanted.
    estimate = height_estimate(a_hut(2489.2), middles_mm=[299.95] * 60)

    assert estimate.rounds == 8
    assert estimate.ends[0].top_mm == pytest.approx(8 * 309.95)


def test_a_wall_lower_than_one_log_takes_one_round():
    assert height_estimate(a_hut(300, openings=[]), middles_mm=[400] * 9).rounds == 1


def test_thick_logs_take_fewer_rounds_than_thin_ones_and_end_within_the_range_told():
    estimate = height_estimate(a_hut(2500), middles_mm=[250] * 40 + [350] * 40)

    assert (estimate.rounds_least, estimate.rounds, estimate.rounds_most) == (7, 8, 10)
    low = estimate.ends[0]
    assert low.low_mm == pytest.approx(8 * 260 - BEYOND_MM[8])
    assert low.high_mm == pytest.approx(8 * 360 + BEYOND_MM[8])


def test_where_logs_are_short_the_rest_may_be_as_thin_or_as_thick_as_those_there():
    estimate = height_estimate(a_hut(2100), middles_mm=[280, 320] * 5)

    assert (estimate.rounds, estimate.logs_needed, estimate.logs_short) == (7, 29, 19)
    thin, thick = (10 * 300 + 19 * 280) / 29, (10 * 300 + 19 * 320) / 29
    low = estimate.ends[0]
    assert low.low_mm == pytest.approx(7 * (thin + 10) - BEYOND_MM[7])
    assert low.high_mm == pytest.approx(7 * (thick + 10) + BEYOND_MM[7])


def test_even_one_log_gives_a_range_and_no_point():
    low = height_estimate(a_hut(2100), middles_mm=[300]).ends[0]

    assert low.low_mm < low.top_mm - 20 < low.top_mm + 20 < low.high_mm


@pytest.mark.parametrize(
    "way",
    [
        {},
        {"sill_flat": {"width_mm": 60}, "sealer_mm": 6},
        {"half_logs": True},
        {"half_logs": True, "top": "even"},
        {"high_start": "raised_deck", "deck_raise_mm": 150},
    ],
    ids=["plain", "flat", "half logs", "even", "raised"],
)
def test_walls_end_where_the_layout_itself_says_for_logs_of_that_middle(way: dict[str, object]):
    estimate = height_estimate(a_hut(2100, **way), middles_mm=[312.0] * 40)

    built = wall_ends(a_hut(2100, rounds=estimate.rounds, **way), middle_mm=312.0)
    found = {end.start: end.top_mm for end in estimate.ends}
    assert found == {end.start: pytest.approx(end.top_mm) for end in built}
    assert abs(found[Start.LOW] - 2100) <= 322 / 2, "no other count of rounds comes nearer"


def test_half_logs_at_the_top_count_for_the_height_and_so_for_the_rounds():
    plain, even = a_hut(2010), a_hut(2010, top="even")

    assert height_estimate(plain, middles_mm=[300] * 40).rounds == 6
    assert ends_of(plain, [300] * 40)[Start.LOW] == pytest.approx(1860)
    # Six rounds and half a log: (300 - 5) / 2 and a gap more.
    assert ends_of(even, [300] * 40)[Start.LOW] == pytest.approx(1860 + 10 + 147.5)


def test_an_empty_yard_gives_no_estimate():
    with pytest.raises(NoLogs):
        height_estimate(a_hut(2100), middles_mm=[])


def test_logs_thinner_than_the_overlap_raise_no_wall():
    scribed = {"smallest_mm": -160, "target_mm": -150, "largest_mm": -100}
    hut = read_layout(a_rectangle(gap=scribed, log_middle_mm=400))

    with pytest.raises(ImpossibleRise, match="does not raise a wall"):
        height_estimate(hut, middles_mm=[110, 120])
