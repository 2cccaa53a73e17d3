"""Every check against the world outside holds, and the table in the docs says what they found."""

from pathlib import Path

import pytest

from inventory.core import weight
from tests.outside import check_wood
from tests.outside.registry import DATA, OutsideCheck, all_checks, outside_check, rows_of
from tests.outside.table import table

ROOT = Path(__file__).parent.parent.parent


@pytest.mark.parametrize("check", all_checks(), ids=lambda check: check.name)
def test_our_figures_agree_with_the_world_outside(check: OutsideCheck):
    compared = list(check.compare())

    assert compared
    assert [one for one in compared if not one.difference <= check.limit] == []


@pytest.mark.parametrize("factor", [0.5, 0.8, 0.9, 1.1, 1.25, 2.0])
def test_the_checks_of_weight_notice_a_density_that_is_wrong(factor: float, monkeypatch: pytest.MonkeyPatch):
    right = weight.density_kg_m3
    monkeypatch.setattr(weight, "density_kg_m3", lambda **given: factor * right(**given))

    far_off = [one for one in check_wood.green_densities() if one.difference > 15]
    outside = [one for one in check_wood.green_densities_within_range() if one.difference > 10]
    by_the_foot = [one for one in check_wood.green_log_table_within_range() if one.difference > 0.6]

    assert far_off
    if not 0.85 < factor < 1.2:
        assert outside
        assert by_the_foot


def test_the_table_in_the_docs_is_what_the_checks_found():
    assert (ROOT / "docs" / "checks.md").read_text(encoding="utf-8") == table()


def test_a_remembered_value_decides_no_check():
    with pytest.raises(ValueError, match="not memory"):
        outside_check(what="", source="", mark="memory", unit="", limit=0)


@pytest.mark.parametrize("file", sorted(path.name for path in DATA.glob("*.csv")))
def test_every_value_names_its_source_and_how_far_it_was_read(file: str):
    rows = rows_of(file)

    assert rows
    assert [row for row in rows if not row["source"] or not row["status"]] == []
