"""Moisture that the air leaves in wood, and the shrinkage on the way there."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.moisture import (
    BadAir,
    BadShrinkage,
    change_by_coefficient_mm,
    equilibrium_moisture,
    equilibrium_moisture_pct,
    shrinkage,
    shrinkage_mm,
)
from inventory.core.wood import BadMoisture, BadWood, SpeciesFigures

PINE = SpeciesFigures(name="a pine", basic_gravity=0.40, shrink_radial_pct=4, shrink_tangential_pct=8)


def a_loss(**said: float) -> float:
    usual = {
        "dimension_mm": 300.0,
        "from_moisture_pct": 30.0,
        "to_moisture_pct": 12.0,
        "shrink_pct": 8.0,
        "fibre_saturation_pct": 30.0,
    }
    return shrinkage_mm(**usual | said)


def test_a_room_at_twenty_degrees_and_half_humidity_leaves_about_nine_percent():
    air = equilibrium_moisture(temperature_c=20, humidity_pct=50)

    assert air.moisture_pct == pytest.approx(9.2, abs=0.1)
    assert (air.low_pct, air.high_pct) == (air.moisture_pct - 1, air.moisture_pct + 1)
    assert air.cautions


def test_dry_air_leaves_nothing_and_no_less():
    assert equilibrium_moisture_pct(temperature_c=20, humidity_pct=0) == 0
    assert equilibrium_moisture(temperature_c=20, humidity_pct=1).low_pct == 0


@given(temperature=st.floats(-20, 60), humidity=st.floats(0, 99))
def test_damper_air_leaves_more_water(temperature: float, humidity: float):
    here = equilibrium_moisture_pct(temperature_c=temperature, humidity_pct=humidity)
    damper = equilibrium_moisture_pct(temperature_c=temperature, humidity_pct=humidity + 1)

    assert 0 <= here < damper < 40


@pytest.mark.parametrize(
    ("t", "h"), [(-21, 50), (61, 50), (20, -1), (20, 101), (math.nan, 50), (20, math.nan)]
)
def test_there_is_no_such_air(t: float, h: float):
    with pytest.raises(BadAir):
        equilibrium_moisture_pct(temperature_c=t, humidity_pct=h)


def test_green_wood_shrinks_by_its_share_of_the_way_to_oven_dry():
    # From saturation at 30 % to 12 %: 18 of 30 parts of 8 %, of 300 mm.
    assert a_loss() == pytest.approx(300 * 0.08 * 18 / 30)
    assert a_loss(to_moisture_pct=0) == pytest.approx(24)


def test_above_saturation_nothing_shrinks():
    assert a_loss(from_moisture_pct=120, to_moisture_pct=45) == 0
    assert a_loss(from_moisture_pct=120) == a_loss()


def test_wood_that_does_not_shrink_keeps_its_size():
    assert a_loss(shrink_pct=0) == 0


@given(start=st.floats(0, 40), between=st.floats(0, 40), end=st.floats(0, 40))
def test_drying_in_two_steps_ends_where_one_step_does(start: float, between: float, end: float):
    first = a_loss(from_moisture_pct=start, to_moisture_pct=between)
    second = a_loss(dimension_mm=300 - first, from_moisture_pct=between, to_moisture_pct=end)

    assert first + second == pytest.approx(a_loss(from_moisture_pct=start, to_moisture_pct=end), abs=1e-9)


@pytest.mark.parametrize(
    "said",
    [
        {"dimension_mm": math.nan},
        {"from_moisture_pct": -1},
        {"to_moisture_pct": math.inf},
        {"shrink_pct": 26},
        {"fibre_saturation_pct": 0},
        {"fibre_saturation_pct": 51},
    ],
)
def test_no_shrinkage_follows_from_impossible_wood(said: dict):
    with pytest.raises(BadShrinkage):
        a_loss(**said)


def test_a_log_shrinks_between_radial_and_tangential_with_a_spread_beyond():
    lost = shrinkage(PINE, dimension_mm=300)

    assert (lost.radial_mm, lost.tangential_mm) == pytest.approx((7.2, 14.4))
    assert (lost.low_mm, lost.high_mm) == pytest.approx((7.2 - 0.15 * 14.4, 14.4 * 1.15))
    assert "from green to 12 %" in lost.basis.assumption
    assert lost.cautions


def test_a_log_that_is_half_dry_has_less_to_lose_and_a_dry_one_swells():
    green, half_dry = (
        shrinkage(PINE, dimension_mm=300),
        shrinkage(PINE, dimension_mm=300, from_moisture_pct=20),
    )
    swelling = shrinkage(PINE, dimension_mm=300, from_moisture_pct=8, to_moisture_pct=12)

    assert 0 < half_dry.radial_mm < green.radial_mm
    assert swelling.tangential_mm < swelling.radial_mm < 0
    assert swelling.low_mm < swelling.tangential_mm


def test_unknown_shrinkage_and_impossible_moisture_are_named():
    with pytest.raises(BadWood, match="not known"):
        shrinkage(replace(PINE, shrink_radial_pct=None), dimension_mm=300)
    with pytest.raises(BadMoisture):
        shrinkage(PINE, dimension_mm=300, to_moisture_pct=-1)
    with pytest.raises(BadShrinkage):
        shrinkage(PINE, dimension_mm=math.nan)


@pytest.mark.parametrize(
    "said",
    [
        {"from_moisture_pct": 5},
        {"to_moisture_pct": 15},
        {"from_moisture_pct": math.nan},
        {"dimension_mm": math.nan},
        {"dimension_mm": -1},
        {"coefficient": 0.0101},
        {"coefficient": math.nan},
    ],
)
def test_the_coefficient_holds_indoors_only(said: dict):
    usual = {"dimension_mm": 200, "from_moisture_pct": 12, "to_moisture_pct": 8, "coefficient": 0.002}

    with pytest.raises(BadShrinkage):
        change_by_coefficient_mm(**usual | said)


@pytest.mark.parametrize("said", [{"dimension_mm": 0}, {"coefficient": 0}])
def test_nothing_or_what_does_not_swell_loses_nothing(said: dict):
    usual = {"dimension_mm": 200, "from_moisture_pct": 12, "to_moisture_pct": 8, "coefficient": 0.002}

    assert change_by_coefficient_mm(**usual | said) == 0


def test_indoors_the_coefficient_and_the_full_range_agree_closely():
    by_coefficient = change_by_coefficient_mm(
        dimension_mm=300, from_moisture_pct=12, to_moisture_pct=8, coefficient=8 / 2850
    )

    assert by_coefficient == pytest.approx(a_loss(from_moisture_pct=12, to_moisture_pct=8), rel=0.05)
