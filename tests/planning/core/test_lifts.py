"""What a crew lifts: the log as it hangs, whole or cut, as dry as it was charted."""

import pytest

from inventory.core.profile import profile_of
from inventory.core.weight import Seasoning, log_weight
from inventory.core.wood import SpeciesFigures
from planning.core.lifts import Hangs, PlannedLift, hangs_whole_or_cut, lift_of

PINE = SpeciesFigures(
    name="a pine", basic_gravity=0.40, moisture_heart_pct=40, moisture_sap_pct=120, sapwood_mm=30,
    shrink_radial_pct=4, shrink_tangential_pct=6,
)  # fmt: skip
# Even, 300 mm thick and 8 m long; the readings are at its very ends.
LOG = profile_of(length_mm=8000, butt_mm=300, middle_mm=300, tip_mm=300, station_inset_mm=0)


def the_lift(
    hangs: Hangs, *, species: SpeciesFigures | None = PINE, seasoning: Seasoning | None = None
) -> PlannedLift:
    return lift_of(
        profile=LOG, species=species, seasoning=seasoning, from_butt_mm=1000, to_mm=7000, hangs=hangs
    )


def test_an_uncut_log_weighs_all_of_itself_and_balances_in_its_middle():
    whole, cut = the_lift(Hangs.WHOLE), the_lift(Hangs.CUT)

    assert whole.weight_kg == pytest.approx(cut.weight_kg * 8 / 6)
    assert whole.balance_from_butt_mm == pytest.approx(4000)
    assert cut.balance_from_butt_mm == pytest.approx(1000 + 3000)
    assert any("uncut log" in caution for caution in whole.cautions)
    assert not any("uncut log" in caution for caution in cut.cautions)


def test_the_balance_of_a_cut_piece_is_told_from_the_logs_butt_with_its_range():
    tapered = profile_of(length_mm=8000, butt_mm=340, middle_mm=300, tip_mm=260, station_inset_mm=0)
    lift = lift_of(
        profile=tapered, species=PINE, seasoning=None, from_butt_mm=1000, to_mm=7000, hangs=Hangs.CUT
    )
    alone = profile_of(length_mm=6000, butt_mm=330, middle_mm=300, tip_mm=270, station_inset_mm=0)
    piece = lift_of(
        profile=alone, species=PINE, seasoning=None, from_butt_mm=0, to_mm=6000, hangs=Hangs.WHOLE
    )

    assert lift.balance_from_butt_mm == pytest.approx(1000 + piece.balance_from_butt_mm)
    assert lift.balance_low_mm == pytest.approx(1000 + piece.balance_low_mm, abs=10)
    assert lift.balance_high_mm == pytest.approx(1000 + piece.balance_high_mm, abs=10)
    assert lift.balance_low_mm < lift.balance_from_butt_mm < lift.balance_high_mm


def test_the_sling_carries_the_top_of_the_range_of_what_hangs():
    for hangs in Hangs:
        lift = the_lift(hangs)

        assert lift.weight_low_kg < lift.weight_kg < lift.weight_high_kg
        # Two legs at 60 degrees: W / (2 sin 60).
        assert lift.sling.tension_kg == pytest.approx(lift.weight_high_kg / 3**0.5)


def test_a_log_charted_dry_is_lifted_lighter_and_one_nobody_looked_at_as_green():
    unknown, green, dry = (
        the_lift(Hangs.CUT, seasoning=how) for how in (None, Seasoning.GREEN, Seasoning.DRY)
    )

    assert unknown.weight_high_kg == green.weight_high_kg > 1.3 * dry.weight_high_kg
    assert (unknown.seasoning, dry.seasoning) == (None, Seasoning.DRY)


def test_the_weight_is_of_a_log_as_thick_as_this_one():
    by_hand = log_weight(PINE, volume_m3=3.14159265 * 0.15**2 * 6, diameter_mm=300)

    assert the_lift(Hangs.CUT).weight_kg == pytest.approx(by_hand.likely_kg)


def test_a_log_that_gives_several_pieces_is_cut_on_the_ground():
    assert hangs_whole_or_cut(pieces_of_log=1) is Hangs.WHOLE
    assert hangs_whole_or_cut(pieces_of_log=2) is Hangs.CUT


def test_without_a_species_nobody_lifts():
    lift = the_lift(Hangs.WHOLE, species=None)

    assert (lift.weight_kg, lift.weight_high_kg, lift.sling) == (None, None, None)
    assert any("do not lift" in caution for caution in lift.cautions)
