"""The wall stack: heights and notches worked by hand, and what must hold for any wall."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabins.core.layout import Start, read_layout
from cabins.core.pieces import ButtAt, LaidPiece, PieceError, column_diameters, from_butt_at
from cabins.core.places import WallPlace
from cabins.core.stack import (
    Notch,
    NotchState,
    Spot,
    Stack,
    StackError,
    notch_depth_mm,
    notch_state,
    stack_up,
)
from inventory.core.crew_errors import CrewErrors
from tests.cabins.core.drawings import EVEN, a_cabin, a_rectangle, laid


def the_notch(stack: Stack, wall: str, round_number: int, crossing: str) -> Notch:
    """The one notch of a wall's log of a round over a crossing."""
    (notch,) = [
        notch
        for notch in stack.notches
        if (notch.wall, notch.round, notch.crossing) == (wall, round_number, crossing)
    ]
    return notch


TAPERED = {"A": (320, 280), "B": (300, 260), "C": (320, 280), "D": (300, 260)}
TURNED = {"A": (280, 320), "B": (260, 300), "C": (280, 320), "D": (260, 300)}


def test_by_hand_even_logs_lie_half_a_log_apart():
    # Each round rises 300 + 10. High walls start at half of it: 155.
    stack = stack_up(a_cabin(), diameters_mm=laid([EVEN, EVEN]))

    assert stack.heights_mm["A", 1, 0] == 310
    assert stack.heights_mm["B", 0, 0] == 155
    assert stack.heights_mm["B", 1, 1] == 465
    assert stack.heights_mm["A", 2, 1] == 620
    # High over low, round 1: 310 - (155 + 10). Low over high, round 2: 465 - (310 + 10).
    assert the_notch(stack, "B", 1, "SE").depth_mm == 145
    assert the_notch(stack, "A", 2, "SE").depth_mm == 145
    assert all(notch.state is NotchState.GOOD for notch in stack.notches)
    assert all(mismatch.mismatch_mm == 0 for mismatch in stack.mismatches)


def test_by_hand_tapered_logs_turned_in_the_second_round():
    # Round 1 of the low walls rises 330 and 290, on average 310: the high walls start at 155.
    stack = stack_up(a_cabin(), diameters_mm=laid([TAPERED, TURNED]))

    # At SE wall A ends and wall B begins: A tops at 280 + 10, B at 155 + 300 + 10.
    assert stack.heights_mm["A", 1, 1] == 290
    assert stack.heights_mm["B", 1, 0] == 465
    assert the_notch(stack, "B", 1, "SE").depth_mm == 290 - (155 + 10)
    assert the_notch(stack, "B", 1, "SE").share == pytest.approx(125 / 300)
    # Round 2, A over B at SE: 465 - (290 + 10) of a log of 320.
    assert the_notch(stack, "A", 2, "SE").depth_mm == 165
    assert the_notch(stack, "A", 2, "SE").diameter_mm == 320
    # After two rounds, one log each way round, wall A is level: 290 + 330 = 330 + 290.
    assert [level.out_of_level_mm for level in stack.levels if level.wall == "A"] == [-40, 0]
    # The mean rise of round 1 is 300, so half a log is 150: at SE 465 - 290 - 150.
    at_se = [mismatch for mismatch in stack.mismatches if mismatch.crossing == "SE"]
    assert at_se[0].half_rise_mm == 150
    assert at_se[0].mismatch_mm == 25


def test_by_hand_a_scribed_wall_overlaps():
    # Overlap 40: each round rises 260, high walls start at 130.
    stack = stack_up(a_cabin(gap_mm=-40), diameters_mm=laid([EVEN, EVEN]))

    assert stack.heights_mm["C", 2, 0] == 520
    assert stack.heights_mm["D", 2, 0] == 650
    # 260 - (130 - 40)
    assert the_notch(stack, "D", 1, "NW").depth_mm == 170


def test_by_hand_a_measured_height_replaces_the_computed_one():
    measured = {("A", 1, 1): 318.0, ("B", 0, 0): 150.0}

    stack = stack_up(a_cabin(), diameters_mm=laid([EVEN, EVEN]), measured_mm=measured)

    assert stack.heights_mm["A", 1, 1] == 318
    assert stack.heights_mm["A", 2, 1] == 628
    assert stack.heights_mm["A", 2, 0] == 620
    assert the_notch(stack, "B", 1, "SE").depth_mm == 318 - (150 + 10)
    # A over B at SE: B tops at 150 + 310.
    assert the_notch(stack, "A", 2, "SE").depth_mm == 460 - (318 + 10)
    top = next(top for top in stack.tops if (top.wall, top.round, top.column) == ("A", 1, 1))
    assert (top.computed_mm, top.top_mm, top.is_measured) == (310, 318, True)


def test_by_hand_a_partition_is_notched_over_the_walls_it_meets():
    rows = [EVEN | {"A": (300, 290, 280), "C": (300, 300, 300), "P": (310, 310)}] * 2

    stack = stack_up(a_cabin(partition=True), diameters_mm=laid(rows))

    # Low walls' ends in round 1 average 295 + 10: high walls and the partition start at 152.5.
    assert stack.heights_mm["P", 0, 0] == 152.5
    assert stack.heights_mm["A", 1, 1] == 300
    assert the_notch(stack, "P", 1, "P-A").depth_mm == 300 - (152.5 + 10)
    assert the_notch(stack, "A", 2, "P-A").depth_mm == (152.5 + 320) - (300 + 10)


def test_the_spread_at_the_plate_is_that_of_the_walls_that_start_alike():
    rows = [EVEN | {"C": (300, 340)}, EVEN]

    stack = stack_up(a_cabin(), diameters_mm=laid(rows))

    assert stack.plate_spread_mm(Start.LOW) == 40
    assert stack.plate_spread_mm(Start.HIGH) == 0


def test_where_no_log_is_known_the_expected_middle_stands_in():
    stack = stack_up(a_cabin(), diameters_mm=laid([EVEN]))

    assert stack.heights_mm["A", 2, 0] == 620
    assert [top.is_assumed for top in stack.tops if (top.wall, top.column) == ("A", 0)] == [
        False,
        False,
        True,
    ]


diameters = st.floats(150, 500)


@given(ends=st.lists(st.tuples(*[diameters] * 8), min_size=1, max_size=12), gap=st.floats(-60, 40))
def test_heights_round_by_round_equal_the_sum_over_the_column(ends: list[tuple[float, ...]], gap: float):
    rows = [
        {wall: (row[2 * number], row[2 * number + 1]) for number, wall in enumerate("ABCD")} for row in ends
    ]

    stack = stack_up(a_cabin(rounds=len(rows), gap_mm=gap), diameters_mm=laid(rows))

    low_start = sum(rows[0][wall][end] + gap for wall in "AC" for end in (0, 1)) / 4 / 2
    for wall, base in (("A", 0), ("B", low_start), ("C", 0), ("D", low_start)):
        for end in (0, 1):
            total = base + math.fsum(row[wall][end] for row in rows) + gap * len(rows)
            assert stack.heights_mm[wall, len(rows), end] == pytest.approx(total)


@given(
    ends=st.lists(st.tuples(*[diameters] * 8), min_size=2, max_size=6),
    heights=st.lists(st.floats(200, 2000), min_size=8, max_size=8),
    upto=st.integers(1, 2),
)
def test_above_a_measured_round_only_the_logs_above_it_count(
    ends: list[tuple[float, ...]], heights: list[float], upto: int
):
    rows = [
        {wall: (row[2 * number], row[2 * number + 1]) for number, wall in enumerate("ABCD")} for row in ends
    ]
    measured = {(wall, upto, end): heights[2 * n + end] for n, wall in enumerate("ABCD") for end in (0, 1)}

    stack = stack_up(a_cabin(rounds=len(rows)), diameters_mm=laid(rows), measured_mm=measured)

    for (wall, _, end), height in measured.items():
        above = sum(row[wall][end] + 10 for row in rows[upto:])
        assert stack.heights_mm[wall, len(rows), end] == pytest.approx(height + above)


@given(depth=st.floats(-100, 500), diameter=diameters)
def test_a_notch_that_is_good_is_allowed(depth: float, diameter: float):
    state = notch_state(depth_mm=depth, diameter_mm=diameter)

    assert (state is NotchState.GOOD) == (0.3 * diameter - 1e-6 <= depth <= 0.6 * diameter + 1e-6)
    assert (state is NotchState.BEYOND) == (depth < 0.2 * diameter - 1e-6 or depth > 0.7 * diameter + 1e-6)


def test_a_crossing_log_too_low_to_notch_over_gives_a_negative_notch():
    assert notch_depth_mm(crossing_top_mm=300, underside_mm=310 + 13) == -23


def test_the_error_of_a_height_grows_until_it_is_measured_again():
    stack = stack_up(
        a_cabin(rounds=4), diameters_mm=laid([EVEN] * 4), measured_mm={("A", 2, 0): 620, ("A", 2, 1): 620}
    )

    errors = [top.error_mm for top in stack.tops if (top.wall, top.column) == ("A", 0)]

    assert errors == sorted(errors[:2]) + sorted(errors[2:])
    assert errors[2] == errors[0] < errors[3] < errors[4]
    assert errors[4] == pytest.approx(math.sqrt(2.5**2 + 2 * (4.0**2 + 3.0**2)))


def test_a_wall_level_on_paper_is_level_only_to_within_its_error():
    stack = stack_up(a_cabin(rounds=4), diameters_mm=laid([EVEN] * 4))

    plate = next(level for level in stack.levels if (level.wall, level.round) == ("A", 4))

    assert plate.out_of_level_mm == 0
    # Each end: one height of 2.5, four diameters of 4 and four notches of 3 mm.
    assert plate.error_mm == pytest.approx(math.sqrt(2 * (2.5**2 + 4 * (4.0**2 + 3.0**2))))


def test_a_crew_that_reads_better_is_told_a_smaller_error():
    careful = CrewErrors(diameter_mm=2, height_mm=1, cut_mm=1)

    stack = stack_up(a_cabin(rounds=4), diameters_mm=laid([EVEN] * 4), errors=careful)

    plate = next(level for level in stack.levels if (level.wall, level.round) == ("A", 4))
    assert plate.error_mm == pytest.approx(math.sqrt(2 * (1 + 4 * (2**2 + 1))))


@pytest.mark.parametrize(
    ("spot", "value", "reason"),
    [
        (("Z", 1, 0), 300, "no place for a diameter at wall Z"),
        (("A", 0, 0), 300, "no place for a diameter at wall A, round 0"),
        (("A", 3, 0), 300, "round 3"),
        (("A", 1, 2), 300, "column 2"),
        (("A", 1, 0), math.nan, "nan is no diameter"),
        (("A", 1, 0), -5, "-5 is no diameter"),
    ],
)
def test_a_diameter_without_a_place_or_a_size_is_refused(spot: Spot, value: float, reason: str):
    with pytest.raises(StackError, match=reason):
        stack_up(a_cabin(), diameters_mm={spot: value})


def test_a_measured_height_must_be_a_number_at_a_column():
    with pytest.raises(StackError, match="inf is no height"):
        stack_up(a_cabin(), diameters_mm={}, measured_mm={("A", 0, 0): math.inf})
    with pytest.raises(StackError, match="0 is no height, at wall A, round 1"):
        stack_up(a_cabin(), diameters_mm={}, measured_mm={("A", 1, 0): 0})
    with pytest.raises(StackError, match="no place for a height"):
        stack_up(a_cabin(), diameters_mm={}, measured_mm={("A", 3, 0): 900})


def tapering(from_butt_mm: float) -> float:
    """A log of 320 at its butt that loses 10 a metre."""
    return 320 - from_butt_mm / 100


def test_a_piece_gives_its_diameters_where_the_wall_is_crossed():
    layout = a_cabin(partition=True)
    piece = LaidPiece(
        wall="A", round=1, piece=0, from_butt_mm=100, butt_at=ButtAt.START, diameter_at=tapering
    )

    found = column_diameters(layout, [piece])

    # From the butt: 100 and the overhang of 380 to the corner, then 3200 and 4700 along the wall.
    assert found == {
        ("A", 1, 0): pytest.approx(320 - 4.8),
        ("A", 1, 1): pytest.approx(320 - 36.8),
        ("A", 1, 2): pytest.approx(320 - 51.8),
    }


def test_a_piece_beside_a_door_reaches_only_its_own_corner():
    layout = read_layout(a_rectangle())
    piece = LaidPiece(wall="A", round=3, piece=1, from_butt_mm=50, butt_at=ButtAt.END, diameter_at=tapering)

    assert column_diameters(layout, [piece]) == {("A", 3, 1): pytest.approx(320 - 4.3)}


@given(start=st.floats(-500, 0), length=st.floats(500, 9000), share=st.floats(0, 1), cut=st.floats(0, 500))
def test_a_log_turned_end_for_end_keeps_its_middle(start: float, length: float, share: float, cut: float):
    place = WallPlace(wall="A", round=1, piece=0, start_mm=start, end_mm=start + length, length_mm=length)
    at = start + share * length

    one_way = from_butt_at(place=place, from_butt_mm=cut, butt_at=ButtAt.START, at_mm=at)
    turned = from_butt_at(place=place, from_butt_mm=cut, butt_at=ButtAt.END, at_mm=at)

    assert one_way + turned == pytest.approx(2 * cut + length)


def test_a_place_that_does_not_exist_or_is_filled_twice_is_refused():
    layout = a_cabin()
    piece = LaidPiece(wall="A", round=1, piece=0, from_butt_mm=0, butt_at=ButtAt.START, diameter_at=tapering)
    nowhere = LaidPiece(
        wall="A", round=1, piece=1, from_butt_mm=0, butt_at=ButtAt.START, diameter_at=tapering
    )

    with pytest.raises(PieceError, match="two pieces"):
        column_diameters(layout, [piece, piece])
    with pytest.raises(PieceError, match="no piece 1"):
        column_diameters(layout, [nowhere])
