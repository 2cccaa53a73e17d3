"""Board feet against printed tables, and against formulas and tables evaluated again."""

from collections.abc import Callable

from inventory.core.decimal_c import factor, tens_off
from inventory.core.log_rules import (
    BoardRule,
    OddFeet,
    board_feet,
    doyle_board_feet,
    international_board_feet,
    scribner_decimal_c_board_feet,
    scribner_formula_board_feet,
    to_nearest,
)
from tests.outside.registry import Compared, Figure, against, outside_check, rows_of

LARSEN = "LarsenDR forestry functions"


def compared(table: str, ours: Callable[[float, float], Figure]) -> list[Compared]:
    """Every cell of one table, by the figure that we have for its small end in inches and length in feet."""
    return [
        against(
            f"{row['small_end_diameter_in']} in by {row['length_ft']} ft",
            ours=ours(float(row["small_end_diameter_in"]), float(row["length_ft"])),
            theirs=float(row["board_feet"]),
        )
        for row in rows_of("log_rules.csv")
        if row["rule"] == table
    ]


def decimal_c(inches: float, feet: float) -> Figure:
    """Our cell, the factor of which can be tried too large or too small before it is rounded to tens."""
    row, length = int(inches), int(feet)
    return lambda times: to_nearest(10, length * factor(row, length) * times) + 10 * tens_off(row, length)


@outside_check(
    what="Doyle, printed table of 8 to 36 in and 8 to 20 ft, to the whole board foot",
    source="tinytimbers.com, a sawmill's page",
    mark="seen",
    kind="printed",
    unit="bf",
    limit=0.501,
    decides="price",
)
def doyle_printed() -> list[Compared]:
    """Ours before it is rounded."""
    return compared("doyle_published_table", lambda d, ft: doyle_board_feet(small_end_in=d, length_ft=ft))


@outside_check(
    what="Scribner formula, printed table of 6 to 30 in and 6 to 10 ft, to the whole board foot (4 of its "
    "cells round amiss)",
    source="Clemson Extension, Forestry Leaflet 15, 1997",
    mark="seen",
    kind="printed",
    unit="bf",
    limit=1.5,
    decides="price",
)
def scribner_formula_printed() -> list[Compared]:
    """Ours before it is rounded."""
    return compared(
        "scribner_formula_published", lambda d, ft: scribner_formula_board_feet(small_end_in=d, length_ft=ft)
    )


@outside_check(
    what="Scribner Decimal C, printed tables; three cells of 6 and 7 in are 5 there, decided for 10",
    source="Wengert, Log Volume charts, 2001; chestofbooks.com; an extension text quoted",
    mark="seen",
    kind="printed",
    unit="bf",
    limit=5,
    decides="price",
)
def scribner_decimal_c_printed() -> list[Compared]:
    """Cells count in tens, so a difference of one is beyond the limit."""
    return compared("scribner_decimal_c_published", decimal_c)


@outside_check(
    what="International 1/4-inch, printed tables of 6 to 26 in and 6 to 18 ft, rounded to 5: the feet beyond "
    "whole sections at the butt, as is the default",
    source="Wengert, Log Volume charts, 2001; a sawmill's table, logstolumbernow.com",
    mark="seen",
    kind="printed",
    unit="bf",
    limit=2.7,
    decides="price",
)
def international_printed() -> list[Compared]:
    """Ours before it is rounded, by the default convention."""
    return compared(
        "international_1_4_published",
        lambda d, ft: international_board_feet(small_end_in=d, length_ft=ft),
    )


@outside_check(
    what="International 1/8-inch by Clark's sums for whole logs, which a published code calls 1/4-inch",
    source=LARSEN,
    mark="seen",
    kind="worked",
    unit="bf",
    limit=1.0,
    decides="price",
)
def international_eighth() -> list[Compared]:
    """Clark's polynomials of 1906 for 4 to 20 ft, their coefficients rounded, as they were published."""
    clark = {
        4: (0.22, 0.71, 0.0),
        8: (0.44, 1.20, 0.30),
        12: (0.66, 1.47, 0.79),
        16: (0.88, 1.52, 1.36),
        20: (1.10, 1.35, 1.90),
    }
    return [
        against(
            f"{inches} in by {feet} ft",
            ours=international_board_feet(small_end_in=inches, length_ft=feet, kerf_factor=1.0),
            theirs=a * inches**2 - b * inches - c,
        )
        for feet, (a, b, c) in clark.items()
        for inches in (8, 10, 12, 16, 20, 28)
    ]


@outside_check(
    what="Doyle, formula evaluated",
    source="Purdue Extension FNR-191",
    mark="computed",
    kind="same formula",
    unit="bf",
    limit=0.01,
    decides="price",
)
def doyle_formula() -> list[Compared]:
    """Every diameter from 8 to 24 in at 8 to 20 ft, not rounded."""
    return compared("doyle", lambda d, ft: doyle_board_feet(small_end_in=d, length_ft=ft))


@outside_check(
    what="Scribner formula evaluated",
    source=LARSEN,
    mark="computed",
    kind="same formula",
    unit="bf",
    limit=0.01,
    decides="price",
)
def scribner_formula() -> list[Compared]:
    """Every diameter from 8 to 24 in at 8 to 20 ft, not rounded."""
    return compared(
        "scribner_formula", lambda d, ft: scribner_formula_board_feet(small_end_in=d, length_ft=ft)
    )


@outside_check(
    what="Scribner Decimal C, factors and exceptions evaluated",
    source="US Forest Service volume library, scrib.f",
    mark="computed",
    kind="same table",
    unit="bf",
    limit=0,
    decides="price",
)
def scribner_decimal_c() -> list[Compared]:
    """The published cells, as the answer gives them."""
    return compared(
        "scribner_decimal_c", lambda d, ft: scribner_decimal_c_board_feet(small_end_in=d, length_ft=ft)
    )


@outside_check(
    what="International 1/4-inch at 8, 12, 16 and 20 ft, formula evaluated, either convention",
    source="US Forest Service volume library, routine INTL14",
    mark="computed",
    kind="same formula",
    unit="bf",
    limit=0,
    decides="price",
)
def international_quarter() -> list[Compared]:
    """Whole four-foot sections, where the conventions agree."""
    return [
        one
        for odd_feet in OddFeet
        for one in compared("international_1_4", lambda d, ft, end=odd_feet: international(d, ft, end))
    ]


@outside_check(
    what="International 1/4-inch at 10, 14 and 18 ft, formula evaluated, odd feet at the top",
    source="US Forest Service volume library, routine INTL14",
    mark="computed",
    kind="same formula",
    unit="bf",
    limit=0,
    decides="price",
)
def international_quarter_odd_feet_at_the_top() -> list[Compared]:
    """The convention of the Forest Service's code."""
    return compared(
        "international_1_4_nvel_remainder_at_top", lambda d, ft: international(d, ft, OddFeet.TOP)
    )


def international(inches: float, feet: float, odd_feet: OddFeet) -> float:
    """Our rounded figure."""
    rule = BoardRule.INTERNATIONAL_QUARTER
    return board_feet(rule=rule, small_end_in=inches, length_ft=feet, odd_feet=odd_feet)
