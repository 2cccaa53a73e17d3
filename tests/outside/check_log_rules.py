"""Board feet against every cell of the published tables and formulas that was seen."""

from inventory.core.log_rules import (
    BoardRule,
    OddFeet,
    board_feet,
    doyle_board_feet,
    international_board_feet,
    scribner_decimal_c_board_feet,
    scribner_formula_board_feet,
)
from tests.outside.registry import Compared, against, outside_check, rows_of

WHOLE_SECTIONS_FT = (8, 12, 16, 20)


def cells(rule: str) -> list[tuple[str, float, float, float]]:
    """Label, small end in inches, length in feet and board feet of every seen cell of one table."""
    return [
        (
            f"{row['small_end_diameter_in']} in by {row['length_ft']} ft",
            float(row["small_end_diameter_in"]),
            float(row["length_ft"]),
            float(row["board_feet"]),
        )
        for row in rows_of("log_rules.csv")
        if row["rule"] == rule and row["status"] != "memory"
    ]


@outside_check(what="Doyle, formula", source="Purdue Extension FNR-191", mark="seen", unit="bf", limit=0.01)
def doyle_formula() -> list[Compared]:
    """Every diameter from 8 to 24 in at 8 to 20 ft, not rounded."""
    return [
        against(label, ours=doyle_board_feet(small_end_in=d, length_ft=ft), theirs=bf)
        for label, d, ft, bf in cells("doyle")
    ]


@outside_check(
    what="Doyle, printed table", source="tinytimbers.com, a sawmill's page", mark="seen", unit="bf", limit=0
)
def doyle_table() -> list[Compared]:
    """Printed to the whole board foot, halves up."""
    return [
        against(label, ours=board_feet(rule=BoardRule.DOYLE, small_end_in=d, length_ft=ft), theirs=bf)
        for label, d, ft, bf in cells("doyle_published_table")
    ]


@outside_check(
    what="Scribner formula", source="LarsenDR forestry functions", mark="seen", unit="bf", limit=0.01
)
def scribner_formula() -> list[Compared]:
    """Every diameter from 8 to 24 in at 8 to 20 ft, not rounded."""
    return [
        against(label, ours=scribner_formula_board_feet(small_end_in=d, length_ft=ft), theirs=bf)
        for label, d, ft, bf in cells("scribner_formula")
    ]


@outside_check(
    what="Scribner Decimal C, table",
    source="US Forest Service volume library, scrib.f",
    mark="seen",
    unit="bf",
    limit=0,
)
def scribner_decimal_c() -> list[Compared]:
    """Factor table and exceptions, evaluated."""
    return [
        against(label, ours=scribner_decimal_c_board_feet(small_end_in=d, length_ft=ft), theirs=bf)
        for label, d, ft, bf in cells("scribner_decimal_c")
    ]


@outside_check(
    what="Scribner Decimal C, printed values; 6 in by 8 ft is 5 in an older table, decided for 10",
    source="chestofbooks.com; an extension text quoted",
    mark="seen",
    unit="bf",
    limit=5,
)
def scribner_decimal_c_printed() -> list[Compared]:
    """Single printed cells, one of them in conflict with the Forest Service."""
    return [
        against(label, ours=scribner_decimal_c_board_feet(small_end_in=d, length_ft=ft), theirs=bf)
        for label, d, ft, bf in cells("scribner_decimal_c_published")
    ]


@outside_check(
    what="International 1/4-inch at 8, 12, 16 and 20 ft, where all conventions agree",
    source="US Forest Service volume library, routine INTL14",
    mark="seen",
    unit="bf",
    limit=0,
)
def international_quarter() -> list[Compared]:
    """Whole four-foot sections, by either convention for what is left over."""
    return [
        against(
            f"{label}, {odd_feet}",
            ours=board_feet(
                rule=BoardRule.INTERNATIONAL_QUARTER, small_end_in=d, length_ft=ft, odd_feet=odd_feet
            ),
            theirs=bf,
        )
        for label, d, ft, bf in cells("international_1_4")
        for odd_feet in OddFeet
        if ft in WHOLE_SECTIONS_FT
    ]


@outside_check(
    what="International 1/4-inch at 10, 14 and 18 ft, odd feet at the top",
    source="US Forest Service volume library, routine INTL14",
    mark="seen",
    unit="bf",
    limit=0,
)
def international_quarter_odd_feet_at_the_top() -> list[Compared]:
    """The convention of the Forest Service's code."""
    rule = BoardRule.INTERNATIONAL_QUARTER
    return [
        against(
            label,
            ours=board_feet(rule=rule, small_end_in=d, length_ft=ft, odd_feet=OddFeet.TOP),
            theirs=bf,
        )
        for label, d, ft, bf in cells("international_1_4_nvel_remainder_at_top")
    ]


@outside_check(
    what="International 1/8-inch, which a published code calls 1/4-inch: 10 in by 16 ft",
    source="LarsenDR forestry functions, int14Volume",
    mark="seen",
    unit="bf",
    limit=0.05,
)
def international_eighth() -> list[Compared]:
    """71.4 without the factor for the wider kerf, 64.7 with it."""
    return [
        against(
            f"kerf factor {factor}",
            ours=international_board_feet(small_end_in=10, length_ft=16, kerf_factor=factor),
            theirs=theirs,
        )
        for factor, theirs in ((1.0, 71.4), (0.905, 64.7))
    ]
