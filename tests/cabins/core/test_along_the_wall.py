"""The gap between two logs along the whole wall, worked by hand and on logs drawn at random."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabins.core.along_the_wall import (
    AlongError,
    CrownLaid,
    LaidLog,
    axis_mm,
    bow_mm,
    diameter_mm,
    gap_along,
    gap_mm,
    is_outside,
    top_mm,
    underside_mm,
)
from cabins.core.layout_parts import Gap
from cabins.core.pieces import ButtAt
from inventory.core.profile import piece_crown_mm, profile_of


def a_laid_log(
    *,
    butt: float = 300,
    middle: float = 300,
    tip: float = 300,
    tops: tuple[float, float] = (300, 300),
    length: float = 6000,
    from_butt: float = 0.0,
    butt_at: ButtAt = ButtAt.START,
    **crown,
) -> LaidLog:
    """A log in a wall of `length`, held at its very ends; its readings are at its ends and middle."""
    profile = profile_of(
        length_mm=length + from_butt, butt_mm=butt, middle_mm=middle, tip_mm=tip, station_inset_mm=0
    )
    return LaidLog(
        profile=profile, from_butt_mm=from_butt, butt_at=butt_at, start_mm=0, end_mm=length,
        supports=((0, tops[0]), (length, tops[1])), **crown,
    )  # fmt: skip


def test_even_straight_logs_leave_one_gap_all_along():
    gap = gap_along(a_laid_log(tops=(613, 613)), [a_laid_log()])

    assert (gap.smallest_mm, gap.largest_mm) == pytest.approx((13, 13))


def test_a_flared_log_leaves_more_at_mid_wall_than_at_the_corners():
    # Lower: 340, 300, 280. At its ends the top is 340 and 280, so its axis is at 170 and 140, mid-wall 155:
    # its top there is 155 + 150 = 305, 5 mm under the line from 340 to 280. The upper one, even and straight,
    # lies 13 over both ends: its underside at mid-wall is 323, and the gap 18.
    lower = a_laid_log(butt=340, tip=280, tops=(340, 280))
    upper = a_laid_log(tops=(653, 593))

    gap = gap_along(upper, [lower])

    assert gap_mm(upper, lower, 0) == pytest.approx(13)
    assert gap_mm(upper, lower, 3000) == pytest.approx(18)
    assert (gap.smallest_mm, gap.largest_mm, gap.largest_at_mm) == pytest.approx((13, 18, 3000))


def test_a_crown_laid_up_opens_the_gap_below_and_closes_the_one_above():
    straight = a_laid_log()
    bowed = a_laid_log(tops=(613, 613), crown_mm=40)
    above = a_laid_log(tops=(926, 926))

    assert gap_mm(bowed, straight, 3000) == pytest.approx(13 + 40)
    assert gap_mm(above, bowed, 3000) == pytest.approx(13 - 40)
    # A quarter along, the bow is three quarters of its crown.
    assert gap_mm(bowed, straight, 1500) == pytest.approx(13 + 30)
    found = gap_along(above, [bowed])
    assert (found.smallest_mm, found.smallest_at_mm, found.largest_mm) == pytest.approx((-27, 3000, 13))


def test_a_crown_laid_down_or_to_the_side():
    straight = a_laid_log()
    down = a_laid_log(tops=(613, 613), crown_mm=40, crown_laid=CrownLaid.DOWN)
    aside = replace(down, crown_laid=CrownLaid.SIDE)

    assert gap_mm(down, straight, 3000) == pytest.approx(13 - 40)
    assert gap_along(aside, [straight]).largest_mm == pytest.approx(13)


def test_a_bow_is_measured_from_where_the_log_is_held():
    # Held 600 mm in from both ends of 6 m: the bow there is 40 (1 - 0.8^2) = 14.4, so 25.6 are left between.
    bowed = replace(a_laid_log(crown_mm=40), supports=((600, 300), (5400, 300)))

    assert top_mm(bowed, 3000) == pytest.approx(300 + 25.6)
    assert piece_crown_mm(crown_mm=40, log_mm=6000, piece_mm=4800) == pytest.approx(25.6)
    # Out over the overhang it runs down.
    assert top_mm(bowed, 0) == pytest.approx(300 - 14.4)


def test_a_bow_peaks_where_it_was_charted():
    peaked = a_laid_log(crown_mm=30, crown_at_mm=2000)
    turned = replace(peaked, butt_at=ButtAt.END)

    assert top_mm(peaked, 2000) == pytest.approx(330)
    assert top_mm(turned, 4000) == pytest.approx(330)
    assert bow_mm(length_mm=6000, crown_mm=30, peak_mm=2000, at_mm=1000) == pytest.approx(30 * 0.75)
    assert bow_mm(length_mm=6000, crown_mm=30, peak_mm=0, at_mm=3000) == pytest.approx(30 * 0.75)
    gap = gap_along(replace(peaked, supports=((0, 613), (6000, 613))), [a_laid_log()])
    assert (gap.largest_mm, gap.largest_at_mm) == pytest.approx((43, 2000))


def test_over_an_opening_nothing_lies_below():
    upper = a_laid_log(tops=(613, 613), crown_mm=40)
    left = replace(a_laid_log(length=2000), supports=((0, 300), (2000, 300)))
    right = LaidLog(
        profile=left.profile, from_butt_mm=0, butt_at=ButtAt.START, start_mm=4000, end_mm=6000,
        supports=((4000, 300), (6000, 300)),
    )  # fmt: skip

    gap = gap_along(upper, [left, right])

    # The crown's peak is over the opening; the widest gap over a log is at its edges, 8/9 of the crown.
    assert gap.largest_mm == pytest.approx(13 + 40 * 8 / 9)
    assert gap.largest_at_mm in (2000, 4000)
    assert gap_along(upper, []) is None


def test_the_band_is_left_where_the_gap_is_not_measured_at_the_corners():
    band = Gap(smallest_mm=5, target_mm=13, largest_mm=20)
    straight, flared = a_laid_log(), a_laid_log(butt=360, tip=280, tops=(360, 280))

    within = gap_along(a_laid_log(tops=(613, 613)), [straight])
    # Flare 20 in the mean of the ends: 10 mm more at mid-wall, 23 in all.
    beyond = gap_along(a_laid_log(tops=(673, 593)), [flared])

    assert beyond.largest_mm == pytest.approx(23)
    assert (is_outside(within, band), is_outside(beyond, band)) == (False, True)


@pytest.mark.parametrize(
    "wrong",
    [
        {"supports": ((0, 300), (0, 300))},
        {"supports": ((-1, 300), (6000, 300))},
        {"supports": ((0, 300), (7000, 300))},
        {"supports": ((0, float("nan")), (6000, 300))},
        {"crown_mm": -1.0},
        {"crown_mm": float("inf")},
        {"crown_at_mm": 6001.0},
        {"start_mm": float("nan")},
    ],
)
def test_no_log_lies_so(wrong: dict):
    with pytest.raises(AlongError):
        replace(a_laid_log(), **wrong)


def test_a_log_has_no_diameter_where_it_does_not_lie():
    with pytest.raises(AlongError, match="outside the log"):
        diameter_mm(a_laid_log(), 6001)


logs = st.builds(
    a_laid_log,
    butt=st.floats(280, 420),
    middle=st.floats(240, 330),
    tip=st.floats(180, 300),
    tops=st.tuples(st.floats(200, 400), st.floats(200, 400)),
    from_butt=st.floats(0, 1500),
    butt_at=st.sampled_from(ButtAt),
    crown_mm=st.floats(0, 120),
    crown_laid=st.sampled_from(CrownLaid),
)


@given(upper=logs, lower=logs)
def test_no_position_has_a_gap_beyond_the_two_that_are_told(upper: LaidLog, lower: LaidLog):
    found = gap_along(upper, [lower])
    looked_at = [gap_mm(upper, lower, at) for at in range(0, 6001, 40)]

    assert found.smallest_mm - 1e-6 <= min(looked_at)
    assert max(looked_at) <= found.largest_mm + 1e-6
    assert gap_mm(upper, lower, found.smallest_at_mm) == pytest.approx(found.smallest_mm)
    assert gap_mm(upper, lower, found.largest_at_mm) == pytest.approx(found.largest_mm)


@given(log=logs)
def test_a_log_lies_at_the_heights_it_is_held_at(log: LaidLog):
    for at, top in log.supports:
        assert top_mm(log, at) == pytest.approx(top)
        assert underside_mm(log, at) == pytest.approx(top - diameter_mm(log, at))


@given(upper=logs, lower=logs, up=st.floats(-200, 200))
def test_a_log_lifted_evenly_opens_its_gap_by_as_much(upper: LaidLog, lower: LaidLog, up: float):
    (first, top), (last, other) = upper.supports
    before = gap_along(upper, [lower])
    after = gap_along(replace(upper, supports=((first, top + up), (last, other + up))), [lower])

    assert after.smallest_mm - before.smallest_mm == pytest.approx(up, abs=1e-6)
    assert after.largest_mm - before.largest_mm == pytest.approx(up, abs=1e-6)


@given(log=logs, at=st.floats(0, 6000))
def test_a_log_turned_end_for_end_with_its_heights_is_its_mirror(log: LaidLog, at: float):
    (_, top), (_, other) = log.supports
    turned = replace(
        log,
        butt_at=ButtAt.END if log.butt_at is ButtAt.START else ButtAt.START,
        supports=((0, other), (6000, top)),
    )

    assert axis_mm(turned, 6000 - at) == pytest.approx(axis_mm(log, at))
