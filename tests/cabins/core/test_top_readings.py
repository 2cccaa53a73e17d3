"""Readings of one top are kept together: mean, spread, who, and for how long they belong together."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from cabins.core.top_readings import (
    TOGETHER,
    SingleReading,
    TopReadings,
    readings_together,
    repeat_miss_mm,
)
from inventory.core.crew_errors import CrewErrors

NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


def a_reading(height_mm, after=timedelta(0), who="Odda"):
    return SingleReading(height_mm=Decimal(str(height_mm)), measured_at=NOON + after, measured_by=who)


def test_the_mean_counts_with_its_spread_and_who_read():
    found = readings_together(
        [a_reading(353.5, timedelta(hours=1), "Wilka"), a_reading(350)], since=NOON - timedelta(days=1)
    )

    assert (found.mean_mm, found.spread_mm, found.times) == (Decimal("351.75"), 3.5, 2)
    assert [one.measured_by for one in found.readings] == ["Odda", "Wilka"]
    assert found.last_at == NOON + timedelta(hours=1)


def test_what_was_read_before_the_log_was_set_is_another_logs_top():
    late = a_reading(350, timedelta(hours=2))

    assert readings_together([a_reading(300), late], since=NOON + timedelta(hours=1)).readings == (late,)
    assert readings_together([a_reading(300)], since=NOON + timedelta(hours=1)) is None
    assert readings_together([a_reading(300)], since=None).times == 1


def test_a_wall_that_had_a_week_to_settle_is_read_anew():
    first, last = a_reading(350), a_reading(344, TOGETHER + timedelta(seconds=1))

    assert readings_together([first, last], since=None).readings == (last,)
    assert readings_together([first, a_reading(344, TOGETHER)], since=None).times == 2


def test_a_mean_is_surer_and_a_repeat_tells_one_readings_error():
    earlier = TopReadings(readings=(a_reading(350), a_reading(352)))

    assert CrewErrors(height_mm=3.0).top_mm(rounds_since_measured=0, times_read=9) == 1.0
    # 351 in the mean of two; a third, 3 mm off it, holds its own error and half of one's variance.
    assert repeat_miss_mm(354.0, earlier) == pytest.approx(3.0 / 1.5**0.5)
