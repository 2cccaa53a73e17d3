"""Board feet: the rules one by one, and how a log is scaled for them."""

import hashlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.board_feet import Scaling, pieces_ft, scale_log
from inventory.core.decimal_c import LONGEST_FT, SHORTEST_FT, THICKEST_IN, THINNEST_IN
from inventory.core.log_rules import (
    LARGEST_IN,
    BadScale,
    BoardRule,
    OddFeet,
    OutsideTable,
    board_feet,
    doyle_board_feet,
    scribner_decimal_c_board_feet,
    scribner_formula_board_feet,
    to_nearest,
)
from inventory.core.log_rules import LONGEST_FT as LONGEST_LOG_FT
from inventory.core.profile import READING_SD_MM, LogProfile, diameter_error_mm_at, profile_of

FT = 304.8


def a_log(
    *, feet: float, trim_in: float = 6, tip_in: float = 12.0, taper_in_per_ft: float = 0.125
) -> LogProfile:
    """A log of even taper with its diameters taken at the very ends."""
    length = feet * FT + trim_in * 25.4
    tip = tip_in * 25.4
    butt = tip + taper_in_per_ft * 25.4 * length / FT
    return profile_of(
        length_mm=length, butt_mm=butt, middle_mm=(butt + tip) / 2, tip_mm=tip, station_inset_mm=0
    )


@pytest.mark.parametrize(
    ("inches", "doyle", "decimal_c", "quarter"),
    [
        (8, 16, 30, 40),
        (10, 36, 60, 65),
        (12, 64, 80, 95),
        (16, 144, 160, 180),
        (20, 256, 280, 290),
        (24, 400, 400, 425),
    ],
)
def test_a_log_of_sixteen_feet_by_the_three_common_rules(
    inches: int, doyle: int, decimal_c: int, quarter: int
):
    scaled = [
        board_feet(rule=rule, small_end_in=inches, length_ft=16)
        for rule in (BoardRule.DOYLE, BoardRule.SCRIBNER_DECIMAL_C, BoardRule.INTERNATIONAL_QUARTER)
    ]

    assert scaled == [doyle, decimal_c, quarter]


def test_the_decimal_table_is_not_the_formula_rounded():
    differ = [
        (inches, feet)
        for inches in range(8, 25)
        for feet in range(8, 21, 2)
        if to_nearest(10, scribner_formula_board_feet(small_end_in=inches, length_ft=feet))
        != scribner_decimal_c_board_feet(small_end_in=inches, length_ft=feet)
    ]

    assert len(differ) == 44


def test_the_two_conventions_for_odd_feet_differ_by_five_or_ten_and_only_at_odd_feet():
    def quarter(inches: int, feet: int, odd_feet: OddFeet) -> float:
        rule = BoardRule.INTERNATIONAL_QUARTER
        return board_feet(rule=rule, small_end_in=inches, length_ft=feet, odd_feet=odd_feet)

    differences = {
        (inches, feet): quarter(inches, feet, OddFeet.BUTT) - quarter(inches, feet, OddFeet.TOP)
        for inches in range(8, 25)
        for feet in range(8, 21, 2)
    }

    apart = {cell: by for cell, by in differences.items() if by}
    assert len(apart) == 41
    assert set(apart.values()) == {5, 10}
    assert {feet for _, feet in apart} == {10, 14, 18}


def test_a_thin_log_has_no_boards_by_doyle_and_never_less_than_none():
    assert doyle_board_feet(small_end_in=4, length_ft=16) == 0
    assert doyle_board_feet(small_end_in=2, length_ft=16) == 0
    assert scribner_formula_board_feet(small_end_in=3, length_ft=16) == 0
    assert board_feet(rule=BoardRule.INTERNATIONAL_EIGHTH, small_end_in=3, length_ft=4) == 0


@given(
    rule=st.sampled_from([rule for rule in BoardRule if rule is not BoardRule.SCRIBNER_DECIMAL_C]),
    inches=st.integers(1, 40),
    feet=st.integers(4, 40),
)
def test_a_thicker_or_longer_log_never_has_fewer_boards(rule: BoardRule, inches: int, feet: int):
    here = board_feet(rule=rule, small_end_in=inches, length_ft=feet)

    assert board_feet(rule=rule, small_end_in=inches + 1, length_ft=feet) >= here
    assert board_feet(rule=rule, small_end_in=inches, length_ft=feet + 4) >= here


def test_no_log_of_the_decimal_table_has_fewer_boards_than_a_thinner_one():
    cells = {
        (inches, feet): scribner_decimal_c_board_feet(small_end_in=inches, length_ft=feet)
        for inches in range(THINNEST_IN, THICKEST_IN + 1)
        for feet in range(SHORTEST_FT, LONGEST_FT + 1)
    }

    falls = [cell for cell in cells if cells[cell] < cells.get((cell[0] - 1, cell[1]), 0)]

    assert falls == []


def test_no_cell_of_the_decimal_table_changes_unless_someone_has_read_the_source_again():
    # As transcribed from the US Forest Service's scrib.f: a slip of one digit shows here, and nowhere else.
    cells = [
        f"{inches} {feet} {scribner_decimal_c_board_feet(small_end_in=inches, length_ft=feet):.0f}"
        for inches in range(THINNEST_IN, THICKEST_IN + 1)
        for feet in range(SHORTEST_FT, LONGEST_FT + 1)
    ]

    assert hashlib.sha256("\n".join(cells).encode()).hexdigest()[:16] == "47f48946c3354237"


@pytest.mark.parametrize("rule", [BoardRule.DOYLE, BoardRule.SCRIBNER_FORMULA])
def test_the_longest_and_the_thickest_log_are_scaled(rule: BoardRule):
    assert board_feet(rule=rule, small_end_in=LARGEST_IN, length_ft=LONGEST_LOG_FT) > 0


@pytest.mark.parametrize("rule", BoardRule)
@pytest.mark.parametrize(
    ("inches", "feet"), [(0, 16), (12, 0), (math.nan, 16), (12, math.inf), (121, 16), (12, 101)]
)
def test_what_is_no_log_is_not_scaled(rule: BoardRule, inches: float, feet: float):
    with pytest.raises(BadScale, match="no log to scale"):
        board_feet(rule=rule, small_end_in=inches, length_ft=feet)


@pytest.mark.parametrize(("inches", "feet"), [(5, 16), (12, 5), (12, 41), (12.5, 16), (12, 15.5)])
def test_the_decimal_table_says_where_it_ends(inches: float, feet: float):
    with pytest.raises(OutsideTable, match=r"from 6 to 120 in and from 6 to 40 ft, in whole inches and feet"):
        scribner_decimal_c_board_feet(small_end_in=inches, length_ft=feet)


@pytest.mark.parametrize(
    ("inches", "feet", "tens"),
    [
        (6, 16, 2),
        (6, 32, 5),
        (11, 31, 13),  # 4.167 a foot from 16 ft on
        (11, 32, 14),  # 4.499 from 32 ft on
        (24, 8, 21),  # a cell of the table that stands ten off its factor
        (30, 16, 66),
        (40, 40, 301),
    ],
)
def test_thin_and_long_logs_have_their_own_cells_of_the_decimal_table(inches: int, feet: int, tens: int):
    found = scribner_decimal_c_board_feet(small_end_in=inches, length_ft=feet)

    assert found == tens * 10


@pytest.mark.parametrize(
    ("feet", "trim_in", "longest", "pieces"),
    [
        (16, 6, 20, (16,)),
        (16, 5, 20, (14,)),  # an inch short of its trim, and two feet are lost
        (17.9, 6, 20, (16,)),
        (20, 6, 20, (20,)),
        (22, 6, 20, (10, 12)),
        (32, 6, 20, (16, 16)),
        (32, 6, 40, (32,)),
        (44, 6, 20, (14, 14, 16)),
    ],
)
def test_a_long_log_is_scaled_in_like_pieces_the_longer_towards_the_butt(
    feet: float, trim_in: float, longest: int, pieces: tuple[int, ...]
):
    length = feet * FT + trim_in * 25.4

    assert pieces_ft(length, Scaling(longest_ft=longest)) == pieces


@given(length=st.floats(1300, 30_000), longest=st.sampled_from([16, 20, 40]), step=st.sampled_from([1, 2, 4]))
def test_pieces_never_add_up_to_more_than_the_log(length: float, longest: int, step: int):
    pieces = pieces_ft(length, Scaling(longest_ft=longest, length_step_ft=step, trim_mm=0))

    assert max(pieces) <= longest
    assert sum(pieces) * FT <= length + 1e-3
    assert length - sum(pieces) * FT < step * FT


def test_each_piece_is_scaled_at_the_diameter_where_it_ends():
    # 12 in at the tip and 1/8 in per foot: 14 in after sixteen feet.
    scaled = scale_log(a_log(feet=32), rule=BoardRule.SCRIBNER_DECIMAL_C)

    assert [(piece.small_end_in, piece.length_ft, piece.board_feet) for piece in scaled.pieces] == [
        (12, 16, 80),
        (14, 16, 110),
    ]
    assert scaled.board_feet == 190


def test_the_small_end_goes_to_the_nearest_inch_halves_up():
    half = scale_log(a_log(feet=16, tip_in=11.5), rule=BoardRule.DOYLE)
    under = scale_log(a_log(feet=16, tip_in=11.45), rule=BoardRule.DOYLE)

    assert half.pieces[0].small_end_in == 12
    assert under.pieces[0].small_end_in == 11


def test_a_scale_has_a_range_and_says_its_convention():
    scaled = scale_log(a_log(feet=18, tip_in=12.4), rule=BoardRule.INTERNATIONAL_QUARTER)

    assert scaled.low_board_feet <= scaled.board_feet < scaled.high_board_feet
    assert "odd" not in scaled.basis.rule
    assert "taken at the butt end" in scaled.basis.assumption
    assert "6 in of trim" in scaled.basis.assumption
    assert scaled.cautions == ("The mill's own scale decides what is paid.",)


@pytest.mark.parametrize("tip_in", [11 + n / 20 for n in range(20)])
def test_the_range_scales_the_small_end_two_standard_deviations_either_way(tip_in: float):
    log = a_log(feet=16, tip_in=tip_in)
    off_mm = 2 * diameter_error_mm_at(log, log.length_mm, reading_sd_mm=READING_SD_MM)

    scaled = scale_log(log, rule=BoardRule.SCRIBNER_FORMULA)

    ends = [math.floor((tip_in * 25.4 + off) / 25.4 + 0.5) for off in (-off_mm, off_mm)]
    assert (scaled.low_board_feet, scaled.high_board_feet) == tuple(
        board_feet(rule=BoardRule.SCRIBNER_FORMULA, small_end_in=end, length_ft=16) for end in ends
    )


def test_at_the_edge_of_the_table_the_range_is_open():
    scaled = scale_log(a_log(feet=16, tip_in=6.0), rule=BoardRule.SCRIBNER_DECIMAL_C, reading_sd_mm=8)

    assert scaled.board_feet == 20
    assert scaled.low_board_feet is None
    assert scaled.high_board_feet == 30


def test_doyle_warns_on_small_logs_and_the_eighth_rule_has_more_than_the_quarter():
    doyle, quarter, eighth = (
        scale_log(a_log(feet=16), rule=rule)
        for rule in (BoardRule.DOYLE, BoardRule.INTERNATIONAL_QUARTER, BoardRule.INTERNATIONAL_EIGHTH)
    )

    assert "understates small logs" in doyle.cautions[0]
    assert doyle.board_feet < quarter.board_feet < eighth.board_feet
    assert scale_log(a_log(feet=16), rule=BoardRule.SCRIBNER_FORMULA).board_feet == 86  # 85.76


@pytest.mark.parametrize(
    ("length", "scaling", "why"),
    [
        (600.0, Scaling(), "after the trim"),
        (math.nan, Scaling(), "greater than nothing"),
        (5000.0, Scaling(length_step_ft=0), "greater than nothing"),
        (5000.0, Scaling(longest_ft=1), "greater than nothing"),
        (5000.0, Scaling(trim_mm=math.nan), "trim"),
        (5000.0, Scaling(trim_mm=-1), "trim"),
    ],
)
def test_what_leaves_nothing_to_scale_is_refused(length: float, scaling: Scaling, why: str):
    with pytest.raises(BadScale, match=why):
        pieces_ft(length, scaling)
