"""Log rules: board feet of a scaled log, from its small end inside bark in inches and its length in feet."""

import math
from enum import StrEnum

from inventory.core import decimal_c
from inventory.core.basis import is_positive

LARGEST_IN, LONGEST_FT = 120.0, 100.0


class BadScale(ValueError):
    """This cannot be scaled as a log."""


class OutsideTable(BadScale):
    """The published table held here does not reach this log."""


class BoardRule(StrEnum):
    """The log rule."""

    DOYLE = "doyle"
    SCRIBNER_FORMULA = "scribner_formula"
    SCRIBNER_DECIMAL_C = "scribner_decimal_c"
    INTERNATIONAL_QUARTER = "international_quarter_inch"
    INTERNATIONAL_EIGHTH = "international_eighth_inch"


class OddFeet(StrEnum):
    """Which end the feet beyond whole four-foot sections of the International rule are taken at."""

    BUTT = "butt"
    TOP = "top"


def doyle_board_feet(*, small_end_in: float, length_ft: float) -> float:
    """(D - 4)^2 L / 16, nothing up to 4 in. Purdue Extension FNR-191, seen."""
    _scalable(small_end_in, length_ft)
    return max(small_end_in - 4, 0.0) ** 2 * length_ft / 16


def scribner_formula_board_feet(*, small_end_in: float, length_ft: float) -> float:
    """(0.79 D^2 - 2 D - 4) L / 16, never less than nothing. Published forestry functions (Larsen), seen."""
    _scalable(small_end_in, length_ft)
    return max(0.79 * small_end_in**2 - 2 * small_end_in - 4, 0.0) * length_ft / 16


def scribner_decimal_c_board_feet(*, small_end_in: float, length_ft: float) -> float:
    """The published table, in tens: 6 to 120 in by 6 to 40 ft, whole inches and feet. Raises OutsideTable.

    Three cells under 8 in and 10 ft are 5 in older printed tables; a decimal rule counts in tens, so the
    Forest Service's 10 holds.
    """
    _scalable(small_end_in, length_ft)
    if not decimal_c.reaches(small_end_in, length_ft):
        raise OutsideTable(
            f"the Scribner Decimal C table has no cell {small_end_in:g} in by {length_ft:g} ft: it runs from "
            f"{decimal_c.THINNEST_IN} to {decimal_c.THICKEST_IN} in and from {decimal_c.SHORTEST_FT} to "
            f"{decimal_c.LONGEST_FT} ft, in whole inches and feet"
        )
    inches, feet = int(small_end_in), int(length_ft)
    return to_nearest(10, feet * decimal_c.factor(inches, feet)) + 10.0 * decimal_c.tens_off(inches, feet)


def international_board_feet(
    *, small_end_in: float, length_ft: float, kerf_factor: float = 0.905, odd_feet: OddFeet = OddFeet.BUTT
) -> float:
    """Four-foot sections from the small end, each 0.22 d^2 - 0.71 d, d growing half an inch a section.

    `kerf_factor` 0.905 is the 1/4-inch rule, 1 the 1/8-inch rule. What is left over of four feet counts in
    proportion, at the diameter of the butt (two printed tables of 6 to 18 ft, Wengert's among them, seen) or
    of the top (Forest Service volume library, routine INTL14, seen): 5 to 10 board feet apart at 10, 14 and
    18 ft in most cells.
    """
    _scalable(small_end_in, length_ft)
    sections, left_ft = divmod(length_ft, 4.0)
    total = sum(_section_board_feet(small_end_in + 0.5 * n) for n in range(int(sections)))
    left_in = small_end_in + (0.5 * sections if odd_feet is OddFeet.BUTT else 0.0)
    return kerf_factor * (total + _section_board_feet(left_in) * left_ft / 4)


def board_feet(
    *, rule: BoardRule, small_end_in: float, length_ft: float, odd_feet: OddFeet = OddFeet.BUTT
) -> float:
    """Board feet of one scaled log, rounded as the rule's tables are. Raises BadScale, OutsideTable."""
    match rule:
        case BoardRule.DOYLE:
            return to_nearest(1, doyle_board_feet(small_end_in=small_end_in, length_ft=length_ft))
        case BoardRule.SCRIBNER_FORMULA:
            return to_nearest(1, scribner_formula_board_feet(small_end_in=small_end_in, length_ft=length_ft))
        case BoardRule.SCRIBNER_DECIMAL_C:
            return scribner_decimal_c_board_feet(small_end_in=small_end_in, length_ft=length_ft)
        case _:
            quarter = rule is BoardRule.INTERNATIONAL_QUARTER
            exact = international_board_feet(
                small_end_in=small_end_in,
                length_ft=length_ft,
                kerf_factor=0.905 if quarter else 1.0,
                odd_feet=odd_feet,
            )
            return to_nearest(5 if quarter else 1, exact)


def _section_board_feet(diameter_in: float) -> float:
    return max(0.22 * diameter_in**2 - 0.71 * diameter_in, 0.0)


def _scalable(small_end_in: float, length_ft: float) -> None:
    if not is_positive(small_end_in, length_ft) or small_end_in > LARGEST_IN or length_ft > LONGEST_FT:
        raise BadScale(f"{small_end_in:g} in by {length_ft:g} ft is no log to scale")


def to_nearest(step: int, value: float) -> float:
    """The multiple of `step` nearest to a value, halves up."""
    # Halves go up, as printed Doyle tables have it (22.5 is 23); the hair absorbs error in the last bits.
    return math.floor(value / step + 0.5 + 1e-9) * float(step)
