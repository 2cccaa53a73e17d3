"""Settling: what a rule says to leave, what will happen, and that the two are never mixed."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabins.core.courses import settling_space_mm
from cabins.core.layout import read_layout
from cabins.core.settling import Prediction, ShrinkageShare, predict_settling, shrinkage_share
from cabins.core.settling_rules import (
    RULES,
    SettlingAllowance,
    SettlingError,
    SettlingMember,
    allowance_for,
    local_code_rule,
)
from cabins.core.settling_sheet import (
    Post,
    height_beside_mm,
    post_beside_wall,
    settling_sheet,
    top_at_mm,
)
from cabins.core.stack import Spot, Stack, stack_up
from inventory.core.basis import Basis
from inventory.core.wood import SpeciesFigures
from tests.cabins.core.drawings import a_rectangle

INVENTED = Basis(rule="-", source="an invented species", assumption="green to 12 %")
GREEN = ShrinkageShare(low=0.027, high=0.043, basis=INVENTED)


def a_wall(*, gap_mm: float = 13, measured_mm: dict[Spot, float] | None = None, **changes: Any) -> Stack:
    """Eight rounds of logs of 358 in the rectangle with its door and window."""
    gap = {"smallest_mm": gap_mm - 5, "target_mm": gap_mm, "largest_mm": gap_mm + 5}
    layout = read_layout(a_rectangle(gap=gap, rounds=8, **changes))
    return stack_up(layout, diameters_mm={}, measured_mm=measured_mm)


def test_the_bulletins_door_gets_the_bulletins_space():
    allowance = allowance_for(member=SettlingMember.DOOR, height_mm=82 * 25.4, rule=RULES["mp579"])

    assert (allowance.low_mm, allowance.high_mm) == (pytest.approx(63.5), pytest.approx(101.6))
    assert allowance.leave_mm == allowance.high_mm
    assert "Building with Logs" in allowance.basis.source


def test_a_taller_door_than_the_bulletins_gets_more_in_proportion():
    tall = allowance_for(member=SettlingMember.DOOR, height_mm=84 * 25.4 * 1.25, rule=RULES["mp579"])
    low = allowance_for(member=SettlingMember.DOOR, height_mm=40 * 25.4, rule=RULES["mp579"])

    assert tall.high_mm == pytest.approx(1.25 * 101.6)
    assert low.low_mm == pytest.approx(63.5 / 2)


def test_a_rule_published_without_a_height_says_so():
    window = allowance_for(member=SettlingMember.WINDOW, height_mm=1150, rule=RULES["mp579"])
    door = allowance_for(member=SettlingMember.DOOR, height_mm=2100, rule=RULES["mp579"])

    assert (window.low_mm, window.high_mm) == pytest.approx((38.1, 76.2)), "1 1/2 to 3 in above a window"
    assert any("without a height" in caution for caution in window.cautions)
    assert not any("without a height" in caution for caution in door.cautions)


def test_a_share_of_the_height_is_allowed_by_a_percentage_rule():
    allowance = allowance_for(member=SettlingMember.POST, height_mm=2500, rule=RULES["ilba2000_green"])

    assert allowance.leave_mm == pytest.approx(150)
    assert any("memory" in caution for caution in allowance.cautions)


def test_the_local_code_comes_first():
    code = local_code_rule(low_percent=4, high_percent=5, title="Invented County Building Code 12.3")

    allowance = allowance_for(
        member=SettlingMember.DOOR, height_mm=2000, rule=RULES["mp579"], local_code=code
    )

    assert allowance.rule == "local_code"
    assert (allowance.low_mm, allowance.high_mm) == (pytest.approx(80), pytest.approx(100))
    assert "Invented County Building Code 12.3 (local code)" in allowance.basis.source


@pytest.mark.parametrize(
    ("low", "high", "title"), [(5, 4, "a code"), (-1, 4, "a code"), (1, 30, "a code"), (1, 2, " ")]
)
def test_a_local_code_without_sense_is_refused(low: float, high: float, title: str):
    with pytest.raises(SettlingError):
        local_code_rule(low_percent=low, high_percent=high, title=title)


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda rule: rule.id)
@pytest.mark.parametrize("member", list(SettlingMember))
def test_every_rule_names_its_source_and_defers_to_local_code(rule: Any, member: SettlingMember):
    allowance = allowance_for(member=member, height_mm=2100, rule=rule)

    assert 0 < allowance.low_mm <= allowance.high_mm < 300
    assert rule.source.title in allowance.basis.source
    assert "Local code" in allowance.cautions[0]


def test_by_hand_a_scribed_wall_comes_down_by_all_its_shrinkage_and_beds_down():
    # 2400 mm: 2.7 % is 64.8, 4.3 % is 103.2, bedding down up to 24.
    prediction = predict_settling(height_mm=2400, share=GREEN, is_scribed=True)

    assert prediction.low_mm == pytest.approx(64.8)
    assert prediction.high_mm == pytest.approx(127.2)
    assert prediction.bedding_high_mm == pytest.approx(24)
    assert prediction.shrinkage_high_mm == pytest.approx(103.2)


def test_by_hand_in_a_chinked_wall_half_the_shrinkage_may_stay_at_the_notches():
    prediction = predict_settling(height_mm=2400, share=GREEN, is_scribed=False)

    assert prediction.low_mm == pytest.approx(32.4)
    assert prediction.high_mm == pytest.approx(127.2)
    assert "chinked" in prediction.basis.assumption


def test_logs_that_are_dry_already_only_bed_down():
    dry = ShrinkageShare(low=0, high=0, basis=INVENTED)

    prediction = predict_settling(height_mm=2400, share=dry, is_scribed=True)

    assert (prediction.low_mm, prediction.high_mm) == (0, pytest.approx(24))


@given(
    height=st.floats(0, 6000),
    low=st.floats(0, 0.06),
    more=st.floats(0, 0.07),
    bedding=st.floats(0, 0.02),
    is_scribed=st.booleans(),
)
def test_a_prediction_is_a_range_within_the_wall(
    height: float, low: float, more: float, bedding: float, is_scribed: bool
):
    share = ShrinkageShare(low=low, high=low + more, basis=INVENTED)

    prediction = predict_settling(
        height_mm=height, share=share, is_scribed=is_scribed, bedding_down=(0, bedding)
    )

    assert 0 <= prediction.low_mm <= prediction.high_mm <= 0.15 * height
    total = prediction.shrinkage_high_mm + prediction.bedding_high_mm
    assert prediction.high_mm == pytest.approx(total)


@pytest.mark.parametrize(
    "asked",
    [
        {"height_mm": -1},
        {"height_mm": math.inf},
        {"share": ShrinkageShare(low=-0.01, high=0.04, basis=INVENTED)},
        {"share": ShrinkageShare(low=0.02, high=math.nan, basis=INVENTED)},
        {"bedding_down": (0.02, 0.01)},
    ],
)
def test_a_prediction_from_impossible_figures_is_refused(asked: dict[str, Any]):
    plain = {"height_mm": 2400, "share": GREEN, "is_scribed": True}

    with pytest.raises(SettlingError):
        predict_settling(**(plain | asked))


def test_an_allowance_for_no_height_is_refused():
    with pytest.raises(SettlingError, match="no height"):
        allowance_for(member=SettlingMember.DOOR, height_mm=math.nan, rule=RULES["mp579"])


def test_allowance_and_prediction_are_two_kinds_of_answer():
    sheet = settling_sheet(a_wall(), share=GREEN, rule=RULES["mp579"])

    assert {type(opening.allowance) for opening in sheet.openings} == {SettlingAllowance}
    assert {type(opening.prediction) for opening in sheet.openings} == {Prediction}
    assert not {"leave_mm"} & set(Prediction.__dataclass_fields__)


def test_by_hand_the_log_wall_beside_a_door_settles_over_its_height_and_its_space():
    # A share of 6 % of h = 1817 + 0.06 h: h = 1817 / 0.94.
    door = a_wall().layout.openings[0]

    assert height_beside_mm(door, RULES["ilba2000_green"]) == pytest.approx(1817 / 0.94, abs=0.01)


def test_the_space_of_the_settling_sheet_is_the_space_of_the_hole():
    stack = a_wall()

    sheet = settling_sheet(stack, share=GREEN, rule=RULES["ilba2000_green"])

    door = stack.layout.openings[0]
    space = settling_space_mm(door, RULES["ilba2000_green"])
    assert sheet.openings[0].allowance.leave_mm == pytest.approx(space, abs=0.01)
    assert sheet.openings[0].beside_mm == pytest.approx(1817 + space, abs=0.01)


def test_a_top_between_two_columns_lies_on_the_line_between_them():
    stack = a_wall(measured_mm={("A", 1, 0): 360, ("A", 1, 1): 380})

    assert top_at_mm(stack, wall="A", round_number=1, at_mm=2350) == pytest.approx(370)
    assert top_at_mm(stack, wall="A", round_number=1, at_mm=5080) == pytest.approx(380 + 20 * 380 / 4700)


def test_a_post_gets_what_its_screw_jack_must_take_up():
    sheet = settling_sheet(
        a_wall(), share=GREEN, rule=RULES["ilba2000_dry"], posts=[Post(id="porch", height_mm=2400)]
    )

    (post,) = sheet.posts
    assert post.allowance.leave_mm == pytest.approx(72)
    assert post.prediction.high_mm == pytest.approx(127.2)
    assert post.cautions == (
        "The prediction exceeds the rule's allowance: leave the larger space, or dry the logs first.",
    )


def test_no_caution_where_the_allowance_covers_the_prediction():
    sheet = settling_sheet(
        a_wall(), share=GREEN, rule=RULES["ilba2000_green"], posts=[Post(id="porch", height_mm=2400)]
    )

    assert sheet.posts[0].cautions == ()


def test_every_round_has_its_height_now_and_later():
    sheet = settling_sheet(a_wall(gap_mm=-40), share=GREEN, rule=RULES["mp579"])

    last = next(each for each in sheet.rounds if (each.wall, each.round) == ("A", 8))
    assert sheet.is_scribed
    assert last.now_mm == pytest.approx(8 * 318)
    assert last.later_high_mm == pytest.approx(8 * 318 * (1 - 0.027))
    assert last.later_low_mm == pytest.approx(8 * 318 * (1 - 0.053))
    assert len(sheet.rounds) == 4 * 8


FIR = SpeciesFigures(
    name="invented fir",
    basic_gravity=0.45,
    shrink_radial_pct=4.8,
    shrink_tangential_pct=7.6,
    fibre_saturation_pct=28,
)


def test_by_hand_a_species_loses_its_shrinkage_in_part_and_its_spread():
    # From 28 % to 12 %: 16 of 28 parts, 2.74 % radial and 4.34 % tangential, 15 % of the greater beyond both.
    share = shrinkage_share(FIR)

    assert share.low == pytest.approx(0.048 * 16 / 28 - 0.15 * 0.076 * 16 / 28)
    assert share.high == pytest.approx(1.15 * 0.076 * 16 / 28)


def test_logs_built_dry_lose_less_than_green_ones_and_swollen_ones_nothing():
    dry = shrinkage_share(FIR, from_moisture_pct=18)
    swelling = shrinkage_share(FIR, from_moisture_pct=10, to_moisture_pct=14)

    assert dry.high < shrinkage_share(FIR).high
    assert swelling.low == 0
    assert swelling.high < 0.01


def test_a_post_beside_a_wall_is_as_high_as_its_logs_there():
    """Eight rounds, the end of wall A measured 40 mm above what the logs give: half of it half way along."""
    level = a_wall()
    nominal = level.heights_mm["A", 8, 0]
    raised = a_wall(measured_mm={("A", 8, 1): nominal + 40})
    half = next(wall.length_mm for wall in level.layout.log_walls if wall.id == "A") / 2

    post = post_beside_wall(raised, wall="A", at_mm=half)

    assert post_beside_wall(level, wall="A", at_mm=0).height_mm == pytest.approx(nominal)
    assert post.height_mm == pytest.approx(nominal + 20)


@pytest.mark.parametrize(("wall", "at_mm"), [("Z", 0), ("A", -1), ("A", 1e9), ("A", math.nan)])
def test_a_post_beside_no_wall_is_refused(wall: str, at_mm: float):
    with pytest.raises(SettlingError):
        post_beside_wall(a_wall(), wall=wall, at_mm=at_mm)


def test_a_crews_own_bedding_down_counts_for_openings_posts_and_rounds():
    post = [Post(id="p", height_mm=2000)]

    usual = settling_sheet(a_wall(), share=GREEN, rule=RULES["mp579"], posts=post)
    more = settling_sheet(a_wall(), share=GREEN, rule=RULES["mp579"], posts=post, bedding_down=(0.005, 0.03))

    for before, after in ((usual.posts[0], more.posts[0]), (usual.openings[0], more.openings[0])):
        height = before.prediction.height_mm
        assert after.prediction.high_mm - before.prediction.high_mm == pytest.approx(0.02 * height)
        assert after.prediction.low_mm - before.prediction.low_mm == pytest.approx(0.005 * height)
    now = usual.rounds[-1].now_mm
    assert usual.rounds[-1].later_low_mm - more.rounds[-1].later_low_mm == pytest.approx(0.02 * now)


@pytest.mark.parametrize("bedding", [(0.02, 0.01), (-0.01, 0.01), (0.0, 0.9), (math.nan, 0.1)])
def test_bedding_down_that_cannot_be_is_refused(bedding: tuple[float, float]):
    with pytest.raises(SettlingError, match="bedding down"):
        settling_sheet(a_wall(), share=GREEN, rule=RULES["mp579"], bedding_down=bedding)
