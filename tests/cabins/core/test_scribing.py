"""Scribing: where a log rests, the one setting, the final scribe after rough cuts, the groove."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabins.core.along_the_wall import AlongError, CrownLaid, LaidLog, gap_along, gap_mm
from cabins.core.scribing import (
    CAUTION_GROOVE,
    CAUTION_NARROW,
    LAST_GAP_MM,
    ScribedCrossing,
    groove_width_mm,
    grooves_of,
    rough_cuts_mm,
    scribe_from,
    scribing_of,
)
from tests.cabins.core.test_along_the_wall import a_laid_log, logs

# Logs of 300 below, whose tops are at 300; logs of the crossing walls with their tops at 430 and 450.
BELOW = a_laid_log()
OVER = (
    ScribedCrossing(at_mm=0, top_mm=430, notch_mm=150),
    ScribedCrossing(at_mm=6000, top_mm=450, notch_mm=170),
)


def planned(**changes) -> LaidLog:
    """The upper log at its planned tops: 20 mm of overlap with the log below."""
    return a_laid_log(tops=(580, 580), **changes)


def test_a_groove_is_as_wide_as_the_lens_of_two_circles():
    # Two logs of 300 that overlap by 20 lie 280 apart: half the chord is sqrt(150^2 - 140^2).
    assert groove_width_mm(upper_mm=300, lower_mm=300, overlap_mm=20) == pytest.approx(
        2 * math.sqrt(150**2 - 140**2)
    )
    assert groove_width_mm(upper_mm=300, lower_mm=300, overlap_mm=20) / 300 == pytest.approx(0.36, abs=0.005)
    assert groove_width_mm(upper_mm=300, lower_mm=300, overlap_mm=30) == pytest.approx(131, abs=0.5)
    assert groove_width_mm(upper_mm=300, lower_mm=300, overlap_mm=0) == 0
    assert groove_width_mm(upper_mm=300, lower_mm=300, overlap_mm=-13) == 0
    # Past the middle of the smaller log its whole diameter counts.
    assert groove_width_mm(upper_mm=400, lower_mm=200, overlap_mm=200) == 200


@given(upper=st.floats(150, 500), lower=st.floats(150, 500), overlap=st.floats(1, 60))
def test_the_edges_of_a_groove_lie_on_both_logs(upper: float, lower: float, overlap: float):
    half = groove_width_mm(upper_mm=upper, lower_mm=lower, overlap_mm=overlap) / 2

    assert 0 < half <= min(upper, lower) / 2
    apart = (upper + lower) / 2 - overlap
    over, under = math.sqrt(upper**2 / 4 - half**2), math.sqrt(lower**2 / 4 - half**2)
    # The distances of both centres from the chord add up to the distance of the centres.
    assert over + under == pytest.approx(apart, abs=1e-6)


@pytest.mark.parametrize(
    "wrong",
    [
        {"upper_mm": 0, "lower_mm": 300, "overlap_mm": 20},
        {"upper_mm": 300, "lower_mm": math.nan, "overlap_mm": 20},
        {"upper_mm": 300, "lower_mm": 300, "overlap_mm": math.inf},
    ],
)
def test_no_two_logs_overlap_so(wrong: dict):
    with pytest.raises(AlongError):
        groove_width_mm(**wrong)


def test_from_un_notched_one_setting_is_the_widest_gap_and_the_overlap_wanted():
    # It rests with its underside at 430 and 450, over a log whose top is at 300: 130 to 150 mm apart.
    scribe = scribe_from(planned(), [BELOW], OVER, rough_cuts_mm=(0, 0), overlap_mm=20)

    assert [rest.top_mm for rest in scribe.rests] == pytest.approx([730, 750])
    assert (scribe.widest_mm, scribe.widest_at_mm, scribe.setting_mm) == pytest.approx((150, 6000, 170))
    # One setting cannot level it: the other end comes 20 mm lower than planned.
    assert scribe.tops_mm == pytest.approx((560, 580))


def test_a_crown_laid_up_needs_a_wider_setting_than_the_corner_tells():
    scribe = scribe_from(planned(crown_mm=40), [BELOW], OVER, rough_cuts_mm=(20, 40), overlap_mm=20)

    # 110 at both corners, 150 under the crown: what is set at a corner would not touch there.
    assert gap_mm(replace(planned(crown_mm=40), supports=((0, 710), (6000, 710))), BELOW, 0) == pytest.approx(
        110
    )
    assert (scribe.widest_mm, scribe.widest_at_mm) == pytest.approx((150, 3000))
    assert scribe.setting_mm == pytest.approx(170)


def test_rough_cuts_leave_two_inches_and_the_final_scribe_brings_the_log_to_its_planned_tops():
    scribing = scribing_of(planned(), [BELOW], OVER, overlap_mm=20)

    # 150 and 170 are to go; 50.8 of gap and 20 of overlap are left for the last: 79.2 and 99.2 roughly.
    assert [rest.rough_cut_mm for rest in scribing.final.rests] == pytest.approx([79.2, 99.2])
    assert scribing.final.widest_mm == pytest.approx(LAST_GAP_MM)
    assert scribing.final.setting_mm == pytest.approx(70.8)
    assert scribing.final.tops_mm == pytest.approx((580, 580))
    assert scribing.below_plan_mm == 0
    assert [(g.at_mm, round(g.overlap_mm, 6)) for g in scribing.grooves] == [(0, 20), (3000, 20), (6000, 20)]
    assert scribing.grooves[1].width_mm == pytest.approx(107.7, abs=0.05)


def test_a_log_comes_lower_than_planned_where_the_groove_would_not_close():
    # The crown leaves 40 - 20 = 20 mm open at mid-wall; for 10 mm of overlap the log must come 30 lower.
    scribing = scribing_of(planned(crown_mm=40), [BELOW], OVER, overlap_mm=10)

    assert scribing.below_plan_mm == pytest.approx(30)
    assert scribing.final.widest_mm == pytest.approx(LAST_GAP_MM)
    assert scribing.final.setting_mm == pytest.approx(60.8)
    assert scribing.final.tops_mm == pytest.approx((550, 550))
    assert [round(g.overlap_mm, 6) for g in scribing.grooves] == [50, 10, 50]


def test_a_groove_is_cautioned_where_it_takes_too_much_and_where_it_is_too_narrow():
    deep = scribing_of(planned(crown_mm=40), [BELOW], OVER, overlap_mm=10)
    even = scribing_of(planned(), [BELOW], OVER, overlap_mm=20)
    shallow = scribing_of(a_laid_log(tops=(595, 595)), [BELOW], OVER, overlap_mm=3)

    assert CAUTION_GROOVE in deep.cautions
    assert not {CAUTION_GROOVE, CAUTION_NARROW} & set(even.cautions)
    assert CAUTION_NARROW in shallow.cautions
    assert "from memory" in CAUTION_GROOVE


def test_the_groove_may_be_set_wider_than_the_notch():
    scribing = scribing_of(planned(), [BELOW], OVER, overlap_mm=20, overscribe_mm=6)

    assert scribing.final.groove_setting_mm == pytest.approx(scribing.final.setting_mm + 6)


def test_a_notch_shallower_than_the_last_gap_is_not_cut_before():
    shallow = (
        ScribedCrossing(at_mm=0, top_mm=310, notch_mm=30),
        ScribedCrossing(at_mm=6000, top_mm=340, notch_mm=60),
    )

    cuts = rough_cuts_mm(shallow, planned=gap_along(planned(), [BELOW]))

    assert cuts == pytest.approx((0, 30))
    assert scribing_of(planned(), [BELOW], shallow, overlap_mm=20).final.tops_mm == pytest.approx((580, 580))


def test_a_crown_to_the_side_changes_no_setting():
    aside = planned(crown_mm=40, crown_laid=CrownLaid.SIDE)

    assert (
        scribing_of(aside, [BELOW], OVER, overlap_mm=20).first
        == scribing_of(planned(), [BELOW], OVER, overlap_mm=20).first
    )


def test_the_first_round_is_not_scribed_to_anything():
    assert scribing_of(planned(), [], OVER, overlap_mm=20) is None
    assert scribe_from(planned(), [], OVER, rough_cuts_mm=(0, 0), overlap_mm=20) is None
    assert grooves_of(planned(), []) == ()


@pytest.mark.parametrize("overlap", [-1, math.nan, math.inf])
def test_an_overlap_is_wanted(overlap: float):
    with pytest.raises(AlongError):
        scribing_of(planned(), [BELOW], OVER, overlap_mm=overlap)


@given(upper=logs, lower=logs, start=st.floats(300, 700), end=st.floats(300, 700), overlap=st.floats(0, 40))
def test_after_one_setting_the_log_overlaps_everywhere_by_what_is_wanted(
    upper: LaidLog, lower: LaidLog, start: float, end: float, overlap: float
):
    over = (
        ScribedCrossing(at_mm=0, top_mm=start, notch_mm=100),
        ScribedCrossing(at_mm=6000, top_mm=end, notch_mm=100),
    )  # fmt: skip
    scribe = scribe_from(upper, [lower], over, rough_cuts_mm=(0, 0), overlap_mm=overlap)
    if scribe.setting_mm == 0:
        return

    down = replace(upper, supports=((0, scribe.tops_mm[0]), (6000, scribe.tops_mm[1])))

    assert gap_along(down, [lower]).largest_mm == pytest.approx(-overlap, abs=1e-6)


@given(upper=logs, lower=logs, overlap=st.floats(0, 40), notch=st.floats(60, 200), other=st.floats(60, 200))
def test_the_final_scribe_comes_down_level_with_the_plan(
    upper: LaidLog, lower: LaidLog, overlap: float, notch: float, other: float
):
    (_, top), (_, end_top) = upper.supports
    # What the wall's heights say: a notch is the crossing log's top less the underside wanted.
    over = tuple(
        ScribedCrossing(at_mm=at, top_mm=planned_top - 300 + deep, notch_mm=deep)
        for at, planned_top, deep in ((0, top, notch), (6000, end_top, other))
    )
    even = replace(upper, profile=a_laid_log(length=9000).profile)
    scribing = scribing_of(even, [lower], over, overlap_mm=overlap)

    below = [top - scribing.final.tops_mm[0], end_top - scribing.final.tops_mm[1]]
    if scribing.final.setting_mm > 0:
        assert below == pytest.approx([scribing.below_plan_mm] * 2, abs=1e-6)
