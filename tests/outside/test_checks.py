"""Every check against the world outside holds, could fail, and the table in the docs says what they found."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from inventory.core import moisture, weight
from tests.outside import check_log_rules, check_stems, check_wood
from tests.outside.registry import DATA, Compared, OutsideCheck, all_checks, outside_check, rows_of, within
from tests.outside.table import Row, counts, rows, table

ROOT = Path(__file__).parent.parent.parent
CHECKS = {check.name: check for check in all_checks()}


@pytest.fixture(scope="module")
def tried() -> list[Row]:
    """Every check with its values and what it notices."""
    return rows()


@pytest.mark.parametrize("check", CHECKS.values(), ids=lambda check: check.name)
def test_our_figures_agree_with_the_world_outside(check: OutsideCheck):
    compared = list(check.compare())

    assert compared
    assert [one for one in compared if not one.difference <= check.limit] == []


def test_no_row_is_called_independent_that_does_not_notice_an_error(tried: list[Row]):
    loose = [
        (row.check.name, row.noticed.check_pct)
        for row in tried
        if row.check.is_independent and not row.noticed.check_pct < row.check.most_unnoticed_pct
    ]

    assert loose == []


def test_at_least_a_thousand_values_are_independent_and_half_of_them_printed_or_measured(tried: list[Row]):
    number = counts(tried)

    assert number["independent"] >= 1000
    assert number["printed or measured"] >= 500


@pytest.mark.parametrize(
    ("check", "module", "figure", "error_pct"),
    [
        ("check_log_rules.doyle_printed", check_log_rules, "doyle_board_feet", 1),
        ("check_log_rules.international_printed", check_log_rules, "international_board_feet", 1),
        ("check_weight.lifts_of_published_densities", weight, "density_kg_m3", 2),
        ("check_weight.green_densities_on_the_mean", weight, "density_kg_m3", 9),
        ("check_wood.change_coefficients", moisture, "shrinkage_mm", 8),
        ("check_wood.equilibrium_moisture", check_wood, "equilibrium_moisture_pct", 1),
        ("check_settling.most_of_a_green_wall", moisture, "shrinkage_mm", 20),
        ("check_stems.volume_by_three_readings", check_stems, "diameter_mm_at", 5),
    ],
)
@pytest.mark.parametrize("sign", [1, -1])
def test_a_figure_of_the_service_that_is_wrong_is_noticed(
    check: str, module: Any, figure: str, error_pct: float, sign: int, monkeypatch: pytest.MonkeyPatch
):
    right: Callable[..., float] = getattr(module, figure)
    times = 1 + sign * error_pct / 100
    monkeypatch.setattr(module, figure, lambda *given, **named: times * right(*given, **named))

    assert [one for one in CHECKS[check].compare() if not one.difference <= CHECKS[check].limit]


def test_feet_left_over_at_the_top_contradict_the_printed_tables():
    at_the_top = check_log_rules.compared(
        "international_1_4_published",
        lambda inches, feet: check_log_rules.international_board_feet(
            small_end_in=inches, length_ft=feet, odd_feet=check_log_rules.OddFeet.TOP
        ),
    )

    limit = CHECKS["check_log_rules.international_printed"].limit
    assert len([one for one in at_the_top if one.difference > limit]) > 30


def test_the_table_in_the_docs_is_what_the_checks_found(tried: list[Row]):
    assert (ROOT / "docs" / "checks.md").read_text(encoding="utf-8") == table(tried)


@pytest.mark.parametrize("wrong", [{"mark": "memory"}, {"kind": "our own"}, {"decides": "nothing"}])
def test_a_check_says_what_stands_on_the_other_side_and_memory_decides_none(wrong: dict[str, str]):
    given = {"mark": "seen", "kind": "printed", "decides": "other"} | wrong

    with pytest.raises(ValueError, match=f"not {next(iter(wrong.values()))}"):
        outside_check(what="", source="", unit="", limit=0, **given)


def test_a_value_that_is_wide_of_the_bar_is_not_counted():
    def loose() -> list[Compared]:
        return [within("a range that holds anything", ours=5.0, low=0.0, high=100.0)]

    check = OutsideCheck(
        name="", what="", source="", mark="seen", kind="printed", unit="", limit=0, decides="other",
        compare=loose,
    )  # fmt: skip
    row = Row.of(check)

    assert row.noticed.counted == 0
    assert counts([row])["independent"] == 0


@pytest.mark.parametrize("file", sorted(path.name for path in DATA.glob("*.csv")))
def test_every_value_names_its_source_and_how_far_it_was_read(file: str):
    lines = rows_of(file)

    assert lines
    assert [line for line in lines if not line["source"] or not line["status"]] == []
    assert {line["status"] for line in lines} <= {"seen", "second-hand", "computed"}
