"""Cubic volume of logs by rule, and what the reading error makes of it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.profile import BadPosition, LogProfile, profile_of
from inventory.core.volume import (
    MM3_PER_M3,
    BadVolume,
    CubicRule,
    cone_frustum_mm3,
    cubic_volume,
    huber_mm3,
    neiloid_frustum_mm3,
    newton_mm3,
    reading_spread,
    smalian_mm3,
    volume_mm3,
)


def a_log(*, butt: float = 330.0, middle: float = 300.0, tip: float = 270.0, thickness: float | None = None):
    """A log of 6 m with its ends taken at the very ends, so that volumes are easy by hand."""
    return profile_of(
        length_mm=6000,
        butt_mm=butt,
        middle_mm=middle,
        tip_mm=tip,
        station_inset_mm=0,
        sawn_thickness_mm=thickness,
    )


def test_an_even_log_has_the_same_volume_by_every_rule():
    even = a_log(butt=300, middle=300, tip=300)

    for rule in CubicRule:
        assert cubic_volume(even, rule=rule).volume_m3 == pytest.approx(math.pi * 0.15**2 * 6)


def test_a_straight_taper_is_a_cone_frustum_by_hand():
    # pi / 12 * 6 m * (0.33^2 + 0.33 * 0.27 + 0.27^2) = 0.42553 m3
    by_hand = math.pi / 12 * 6 * (0.33**2 + 0.33 * 0.27 + 0.27**2)

    assert volume_mm3(a_log()) / MM3_PER_M3 == pytest.approx(by_hand)
    assert cubic_volume(a_log(), rule=CubicRule.NEWTON).volume_m3 == pytest.approx(by_hand)


@given(small=st.floats(1e3, 1e5), growth=st.floats(1, 4), length=st.floats(500, 12_000))
def test_of_the_solids_of_a_stem_the_paraboloid_is_largest_and_the_neiloid_smallest(small, growth, length):
    ends = {"small_mm2": small, "large_mm2": small * growth, "length_mm": length}

    neiloid, cone, paraboloid = neiloid_frustum_mm3(**ends), cone_frustum_mm3(**ends), smalian_mm3(**ends)

    assert neiloid <= cone * (1 + 1e-12)
    assert cone <= paraboloid * (1 + 1e-12)


@given(
    butt=st.floats(300, 450), middle=st.floats(250, 300), tip=st.floats(150, 250), cut=st.floats(0.05, 0.95)
)
def test_a_log_cut_in_two_keeps_its_volume(butt: float, middle: float, tip: float, cut: float):
    log = a_log(butt=butt, middle=middle, tip=tip)
    at = cut * 6000

    parts = volume_mm3(log, to_mm=at) + volume_mm3(log, from_butt_mm=at)

    assert parts == pytest.approx(volume_mm3(log))


def test_sawing_two_faces_takes_the_slabs_away():
    # Faces 300 high and 150 apart come from a round of 335.41.
    sawn, round_log = (
        a_log(butt=300, middle=300, tip=300, thickness=150),
        a_log(butt=335.41, middle=335.41, tip=335.41),
    )

    assert volume_mm3(sawn) < 0.7 * volume_mm3(round_log)
    assert volume_mm3(sawn) > 300 * 150 * 6000


def test_the_reading_error_of_an_even_log_is_known_by_hand():
    # Frustum of two halves: the butt weighs 1/4 of the length, the middle 1/2, the tip 1/4.
    even = a_log(butt=300, middle=300, tip=300)
    per_mm = math.pi / 2 * 300 * 6000

    spread = reading_spread(even, volume_mm3, reading_sd_mm=4)

    assert spread == pytest.approx(4 * per_mm * math.hypot(0.25, 0.5, 0.25), rel=1e-3)


def test_a_volume_carries_its_range_and_its_basis():
    answer = cubic_volume(a_log())

    spread = 2 * reading_spread(a_log(), volume_mm3, reading_sd_mm=4) / MM3_PER_M3
    assert (answer.low_m3, answer.high_m3) == pytest.approx(
        (answer.volume_m3 - spread, answer.volume_m3 + spread)
    )
    assert "two standard deviations" in answer.uncertainty
    assert answer.basis.rule.startswith("sum of frustums")
    assert "4 mm" in answer.uncertainty


def test_a_worse_caliper_gives_a_wider_range():
    fine, coarse = cubic_volume(a_log(), reading_sd_mm=3), cubic_volume(a_log(), reading_sd_mm=6)

    assert coarse.high_m3 - coarse.low_m3 == pytest.approx(2 * (fine.high_m3 - fine.low_m3))


@pytest.mark.parametrize(
    ("rule", "said"), [(CubicRule.SMALIAN, "overstates"), (CubicRule.HUBER, "understates")]
)
def test_a_flared_butt_is_warned_of(rule: CubicRule, said: str):
    flared, straight = a_log(butt=400, middle=300, tip=280), a_log()

    assert said in cubic_volume(flared, rule=rule).cautions[0]
    assert cubic_volume(straight, rule=rule).cautions == ()
    assert cubic_volume(flared, rule=CubicRule.NEWTON).cautions == ()


@pytest.mark.parametrize(("butt_mm", "warned"), [(341, False), (343, True)])
def test_a_butt_flares_where_the_ends_are_a_fiftieth_thicker_than_the_middle(butt_mm, warned):
    # Ends of 341 and 270 are 305.5 in the mean, of 343 and 270 306.5; a fiftieth over 300 is 306.
    log = a_log(butt=butt_mm)

    for rule in (CubicRule.SMALIAN, CubicRule.HUBER):
        assert bool(cubic_volume(log, rule=rule).cautions) is warned


@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
def test_nothing_encloses_no_volume(wrong: float):
    with pytest.raises(BadVolume):
        huber_mm3(middle_mm2=wrong, length_mm=6000)
    with pytest.raises(BadVolume):
        newton_mm3(small_mm2=1, middle_mm2=1, large_mm2=1, length_mm=wrong)
    with pytest.raises(BadVolume):
        cubic_volume(a_log(), reading_sd_mm=wrong)


@pytest.mark.parametrize(("start", "end"), [(-1, 100), (100, 100), (0, 6001), (math.nan, 100), (0, math.nan)])
def test_there_is_no_volume_outside_the_log(start: float, end: float):
    log: LogProfile = a_log()

    with pytest.raises(BadPosition):
        volume_mm3(log, from_butt_mm=start, to_mm=end)
