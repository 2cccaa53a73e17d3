"""Notch cuts: what each kind takes and leaves, worked by hand, and the corner sheet that adds up."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabins.core.corner_sheet import NoSuchCrossing, corner_sheet
from cabins.core.joint_parts import CutFace, JointError, JointSettings, NotchCut, Side
from cabins.core.joints import cut_notch
from cabins.core.layout import Layout, NotchKind, read_layout
from cabins.core.places import crossings_of
from cabins.core.stack import Spot, stack_up
from tests.cabins.core.drawings import EVEN, a_cabin, a_partition, a_rectangle, laid


def a_cut(**changes: Any) -> NotchCut:
    """A saddle notch 140 deep in a log of 300 over a log of 300, gap 10."""
    plain: dict[str, Any] = {
        "kind": NotchKind.SADDLE,
        "depth_mm": 140,
        "diameter_mm": 300,
        "crossing_diameter_mm": 300,
    }
    return cut_notch(**(plain | changes))


def test_by_hand_a_saddle_takes_its_depth_from_the_underside_only():
    cut = a_cut()

    assert [(face.side, face.depth_mm) for face in cut.faces] == [(Side.UNDERSIDE, 140)]
    assert cut.remains_mm == cut.thinnest_mm == 160
    # A chord 140 below the top of a circle of 300.
    assert cut.width_mm == pytest.approx(2 * math.sqrt(140 * 160))
    assert cut.scriber_mm == 140
    assert cut.drains_outward
    assert cut.warnings == ()


def test_by_hand_a_notch_of_half_the_log_leaves_half_its_section():
    cut = a_cut(depth_mm=150)

    assert cut.remains_area_share == pytest.approx(0.5)
    assert cut.width_mm == pytest.approx(300)


def test_a_lap_leaves_as_much_wood_but_holds_water():
    cut = a_cut(kind=NotchKind.LAP)

    assert cut.remains_mm == 160
    assert not cut.drains_outward
    assert any("holds water" in caution for caution in cut.cautions)


def test_by_hand_a_half_dovetail_shares_the_depth_between_both_logs():
    # Hewn 180 thick, slope 1 in 5: the seat falls 36 over its width, 18 either side of its middle.
    cut = a_cut(kind=NotchKind.HALF_DOVETAIL, depth_above_mm=120, thickness_mm=180)

    assert cut.faces == (
        CutFace(
            side=Side.UNDERSIDE, depth_mm=70, deepest_mm=88, shallowest_mm=52, slope_along=0.2, slope_across=0
        ),
        CutFace(side=Side.TOP, depth_mm=60, deepest_mm=78, shallowest_mm=42, slope_along=0, slope_across=0.2),
    )
    assert cut.remains_mm == 170
    assert cut.thinnest_mm == 134
    assert cut.remains_area_share == pytest.approx(170 / 300)
    assert cut.drains_outward


def test_by_hand_a_full_dovetail_slopes_both_ways_on_both_faces():
    cut = a_cut(kind=NotchKind.FULL_DOVETAIL, depth_above_mm=120, thickness_mm=180)

    underside, top = cut.faces
    assert (underside.slope_along, underside.slope_across) == (0.2, -0.1)
    assert (top.slope_along, top.slope_across) == (-0.1, 0.2)
    # 18 by the slope to the outside and 9 by the back slope.
    assert underside.deepest_mm == pytest.approx(70 + 27)
    assert cut.thinnest_mm == pytest.approx(170 - 54)
    assert cut.drains_outward


def test_a_full_dovetail_that_slopes_more_along_the_wall_does_not_drain_outward():
    cut = a_cut(kind=NotchKind.FULL_DOVETAIL, settings=JointSettings(slope=0.1, back_slope=0.2))

    assert not cut.drains_outward


def test_the_seat_is_one_plane_for_the_lower_and_the_upper_log():
    # What falls along the upper log falls across the lower one, and the other way round.
    for kind in (NotchKind.HALF_DOVETAIL, NotchKind.FULL_DOVETAIL):
        underside, top = a_cut(kind=kind, depth_above_mm=120, thickness_mm=180).faces

        assert underside.slope_along == top.slope_across
        assert underside.slope_across == top.slope_along


def test_underscribing_cuts_deeper_and_leaves_the_notch_open():
    cut = a_cut(settings=JointSettings(underscribe_mm=8))

    assert cut.scriber_mm == 148
    assert (cut.remains_mm, cut.clearance_mm) == (152, 8)


@pytest.mark.parametrize(("thickness_mm", "warned"), [(400, True), (300, False)])
def test_a_slope_is_warned_of_only_where_it_leaves_the_wood(thickness_mm, warned):
    cut = a_cut(kind=NotchKind.HALF_DOVETAIL, depth_mm=62, depth_above_mm=62, thickness_mm=thickness_mm)

    assert (min(face.shallowest_mm for face in cut.faces) < 0) is warned
    assert any("runs out of the wood" in each for each in cut.warnings) is warned


@pytest.mark.parametrize(
    ("changes", "warning"),
    [
        ({"depth_mm": -12}, "must be packed"),
        ({"depth_mm": 0}, "must be packed"),
        ({"depth_mm": 40}, "takes 0.13 of the log; 0.2 to 0.7 is allowed"),
        ({"depth_mm": 225}, "takes 0.75"),
        ({"depth_mm": 200}, "Only 100 mm would remain at the thinnest edge"),
        ({"depth_mm": 220}, "Less than 0.33 of the section"),
        ({"depth_mm": 320}, "Nothing would remain"),
        (
            {"kind": NotchKind.HALF_DOVETAIL, "depth_mm": 62, "depth_above_mm": 62, "thickness_mm": 400},
            "runs out of the wood",
        ),
    ],
)
def test_what_can_hurt_someone_is_warned_of(changes: dict[str, Any], warning: str):
    cut = a_cut(**changes)

    assert any(warning in each for each in cut.warnings)
    assert "licensed practice" in cut.cautions[0]


def test_a_remembered_limit_says_that_it_is_remembered():
    cut = a_cut(depth_mm=200)

    assert all("from memory" in warning for warning in cut.warnings)


@given(
    kind=st.sampled_from(list(NotchKind)),
    depth=st.floats(1, 250),
    above=st.floats(-20, 250),
    thickness=st.none() | st.floats(100, 400),
    underscribe=st.floats(0, 10),
    top_share=st.floats(0, 0.9),
)
def test_what_is_cut_and_what_remains_make_the_log(
    kind: NotchKind, depth: float, above: float, thickness: float | None, underscribe: float, top_share: float
):
    settings = JointSettings(underscribe_mm=underscribe, top_share=top_share)

    cut = a_cut(kind=kind, depth_mm=depth, depth_above_mm=above, thickness_mm=thickness, settings=settings)

    assert sum(face.depth_mm for face in cut.faces) + cut.remains_mm == pytest.approx(300)
    assert cut.thinnest_mm <= cut.remains_mm
    assert 0 <= cut.remains_area_share <= 1


@pytest.mark.parametrize(
    "changes",
    [
        {"diameter_mm": 0},
        {"crossing_diameter_mm": math.nan},
        {"thickness_mm": -180},
        {"depth_mm": math.inf},
        {"depth_above_mm": math.nan},
        {"settings": JointSettings(underscribe_mm=-1)},
        {"settings": JointSettings(overscribe_mm=200)},
        {"settings": JointSettings(slope=0)},
        {"settings": JointSettings(back_slope=2)},
        {"settings": JointSettings(top_share=1)},
    ],
)
def test_a_notch_that_cannot_be_cut_is_refused(changes: dict[str, Any]):
    with pytest.raises(JointError):
        a_cut(**changes)


def kind_of_cabin(kind: str, gap_mm: float, rounds: int) -> Layout:
    """The rectangle with a partition, by notch and gap."""
    gap = {"smallest_mm": gap_mm - 5, "target_mm": gap_mm, "largest_mm": gap_mm + 5}
    return read_layout(
        a_rectangle(notch=kind, gap=gap, rounds=rounds, openings=[], partitions=[a_partition()])
    )


def test_by_hand_the_sheet_of_a_corner_of_even_logs():
    # Seats at SE: deck 0, A 310, B 465, A 620, B 775; on packing of 10, each log above takes 155.
    sheet = corner_sheet(stack_up(a_cabin(), diameters_mm=laid([EVEN, EVEN])), crossing="SE")

    assert [(row.wall, row.round) for row in sheet.rows] == [("A", 1), ("B", 1), ("A", 2), ("B", 2)]
    assert [row.seat_mm for row in sheet.rows] == [0, 310, 465, 620]
    assert [row.cut.depth_mm for row in sheet.rows] == [-10, 145, 145, 145]
    assert [row.cut.remains_mm for row in sheet.rows] == [300, 155, 155, 155]
    assert sheet.rows[0].cut.packing_mm == 10
    assert sheet.sum_mm == sheet.height_mm == 775
    assert sheet.warnings == ()


def test_by_hand_the_first_log_of_a_scribed_wall_gets_a_flat():
    sheet = corner_sheet(stack_up(a_cabin(gap_mm=-40), diameters_mm=laid([EVEN, EVEN])), crossing="SE")

    first = sheet.rows[0].cut
    assert (first.depth_mm, first.remains_mm, first.scriber_mm) == (40, 260, None)
    assert [face.slope_along for face in first.faces] == [0]
    assert first.drains_outward


def test_where_heights_were_measured_the_notch_is_what_it_must_have_been():
    measured = {("B", 1, 0): 460.0}

    sheet = corner_sheet(
        stack_up(a_cabin(), diameters_mm=laid([EVEN, EVEN]), measured_mm=measured), crossing="SE"
    )

    # B tops at 460 instead of 465: 300 less what it stands above A's top of 310.
    assert sheet.rows[1].is_measured
    assert sheet.rows[1].cut.depth_mm == 150
    assert sheet.sum_mm == pytest.approx(sheet.height_mm)


def test_a_thin_notch_is_warned_of_with_its_place():
    measured = {("B", 1, 0): 400.0}

    sheet = corner_sheet(
        stack_up(a_cabin(), diameters_mm=laid([EVEN, EVEN]), measured_mm=measured), crossing="SE"
    )

    assert any(warning.startswith("Round 1, wall B: Only 90 mm") for warning in sheet.warnings)


diameters = st.floats(200, 420)


@given(
    kind=st.sampled_from([kind.value for kind in NotchKind]),
    gap=st.floats(-50, 30),
    rows=st.lists(st.tuples(*[diameters] * 12), min_size=1, max_size=5),
    heights=st.dictionaries(
        st.tuples(st.sampled_from("ABCDP"), st.integers(1, 5), st.integers(0, 1)), st.floats(100, 1500)
    ),
    underscribe=st.floats(0, 10),
)
def test_what_remains_in_every_corner_adds_up_to_the_walls_height(
    kind: str,
    gap: float,
    rows: list[tuple[float, ...]],
    heights: dict[Spot, float],
    underscribe: float,
):
    spots = [*((wall, column) for wall in "AC" for column in range(3))]
    spots += [(wall, column) for wall in "BDP" for column in range(2)]
    laid_mm = {
        (wall, number, column): diameter
        for number, row in enumerate(rows, 1)
        for (wall, column), diameter in zip(spots, row, strict=True)
    }
    measured = {spot: height for spot, height in heights.items() if spot[1] <= len(rows)}
    stack = stack_up(kind_of_cabin(kind, gap, len(rows)), diameters_mm=laid_mm, measured_mm=measured)

    for crossing in crossings_of(stack.layout):
        sheet = corner_sheet(stack, crossing=crossing.id, settings=JointSettings(underscribe_mm=underscribe))

        assert sheet.sum_mm == pytest.approx(sheet.height_mm, abs=1e-6)
        assert sheet.rows[-1].next_seat_mm == sheet.height_mm
        for row in sheet.rows:
            assert row.takes_mm == pytest.approx(row.next_seat_mm - row.seat_mm, abs=1e-6)


def test_a_corner_the_cabin_does_not_have_has_no_sheet():
    with pytest.raises(NoSuchCrossing, match="no crossing NX"):
        corner_sheet(stack_up(a_cabin(), diameters_mm={}), crossing="NX")
