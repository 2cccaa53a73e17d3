"""How far a crew's readings and cuts may be off, and what its walls tell of it."""

import random

import pytest

from inventory.core.crew_errors import LEAST_TOPS, USUAL_ERRORS, CrewErrors, TopsRecord, record_of


def test_a_computed_top_holds_one_height_and_a_diameter_and_a_cut_for_each_round() -> None:
    errors = CrewErrors(diameter_mm=3, height_mm=2, cut_mm=4)

    assert errors.top_mm(rounds_since_measured=0) == 2
    assert errors.top_mm(rounds_since_measured=3) == pytest.approx((2**2 + 3 * (3**2 + 4**2)) ** 0.5)


def test_too_few_tops_tell_nothing() -> None:
    record = record_of([(12.0, 1)] * (LEAST_TOPS - 1))

    assert (record.tops, record.times_usual, record.errors) == (LEAST_TOPS - 1, None, None)


@pytest.mark.parametrize("times", [0.5, 1.0, 2.0])
def test_a_crew_that_is_so_many_times_the_usual_off_is_found_out(times: float) -> None:
    chance, true = random.Random(5), USUAL_ERRORS.scaled(times)
    misses = []
    for _ in range(2000):
        rounds = chance.randint(1, 4)
        below, above = chance.gauss(0, true.height_mm), chance.gauss(0, true.height_mm)
        wall = sum(chance.gauss(0, true.diameter_mm) + chance.gauss(0, true.cut_mm) for _ in range(rounds))
        misses.append((wall + above - below, rounds))

    record = record_of(misses)

    assert record.times_usual == pytest.approx(times, rel=0.05)
    assert record.errors is not None
    assert record.errors.diameter_mm == pytest.approx(times * USUAL_ERRORS.diameter_mm, rel=0.05)


def test_records_of_two_cabins_are_one() -> None:
    one, other = record_of([(5.0, 1), (-3.0, 2)]), record_of([(8.0, 1)])

    assert one + other == record_of([(5.0, 1), (-3.0, 2), (8.0, 1)])
    assert TopsRecord() + one == one
