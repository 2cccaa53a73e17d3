"""What the cubic rules do on real stems: the signs of their errors are known, and so are ours."""

import pytest

from inventory.core.volume import CubicRule, cubic_volume
from tests.outside.check_stems import stem_errors_pct
from tests.outside.check_volume import stems
from tests.outside.registry import rows_of


def errors_of(file: str, start: str) -> dict[str, float]:
    return stem_errors_pct(
        next(row for row in rows_of("stem_errors.csv") if row["stems"] == file and row["start"] == start)
    )


@pytest.mark.parametrize(("file", "start"), [("stems_loblolly.csv", "0.05"), ("stems_eucalyptus.csv", "0")])
def test_on_a_flared_butt_smalian_overstates_and_huber_understates(file: str, start: str):
    errors = errors_of(file, start)

    assert errors["smalian"] > 5
    assert errors["huber"] < 0
    assert abs(errors["newton"]) < min(errors["smalian"], -errors["huber"])


@pytest.mark.parametrize(("file", "start"), [("stems_loblolly.csv", "0.25"), ("stems_eucalyptus.csv", "2.4")])
def test_above_the_flare_every_rule_is_within_a_few_percent(file: str, start: str):
    assert max(abs(error) for error in errors_of(file, start).values()) < 2.5


@pytest.mark.parametrize("file", ["stems_loblolly.csv", "stems_eucalyptus.csv"])
def test_newton_lies_between_huber_and_smalian_on_every_stem(file: str):
    for _, stem in stems(file).values():
        huber, newton, smalian = (
            cubic_volume(stem, rule=rule).volume_m3
            for rule in (CubicRule.HUBER, CubicRule.NEWTON, CubicRule.SMALIAN)
        )

        assert min(huber, smalian) <= newton <= max(huber, smalian)
