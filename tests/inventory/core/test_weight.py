"""What a log weighs, where it balances and what the sling carries."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.lifting import BadLoad, BadSling, balance_point, balance_point_mm, two_leg_sling
from inventory.core.profile import BadPosition, profile_of
from inventory.core.weight import BadWeight, Seasoning, density_range, log_weight
from inventory.core.wood import (
    BadMoisture,
    BadWood,
    Species,
    check_moisture,
    density_kg_m3,
    gravity_at,
    green_moisture,
    seed_species,
)

PINE = Species(
    name="a pine",
    basic_gravity=0.40,
    moisture_heart_pct=40,
    moisture_sap_pct=120,
    shrink_radial_pct=4,
    shrink_tangential_pct=6,
)


def test_a_green_log_weighs_between_all_heartwood_and_all_sapwood():
    # 400 kg/m3 of wood with 40 to 120 % water: 560 to 880, a tenth beyond for gravity: 504 to 968.
    weight = log_weight(PINE, volume_m3=0.5)

    assert (weight.low_kg, weight.likely_kg, weight.high_kg) == pytest.approx((252, 368, 484))
    assert weight.lift_kg == weight.high_kg
    assert "plan the lift on the top of the range" in weight.cautions[0]
    assert "local code" in weight.cautions[1]


def test_an_uncertain_volume_widens_the_range_and_raises_the_lift():
    weight = log_weight(PINE, volume_m3=0.5, low_m3=0.4, high_m3=0.6)

    assert (weight.low_kg, weight.lift_kg) == pytest.approx((0.4 * 504, 0.6 * 968))


def test_a_measured_moisture_narrows_the_range():
    measured, unknown = density_range(PINE, moisture_pct=60), density_range(PINE)

    assert measured.low_kg_m3 == pytest.approx(400 * 1.57 * 0.9)
    assert measured.high_kg_m3 == pytest.approx(400 * 1.63 * 1.1)
    assert measured.high_kg_m3 - measured.low_kg_m3 < unknown.high_kg_m3 - unknown.low_kg_m3


def test_a_log_grows_lighter_as_it_seasons():
    green, partly, dry = (density_range(PINE, seasoning=how).high_kg_m3 for how in Seasoning)

    assert green > partly > dry > 400


def test_a_published_green_weight_is_taken_into_the_range():
    light, heavy = replace(PINE, green_density_kg_m3=450), replace(PINE, green_density_kg_m3=1000)

    assert density_range(light).low_kg_m3 == 450
    assert density_range(light).likely_kg_m3 == 450
    assert density_range(heavy).high_kg_m3 == 1000
    assert density_range(light, seasoning=Seasoning.AIR_DRY) == density_range(
        PINE, seasoning=Seasoning.AIR_DRY
    )


def test_yellow_poplar_is_as_light_as_one_source_and_as_heavy_as_the_other():
    poplar = next(one for one in seed_species() if one.name == "yellow-poplar")

    density = density_range(poplar)

    assert density.low_kg_m3 <= 38 * 16.0185
    assert density.high_kg_m3 >= 51 * 16.0185
    assert "from memory" in density.basis.source


def test_unknown_green_moisture_gives_the_widest_range_the_wood_can_hold():
    unknown = replace(PINE, moisture_heart_pct=None, moisture_sap_pct=None)
    one_known = replace(PINE, moisture_sap_pct=None)

    moisture = green_moisture(unknown)

    # Hollows of a wood of 0.40 hold (1.54 - 0.40) / (1.54 * 0.40) = 185 %.
    assert (moisture.low_pct, moisture.high_pct) == pytest.approx((32, 185.06), abs=0.01)
    assert "not known" in moisture.assumption
    assert (green_moisture(one_known).low_pct, green_moisture(one_known).high_pct) == (40, 40)


def test_dried_wood_has_shrunk_and_so_holds_more_wood_in_its_volume():
    assert gravity_at(PINE, moisture_pct=60) == 0.40
    assert gravity_at(PINE, moisture_pct=30) == pytest.approx(0.40)
    assert gravity_at(PINE, moisture_pct=0) == pytest.approx(0.40 / 0.90)
    assert (
        gravity_at(replace(PINE, shrink_radial_pct=None, shrink_tangential_pct=None), moisture_pct=0) == 0.40
    )


@pytest.mark.parametrize("volume", [0.0, -1.0, math.nan, math.inf])
def test_nothing_weighs_nothing_that_can_be_lifted(volume: float):
    with pytest.raises(BadWeight):
        log_weight(PINE, volume_m3=volume)


def test_a_volume_lies_between_its_low_and_high():
    with pytest.raises(BadWeight):
        log_weight(PINE, volume_m3=0.5, low_m3=0.6)
    with pytest.raises(BadWeight):
        log_weight(PINE, volume_m3=0.5, high_m3=0.4)


@pytest.mark.parametrize("moisture", [-0.1, 300.0, math.nan, math.inf])
def test_wood_holds_no_such_moisture(moisture: float):
    with pytest.raises(BadMoisture):
        density_range(PINE, moisture_pct=moisture)
    with pytest.raises(BadMoisture):
        check_moisture(PINE, moisture_pct=moisture)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"basic_gravity": 1.51}, "gravity"),
        ({"basic_gravity": 0.0}, "gravity"),
        ({"basic_gravity": math.nan}, "gravity"),
        ({"fibre_saturation_pct": 60.0}, "saturated"),
        ({"fibre_saturation_pct": math.nan}, "saturated"),
        ({"shrink_radial_pct": -1.0}, "shrinks"),
        ({"shrink_tangential_pct": 40.0}, "shrinks"),
        ({"green_density_kg_m3": 3000.0}, "green density"),
        ({"green_density_kg_m3": math.nan}, "green density"),
    ],
)
def test_there_is_no_such_wood(change: dict, why: str):
    with pytest.raises(BadWood, match=why):
        replace(PINE, **change)


def test_a_species_holds_no_more_water_than_it_has_room_for():
    with pytest.raises(BadMoisture, match="a pine holds"):
        replace(PINE, moisture_sap_pct=250)


@pytest.mark.parametrize(("gravity", "moisture"), [(1.6, 12), (0, 12), (math.nan, 12)])
def test_a_density_needs_a_wood(gravity: float, moisture: float):
    with pytest.raises(BadWood):
        density_kg_m3(gravity=gravity, moisture_pct=moisture)


@pytest.mark.parametrize("moisture", [-1, 1001, math.nan])
def test_a_density_needs_a_moisture(moisture: float):
    with pytest.raises(BadMoisture):
        density_kg_m3(gravity=0.4, moisture_pct=moisture)


def test_every_seeded_species_has_a_weight_a_source_and_shrinkage():
    species = seed_species()

    assert len(species) == 18
    assert len({one.name for one in species}) == 18
    for one in species:
        density = density_range(one)
        assert 300 < density.low_kg_m3 <= density.likely_kg_m3 <= density.high_kg_m3 < 1300
        assert one.shrink_radial_pct < one.shrink_tangential_pct
        assert "gravity:" in one.source


def a_log(*, butt: float, middle: float, tip: float, thickness: float | None = None):
    return profile_of(
        length_mm=6000,
        butt_mm=butt,
        middle_mm=middle,
        tip_mm=tip,
        station_inset_mm=0,
        sawn_thickness_mm=thickness,
    )


def test_an_even_log_balances_in_the_middle():
    assert balance_point_mm(a_log(butt=300, middle=300, tip=300)) == pytest.approx(3000)


def test_a_tapering_log_balances_where_the_centre_of_a_cone_frustum_lies():
    # h / 4 * (R^2 + 2 R r + 3 r^2) / (R^2 + R r + r^2) from the thick end.
    big, small = 400.0, 200.0
    by_hand = 6000 / 4 * (big**2 + 2 * big * small + 3 * small**2) / (big**2 + big * small + small**2)

    assert balance_point_mm(a_log(butt=big, middle=300, tip=small)) == pytest.approx(by_hand)


@given(butt=st.floats(300, 450), middle=st.floats(250, 300), tip=st.floats(150, 250))
def test_a_tapering_log_balances_nearer_its_butt(butt: float, middle: float, tip: float):
    point = balance_point(a_log(butt=butt, middle=middle, tip=tip))

    assert 0 < point.low_mm < point.from_butt_end_mm < point.high_mm < 6000
    assert point.from_butt_end_mm <= 3000
    assert any("never under the load" in caution for caution in point.cautions)


def test_a_piece_balances_from_its_own_end():
    log = a_log(butt=400, middle=300, tip=200)

    whole, half = balance_point(log), balance_point(log, from_butt_mm=3000)

    assert half.from_butt_end_mm < 1500 < whole.from_butt_end_mm
    # Two standard deviations: a twelfth of a tenth of the length, and a little for the readings.
    assert half.high_mm - half.from_butt_end_mm == pytest.approx(2 * 0.1 * 3000 / 12, rel=0.1)


def test_there_is_no_balance_outside_the_log():
    with pytest.raises(BadPosition):
        balance_point(a_log(butt=400, middle=300, tip=200), to_mm=7000)


def test_steep_legs_carry_half_each_and_flat_ones_are_warned_of():
    steep, flat = two_leg_sling(weight_kg=400, angle_deg=90), two_leg_sling(weight_kg=400, angle_deg=40)

    assert steep.tension_kg == pytest.approx(200)
    assert flat.tension_kg == pytest.approx(200 / math.sin(math.radians(40)))
    assert "too flat" in flat.cautions[0]
    assert not any("too flat" in caution for caution in steep.cautions)


@pytest.mark.parametrize("angle", [0.0, 29.9, 90.1, -60.0, math.nan, math.inf])
def test_no_sling_is_rigged_so(angle: float):
    with pytest.raises(BadSling):
        two_leg_sling(weight_kg=400, angle_deg=angle)


@pytest.mark.parametrize("weight", [0.0, -1.0, math.nan, math.inf])
def test_a_sling_carries_a_load(weight: float):
    with pytest.raises(BadLoad):
        two_leg_sling(weight_kg=weight, angle_deg=60)
