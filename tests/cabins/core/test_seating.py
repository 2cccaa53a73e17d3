"""One target for each top: the height to reach, steering back to the plan, flats, half logs and tees."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabins.core.layout import Gap
from cabins.core.layout_parts import SillFlat
from cabins.core.next_log import Remedy
from cabins.core.pile import half_log_mm
from cabins.core.seating import height_to_reach_mm, left_after_rounds_mm, rounds_to_return
from cabins.core.stack import PiledTop, Spot, Stack, stack_up
from cabins.core.steering import steer_next_log
from tests.cabins.core.drawings import EVEN, a_cabin, laid

# The band of `a_cabin`: 5 to 20 mm about a target of 10.
BAND = Gap(smallest_mm=5, target_mm=10, largest_mm=20)
TAPERED = {"A": (320, 280), "B": (300, 260), "C": (320, 280), "D": (300, 260)}
TURNED = {"A": (280, 320), "B": (260, 300), "C": (280, 320), "D": (260, 300)}


def planned_tops(rows: list[dict[str, tuple[int, ...]]]) -> dict[Spot, float]:
    """The own tops of the plan that lays these logs."""
    return dict(stack_up(a_cabin(rounds=len(rows)), diameters_mm=laid(rows)).heights_mm)


def the_top(stack: Stack, wall: str, round_number: int, column: int) -> PiledTop:
    (top,) = [t for t in stack.tops if (t.wall, t.round, t.column) == (wall, round_number, column)]
    return top


def test_a_wall_out_of_level_as_planned_is_no_error_to_correct():
    rows = [TAPERED, TURNED, TAPERED]

    stack = stack_up(a_cabin(rounds=3), diameters_mm=laid(rows), planned_mm=planned_tops(rows))
    sheet = steer_next_log(stack, wall="A", round_number=1, diameters_mm={0: 320, 1: 280})

    assert sheet.remedy is Remedy.NONE
    assert [end.reach_mm for end in sheet.ends] == [330, 290]
    assert [end.off_plan_mm for end in sheet.ends] == [0, 0]


def test_by_hand_a_top_measured_twelve_too_high_comes_back_in_three_rounds():
    # The gap may close from 10 to 5: 5 mm a round.
    rows = [EVEN] * 4

    stack = stack_up(
        a_cabin(rounds=4),
        diameters_mm=laid(rows),
        measured_mm={("A", 1, 0): 322},
        planned_mm=planned_tops(rows),
    )

    tops = [the_top(stack, "A", number, 0) for number in (1, 2, 3, 4)]
    assert [top.stands_off_mm for top in tops] == [12, 7, 2, 0]
    assert [top.reach_mm for top in tops] == [310, 627, 932, 1240]
    # Round 2 lies over wall D, which tops at 465: 465 - (322 + 5).
    seat = tops[1].seat
    assert seat is not None
    assert (seat.gap_mm, seat.notch_mm) == (5, 138)


def test_the_sheet_says_over_how_many_rounds_a_wall_comes_back():
    rows = [EVEN] * 4
    stack = stack_up(
        a_cabin(rounds=4),
        diameters_mm=laid(rows),
        measured_mm={("A", 1, 0): 322},
        planned_mm=planned_tops(rows),
    )

    sheet = steer_next_log(stack, wall="A", round_number=2, diameters_mm={0: 300, 1: 300})

    assert sheet.remedy is Remedy.SHARE
    assert [end.off_mm for end in sheet.ends] == [0, 0]
    assert [end.off_plan_mm for end in sheet.ends] == [7, 0]
    assert sheet.rounds_to_share == 2
    assert "7 mm too high: make it good over the next 2 rounds, up to 5 mm in each." in sheet.advice[-1]


def test_what_the_rounds_left_cannot_bring_back_is_planned_again():
    rows = [EVEN] * 2
    stack = stack_up(
        a_cabin(rounds=2),
        diameters_mm=laid(rows),
        measured_mm={("A", 1, 0): 322},
        planned_mm=planned_tops(rows),
    )

    sheet = steer_next_log(stack, wall="A", round_number=2, diameters_mm={0: 300, 1: 300})

    assert sheet.remedy is Remedy.PLAN_AGAIN
    assert sheet.advice[-1].endswith(
        "7 mm too high, more than the gaps of the rounds left bring back: plan the rest again."
    )


def test_another_log_than_planned_is_steered_to_the_same_height():
    # Six thinner than the planned log: the gap opens from 10 to 16.
    rows = [EVEN, EVEN]
    other = laid([EVEN, EVEN | {"A": (294, 300)}])

    stack = stack_up(a_cabin(rounds=2), diameters_mm=other, planned_mm=planned_tops(rows))

    top = the_top(stack, "A", 2, 0)
    assert (top.reach_mm, top.top_mm) == (620, 620)
    assert top.seat is not None
    assert top.seat.gap_mm == 16


@given(off=st.floats(-200, 200), planned=st.floats(200, 3000))
def test_steering_never_passes_the_plan_and_keeps_the_band(off: float, planned: float):
    reach = height_to_reach_mm(planned_mm=planned, stands_off_mm=off, gap=BAND)
    left = reach - planned

    assert abs(left) <= abs(off) + 1e-9
    assert left * off >= -1e-6
    assert -10 - 1e-9 <= off - left <= 5 + 1e-9 if off >= 0 else -10 - 1e-6 <= off - left <= 1e-6


@given(off=st.floats(-200, 200))
def test_the_rounds_told_are_the_first_after_which_nothing_is_left(off: float):
    rounds = rounds_to_return(off, gap=BAND)

    assert rounds is not None
    assert left_after_rounds_mm(off, gap=BAND, rounds=rounds) == pytest.approx(0, abs=1e-4)
    if rounds:
        assert left_after_rounds_mm(off, gap=BAND, rounds=rounds - 1) != pytest.approx(0, abs=1e-9)


def test_a_band_without_reserve_never_brings_a_wall_back():
    assert rounds_to_return(3.0, gap=Gap(smallest_mm=10, target_mm=10, largest_mm=20)) is None


@pytest.mark.parametrize(
    ("flat", "sealer", "top"), [(SillFlat(depth_mm=15), 0, 285), (SillFlat(depth_mm=15), 6, 291)]
)
def test_by_hand_a_sill_log_lies_on_its_flat_without_a_gap(flat: SillFlat, sealer: float, top: float):
    layout = replace(a_cabin(), sill_flat=flat, sealer_mm=sealer)

    stack = stack_up(layout, diameters_mm=laid([EVEN, EVEN]))

    assert stack.heights_mm["A", 1, 0] == top
    # The next log of the wall lies its gap above it.
    assert stack.heights_mm["A", 2, 0] == top + 310


def test_by_hand_a_flat_of_one_width_goes_deeper_into_a_thicker_log():
    # A chord of 150 in a circle of 250: 125 - sqrt(125^2 - 75^2) = 25.
    assert SillFlat(width_mm=150).depth_in_mm(250) == pytest.approx(25)
    assert SillFlat(width_mm=75).depth_in_mm(300) == pytest.approx(150 - math.sqrt(150**2 - 37.5**2))


def test_by_hand_half_logs_carry_the_high_walls_and_lie_under_the_low_ones():
    # A log of 285 ripped with a saw cut of 5 gives halves 140 high.
    layout = replace(a_cabin(), half_logs=True, rip_kerf_mm=5, sill_flat=SillFlat(depth_mm=15))
    halves = {(wall, 0, end): 285.0 for wall in "BD" for end in (0, 1)}

    stack = stack_up(layout, diameters_mm=laid([EVEN, EVEN]) | halves)

    assert half_log_mm(diameter_mm=285, kerf_mm=5) == 140
    assert stack.heights_mm["B", 0, 0] == 140
    assert stack.heights_mm["B", 1, 0] == 140 + 310
    (over_half,) = [n for n in stack.notches if (n.wall, n.round, n.crossing) == ("A", 1, "SE")]
    # The sill log's underside is 15 below the deck's level at its round bottom: 140 + 15.
    assert (over_half.over_wall, over_half.over_round, over_half.depth_mm) == ("B", 0, 155)


def test_by_hand_a_tee_that_nobody_measured_lies_between_the_measured_ends():
    rows = [EVEN | {"A": (300, 290, 280), "C": (300, 300, 300), "P": (310, 310)}] * 2
    layout = a_cabin(partition=True)

    stack = stack_up(layout, diameters_mm=laid(rows), measured_mm={("A", 1, 0): 330, ("A", 1, 2): 310})

    tee = the_top(stack, "A", 1, 1)
    # Undersides at the ends 30; the tee's log is 290 there.
    assert tee.top_mm == pytest.approx(30 + 290)
    assert not tee.is_measured
    assert the_top(stack, "A", 2, 1).top_mm == pytest.approx(320 + 300)
