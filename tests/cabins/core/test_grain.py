"""Spiral grain: how strong it is, where such a log may lie, and what a crew may switch."""

import math

import pytest

from cabins.core.grain import (
    RULES,
    Grain,
    GrainBands,
    GrainError,
    GrainPlace,
    GrainWeight,
    SpiralStrength,
    grain_band,
    judge_grain,
    rounds_for_grain,
)
from cabins.core.sources import SourceMark
from inventory.core.chart_line import GrainHand


def winding(hand: str, run: float | None) -> Grain:
    """Grain that winds to a hand, one across in `run`."""
    return Grain(hand=GrainHand(hand), run=run)


@pytest.mark.parametrize(
    ("hand", "run", "band"),
    [
        ("straight", None, SpiralStrength.STRAIGHT),
        ("left", 40, SpiralStrength.STRAIGHT),
        ("right", 30, SpiralStrength.MODERATE),
        ("left", 25, SpiralStrength.MODERATE),
        ("left", 20, SpiralStrength.SEVERE),
        ("right", 8, SpiralStrength.SEVERE),
        ("right", None, SpiralStrength.SEVERE),
    ],
)
def test_grain_counts_by_its_slope(hand: str, run: float | None, band: SpiralStrength):
    assert grain_band(winding(hand, run)) is band


def test_a_crew_may_set_its_own_bands():
    assert (
        grain_band(winding("left", 25), bands=GrainBands(straight_run=24, moderate_run=12))
        is SpiralStrength.STRAIGHT
    )


def test_straight_grain_may_lie_anywhere():
    assert rounds_for_grain(winding("straight", None), rounds=9, heed_warnings=True) == tuple(range(1, 10))


def test_twisted_logs_belong_in_the_lower_half():
    right = rounds_for_grain(winding("right", 25), rounds=9, heed_warnings=True)

    assert right == (1, 2, 3, 4, 5)


def test_a_moderate_left_hand_spiral_belongs_in_the_lowest_third():
    assert rounds_for_grain(winding("left", 25), rounds=9, heed_warnings=True) == (1, 2, 3)


def test_a_severe_left_hand_spiral_serves_only_at_the_bottom_or_as_a_half_log():
    full = judge_grain(winding("left", 12), GrainPlace(round=3, rounds=9))
    half = judge_grain(winding("left", 12), GrainPlace(round=3, rounds=9, is_half_log=True))

    assert [objection.rule for objection in full.objections] == ["left_severe_half_log_only"]
    assert half.objections == ()


def test_only_straight_grain_lies_in_the_top_round():
    verdict = judge_grain(winding("right", 25), GrainPlace(round=9, rounds=9))

    assert {objection.rule for objection in verdict.objections} == {"twist_low", "top_round_straight"}


def test_a_remembered_rule_warns_but_does_not_forbid_until_a_crew_makes_it_bind():
    place = GrainPlace(round=3, rounds=9)

    as_it_is = judge_grain(winding("left", 12), place)
    switched = judge_grain(
        winding("left", 12), place, switched={"left_severe_half_log_only": GrainWeight.BIND}
    )

    assert as_it_is.may_lie
    assert "memory" in as_it_is.cautions[-1]
    assert not switched.may_lie


def test_a_rule_switched_off_is_not_asked():
    verdict = judge_grain(
        winding("left", 25),
        GrainPlace(round=9, rounds=9),
        switched=dict.fromkeys(RULES, GrainWeight.OFF),
    )

    assert verdict.objections == ()
    assert verdict.basis.rule == ""
    assert len(verdict.cautions) == 1


@pytest.mark.parametrize(
    ("place", "rule"),
    [
        (GrainPlace(round=1, rounds=9, full_notches=1), "twist_two_full_notches"),
        (GrainPlace(round=1, rounds=9, cut_share=0.7), "twist_opening_cut"),
    ],
)
def test_a_twisted_log_held_badly_is_forbidden_and_a_straight_one_not(place: GrainPlace, rule: str):
    twisted = judge_grain(winding("right", 25), place)
    straight = judge_grain(winding("straight", None), place)

    assert [objection.rule for objection in twisted.objections] == [rule]
    assert not twisted.may_lie
    assert straight.may_lie


def test_no_rule_from_memory_binds_by_itself():
    assert all(
        rule.weight is not GrainWeight.BIND
        for rule in RULES.values()
        if rule.source.mark is SourceMark.MEMORY
    )
    assert all(rule.text for rule in RULES.values())


@pytest.mark.parametrize("run", [0.5, 0, -20, math.nan, math.inf])
def test_an_impossible_slope_is_refused(run: float):
    with pytest.raises(GrainError, match="no slope"):
        grain_band(winding("left", run))


@pytest.mark.parametrize(
    "place",
    [
        GrainPlace(round=0, rounds=9),
        GrainPlace(round=10, rounds=9),
        GrainPlace(round=1, rounds=9, cut_share=1.5),
        GrainPlace(round=1, rounds=9, full_notches=-1),
    ],
)
def test_a_place_outside_the_wall_is_refused(place: GrainPlace):
    with pytest.raises(GrainError, match="no such place"):
        judge_grain(winding("left", 25), place)


def test_a_rule_nobody_named_and_bands_out_of_order_are_refused():
    place = GrainPlace(round=1, rounds=9)

    with pytest.raises(GrainError, match="named moon_phase"):
        judge_grain(winding("left", 25), place, switched={"moon_phase": GrainWeight.BIND})
    with pytest.raises(GrainError, match="bands"):
        judge_grain(winding("left", 25), place, bands=GrainBands(straight_run=10, moderate_run=20))


def test_grain_that_nobody_looked_at_is_unknown_and_no_rule_speaks_for_or_against_it():
    verdict = judge_grain(Grain(hand=None), GrainPlace(round=4, rounds=4))

    assert (verdict.band, verdict.may_lie, verdict.objections) == (SpiralStrength.UNKNOWN, True, ())
    assert "Nobody looked" in verdict.cautions[0]
