"""Steering: the height the next log is to reach, the notch for it, and what helps where it cannot."""

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cabins.core.layout import Gap
from cabins.core.next_log import Remedy
from cabins.core.stack import Spot, Stack, stack_up
from cabins.core.steering import SteeringError, level_line_mm, steer_next_log
from tests.cabins.core.drawings import EVEN, a_cabin, laid

# Even logs of 300, gap 10 within 5 to 20: low walls top at 310, 620, ..., high walls at 465, 775, ...


def a_stack(*, rounds: int = 4, measured_mm: dict[Spot, float] | None = None) -> Stack:
    """A cabin of even logs, with what was measured on the wall."""
    return stack_up(a_cabin(rounds=rounds), diameters_mm=laid([EVEN] * rounds), measured_mm=measured_mm)


def test_a_log_on_a_level_wall_is_notched_as_the_plan_says():
    sheet = steer_next_log(a_stack(), wall="A", round_number=2, diameters_mm={0: 300, 1: 300})

    assert sheet.remedy is Remedy.NONE
    assert [end.reach_mm for end in sheet.ends] == [620, 620]
    assert [end.notch_mm for end in sheet.ends] == [145, 145]
    assert [end.gap_mm for end in sheet.ends] == [10, 10]
    assert sheet.advice[0] == (
        "At SW: cut the notch 145 mm deep; the gap is then 10 mm and the top comes to 620 mm."
    )


def test_logs_of_a_scribed_wall_are_told_by_how_much_they_overlap():
    wall = stack_up(a_cabin(rounds=4, gap_mm=-20), diameters_mm=laid([EVEN] * 4))

    sheet = steer_next_log(wall, wall="A", round_number=2, diameters_mm={0: 300, 1: 300})

    assert sheet.ends[0].gap_mm == -20
    assert "the logs then overlap by 20 mm and the top comes to 560 mm." in sheet.advice[0]


def test_by_hand_a_deeper_notch_takes_down_a_wall_measured_too_high():
    # Wall A came out 4 mm high at SE: the gap closes from 10 to 7 there, as the level line rises by 1 too.
    stack = a_stack(measured_mm={("A", 1, 1): 314})

    sheet = steer_next_log(stack, wall="A", round_number=2, diameters_mm={0: 300, 1: 300})

    assert level_line_mm(stack, wall="A", round_number=2) == 621
    assert [end.gap_mm for end in sheet.ends] == [11, 7]
    # Wall B tops at 465: 465 - (314 + 7).
    assert sheet.ends[1].notch_mm == 144
    assert [end.top_mm for end in sheet.ends] == [621, 621]
    assert sheet.remedy is Remedy.NONE


def test_a_log_on_the_deck_has_no_notch():
    sheet = steer_next_log(a_stack(), wall="A", round_number=1, diameters_mm={0: 302, 1: 298}, reach_mm=310)

    assert [end.notch_mm for end in sheet.ends] == [None, None]
    assert [end.gap_mm for end in sheet.ends] == [8, 12]
    assert sheet.advice[0] == "At SW: lay the log on the deck; its top comes to 310 mm."


def test_a_high_log_is_notched_over_the_low_log_of_its_own_round():
    sheet = steer_next_log(a_stack(), wall="B", round_number=1, diameters_mm={0: 300, 1: 300})

    assert [end.crossing for end in sheet.ends] == ["SE", "NE"]
    assert [end.crossing_top_mm for end in sheet.ends] == [310, 310]
    assert [end.notch_mm for end in sheet.ends] == [145, 145]


def test_a_tapered_log_on_a_wall_that_leans_is_turned():
    # Wall A is 20 high at SW and 20 low at SE; a log with its butt at SW makes it worse.
    stack = a_stack(measured_mm={("A", 1, 0): 330, ("A", 1, 1): 290})

    sheet = steer_next_log(
        stack, wall="A", round_number=2, diameters_mm={0: 318, 1: 282}, turned_mm={0: 282, 1: 318}
    )

    assert sheet.remedy is Remedy.TURN
    assert sheet.advice[0] == "Turn the log end for end."
    assert sheet.turned is not None
    assert [end.off_mm for end in sheet.turned] == [0, 0]
    assert [end.off_mm for end in sheet.ends] == [33, -28]


def test_what_is_left_after_turning_is_shared_over_the_next_rounds():
    stack = a_stack(measured_mm={("A", 1, 0): 330, ("A", 1, 1): 290})

    sheet = steer_next_log(
        stack, wall="A", round_number=2, diameters_mm={0: 312, 1: 288}, turned_mm={0: 288, 1: 300}
    )

    assert sheet.remedy is Remedy.TURN
    assert sheet.turned is not None
    assert [end.off_mm for end in sheet.turned] == [3, -10]
    assert sheet.rounds_to_share == 1
    assert sheet.advice[-1] == ("At SE the wall stays 10 mm too low: make it good in the next round.")


def test_what_the_band_does_not_take_is_shared_over_the_next_rounds():
    # The log is 15 too thin at SE; 10 of it can be had from the gap, 5 stay.
    sheet = steer_next_log(a_stack(), wall="A", round_number=2, diameters_mm={0: 314, 1: 285}, reach_mm=620)

    assert sheet.remedy is Remedy.SHARE
    assert [end.gap_needed_mm for end in sheet.ends] == [-4, 25]
    assert [end.is_within_band for end in sheet.ends] == [False, False]
    assert [end.off_mm for end in sheet.ends] == [9, -5]
    # Too high, only 5 mm a round can be had by closing the gap: two rounds.
    assert sheet.rounds_to_share == 2
    assert "9 mm too high: make it good over the next 2 rounds, up to 5 mm in each." in sheet.advice[-2]


def test_in_the_last_round_nothing_can_be_shared_and_another_log_is_named():
    stack = a_stack(rounds=2)

    sheet = steer_next_log(stack, wall="A", round_number=2, diameters_mm={0: 314, 1: 285}, reach_mm=620)

    assert sheet.remedy is Remedy.ANOTHER_LOG
    # 620 - 310 less a gap of 20 to 5.
    assert sheet.advice[1] == "At SW: it should measure 290 mm to 305 mm."
    assert (sheet.ends[0].diameter_from_mm, sheet.ends[0].diameter_to_mm) == (290, 305)


def test_a_notch_beyond_its_limit_is_never_advised():
    # B stands 105 lower at SE than it should: there is next to nothing to notch over.
    stack = a_stack(measured_mm={("B", 1, 0): 360})

    sheet = steer_next_log(stack, wall="A", round_number=2, diameters_mm={0: 300, 1: 300}, reach_mm=620)

    assert sheet.remedy is Remedy.ANOTHER_LOG
    assert sheet.ends[1].notch_needed_mm == 40
    assert not sheet.ends[1].is_within_limit
    assert sheet.ends[1].is_blocked
    assert sheet.ends[1].notch_mm == pytest.approx(0.2 * 300)
    assert "no log reaches 620 mm" in sheet.advice[-1]
    assert len(sheet.cautions) == 2


def test_a_band_without_reserve_shares_nothing():
    layout = a_cabin(rounds=4)
    tight = Gap(smallest_mm=10, target_mm=10, largest_mm=10)
    stack = stack_up(replace(layout, gap=tight), diameters_mm=laid([EVEN] * 4))

    sheet = steer_next_log(stack, wall="A", round_number=2, diameters_mm={0: 310, 1: 300}, reach_mm=620)

    assert sheet.remedy is Remedy.ANOTHER_LOG
    assert sheet.rounds_to_share is None


def test_a_piece_beside_a_door_is_steered_at_its_one_corner():
    sheet = steer_next_log(a_stack(), wall="A", round_number=3, diameters_mm={1: 305})

    assert [end.crossing for end in sheet.ends] == ["SE"]


def test_the_error_of_the_top_grows_with_rounds_since_the_last_measuring():
    fresh = a_stack(measured_mm={("A", 2, 0): 620, ("A", 2, 1): 620})

    measured = steer_next_log(fresh, wall="A", round_number=3, diameters_mm={0: 300})
    reckoned = steer_next_log(a_stack(), wall="A", round_number=3, diameters_mm={0: 300})

    assert measured.ends[0].error_mm == pytest.approx(math.hypot(2.5, 4.0, 3.0))
    assert reckoned.ends[0].error_mm > measured.ends[0].error_mm


@given(
    own=st.floats(250, 370),
    crossing=st.floats(380, 560),
    diameter=st.floats(200, 420),
    reach=st.floats(560, 680),
)
def test_what_is_advised_keeps_the_limit_and_adds_up(
    own: float, crossing: float, diameter: float, reach: float
):
    stack = a_stack(measured_mm={("A", 1, 0): own, ("D", 1, 1): crossing})

    sheet = steer_next_log(stack, wall="A", round_number=2, diameters_mm={0: diameter}, reach_mm=reach)

    (end,) = sheet.ends
    assert end.notch_mm is not None
    assert 0.2 * diameter - 1e-6 <= end.notch_mm <= 0.7 * diameter + 1e-6
    # What stays of the log above the log it crosses makes the new top.
    assert crossing + diameter - end.notch_mm == pytest.approx(end.top_mm)
    assert own + end.gap_mm + diameter == pytest.approx(end.top_mm)
    if end.is_within_band and end.is_within_limit:
        assert end.off_mm == pytest.approx(0, abs=1e-6)


@given(
    own=st.floats(250, 370), crossing=st.floats(380, 560), reach=st.floats(560, 680), share=st.floats(0, 1)
)
def test_another_log_of_the_size_named_does_reach_the_height(
    own: float, crossing: float, reach: float, share: float
):
    stack = a_stack(measured_mm={("A", 1, 0): own, ("D", 1, 1): crossing})
    asked = {"wall": "A", "round_number": 2, "reach_mm": reach}
    (first,) = steer_next_log(stack, diameters_mm={0: 300}, **asked).ends
    assume(first.diameter_from_mm is not None)

    assert first.diameter_from_mm is not None
    assert first.diameter_to_mm is not None
    size = first.diameter_from_mm + share * (first.diameter_to_mm - first.diameter_from_mm)
    (other,) = steer_next_log(stack, diameters_mm={0: size}, **asked).ends

    assert other.is_within_band
    assert other.is_within_limit
    assert other.off_mm == pytest.approx(0, abs=1e-5)


@pytest.mark.parametrize(
    ("asked", "reason"),
    [
        ({"wall": "Z"}, "no wall Z"),
        ({"round_number": 9}, "no round 9"),
        ({"diameters_mm": {}}, "no height to reach"),
        ({"diameters_mm": {4: 300}}, "no column 4"),
        ({"diameters_mm": {0: math.nan}}, "nan is no diameter"),
        ({"reach_mm": math.inf}, "inf is no height"),
    ],
)
def test_a_log_that_cannot_be_steered_is_refused(asked: dict[str, object], reason: str):
    plain = {"wall": "A", "round_number": 2, "diameters_mm": {0: 300}}

    with pytest.raises(SteeringError, match=reason):
        steer_next_log(a_stack(), **(plain | asked))  # type: ignore[arg-type]
