"""Gables of logs: what a roof line gives, how its logs shorten, where purlins and ridge lie, faults."""

import math
import xml.etree.ElementTree as ET
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cabins.core.drawings.elevation import Elevation, draw_elevation
from cabins.core.drawings.gable import GableToDraw, log_outline
from cabins.core.drawings.pieces import Filling
from cabins.core.gable_words import gable_notes
from cabins.core.gables import GableSheet, gable_sheet, gable_walls
from cabins.core.layout import Layout, LayoutFaults, layout_document, read_layout
from cabins.core.members import MemberKind
from cabins.core.places import places_of
from cabins.core.slopes import Slopes
from cabins.core.stack import stack_up
from inventory.core.crew_units import IN_MM
from tests.cabins.core.drawings import a_member, a_rectangle, an_l_shape

ROOF = {"slope": 0.5, "ridge": "along"}
PURLINS = a_member(id="purlin", kind="purlin", length_mm=5400, least_middle_mm=220, count=2)
SLACK_MM = 1e-6


def a_hut(**changes: Any) -> Layout:
    return read_layout(a_rectangle(**{"openings": [], "roof_line": ROOF, **changes}))


def a_sheet(layout: Layout, **diameters_mm: float) -> GableSheet:
    """The gables as laid out; diameters by the member's name, `gable_B_1` for `gable B 1`."""
    named = {name.replace("_", " "): diameter for name, diameter in diameters_mm.items()}
    sheet = gable_sheet(stack_up(layout, diameters_mm={}), diameters_mm=named)
    assert sheet is not None
    return sheet


def faults_of(**changes: Any) -> set[tuple[str, str]]:
    with pytest.raises(LayoutFaults) as refused:
        read_layout(a_rectangle(**{"openings": [], "roof_line": ROOF, **changes}))
    return {(fault.pointer, fault.code) for fault in refused.value.faults}


slopes = st.floats(0.2, 1.5)
roofs = st.fixed_dictionaries(
    {"slope": slopes, "ridge": st.sampled_from(["along", "across"]), "heel_mm": st.floats(0, 300)}
)
gaps = st.sampled_from([(6, 13, 25), (-30, -20, -10)])


@st.composite
def huts(draw: st.DrawFn) -> Layout:
    smallest, target, largest = draw(gaps)
    return a_hut(
        roof_line=draw(roofs),
        top=draw(st.sampled_from(["as_it_falls", "even"])),
        gap={"smallest_mm": smallest, "target_mm": target, "largest_mm": largest},
        members=[a_member(id="ridge", least_middle_mm=300), PURLINS],
    )


def test_a_gable_by_hand():
    # A hut of 3.5 m under a slope of 1 in 2 rises 875 over its corners; the low eaves lie half a round lower.
    layout = a_hut(log_middle_mm=300, gap={"smallest_mm": 5, "target_mm": 10, "largest_mm": 25})

    (gable, other) = a_sheet(layout).gables

    assert (gable.wall, other.wall) == ("B", "D")
    first, second, third = gable.logs
    assert (first.underside_mm - gable.on_mm, first.top_mm - gable.on_mm) == (10, 310)
    assert (first.start.at_mm, first.end.at_mm, first.length_mm) == (20, 3480, 3460)
    assert (first.start.run_mm, first.start.plumb_mm) == (600, 0)
    assert (second.length_mm, second.start.at_mm) == (pytest.approx(2220), pytest.approx(640))
    # The third is cut to a point: 245 of its 300 are left under the ridge.
    assert (third.length_mm, third.start.at_mm + third.start.run_mm) == (pytest.approx(980), 1750)
    assert gable.left_mm == 0


def test_no_log_is_laid_of_which_the_roof_would_leave_less_than_an_opening_may():
    # Under so flat a roof a second log would be long enough, but most of its height stands over the ridge.
    layout = a_hut(roof_line={"slope": 0.15, "ridge": "across"}, least_piece_mm=300)

    gable = a_sheet(layout, **{f"gable_{wall}_{n}": 360.0 for wall in "AC" for n in (1, 2)}).gables[0]

    assert [log.member for log in gable.logs] == ["gable A 1"]
    assert gable.not_needed == ("gable A 2",)
    assert 0 < gable.left_mm < (1 - layout.cut_share) * 360 + layout.gap.target_mm


def test_a_log_beside_the_plates_stands_plumb_against_them():
    # Gables over the low walls: the high eaves' plates, 300 thick, stand half a round over what it lies on.
    layout = a_hut(
        log_middle_mm=300,
        gap={"smallest_mm": 5, "target_mm": 10, "largest_mm": 25},
        roof_line={"slope": 0.5, "ridge": "across"},
    )

    gable = a_sheet(layout).gables[0]

    first = gable.logs[0]
    assert (first.start.at_mm, first.end.at_mm) == (150, 4700 - 150)
    # The line lies 155 and then 75 higher at the plate's face; the underside is 10 over the wall.
    assert first.start.plumb_mm == pytest.approx(155 + 75 - 10)
    assert gable.logs[1].start.plumb_mm == 0


@settings(max_examples=40, deadline=None)
@given(layout=huts(), data=st.data())
def test_every_log_lies_on_the_one_below_and_under_the_roof_line(layout: Layout, data: st.DataObject):
    least = layout.roof_line.thickness_mm(layout.log_middle_mm) if layout.roof_line else 0.0
    names = [place.member.id for place in layout.gable_places]
    thick = data.draw(st.fixed_dictionaries({name: st.floats(least, 1.3 * least) for name in names}))
    stack = stack_up(layout, diameters_mm={})
    sheet = gable_sheet(stack, diameters_mm=thick)
    assert sheet is not None

    for gable in sheet.gables:
        below, longest = gable.on_mm, math.inf
        for log in gable.logs:
            assert log.underside_mm == pytest.approx(below + layout.gap.target_mm)
            assert log.top_mm - log.underside_mm == pytest.approx(thick[log.member])
            assert layout.least_piece_mm <= log.length_mm <= longest
            assert sheet.slopes.ridge_mm - log.underside_mm >= (1 - layout.cut_share) * thick[log.member]
            assert all(y <= sheet.slopes.height_mm(x) + SLACK_MM for x, y in log_outline(sheet.slopes, log))
            # Beside the plates a first log may be shorter than the one that reaches over them.
            below, longest = log.top_mm, math.inf if log.start.plumb_mm else log.length_mm


@settings(max_examples=40, deadline=None)
@given(layout=huts(), data=st.data())
def test_no_gable_of_logs_thick_enough_needs_more_or_longer_pieces_than_the_layout_cuts(
    layout: Layout, data: st.DataObject
):
    least = layout.roof_line.thickness_mm(layout.log_middle_mm) if layout.roof_line else 0.0
    names = [place.member.id for place in layout.gable_places]
    thick = data.draw(st.fixed_dictionaries({name: st.floats(least, 1.5 * least) for name in names}))
    sheet = gable_sheet(stack_up(layout, diameters_mm={}), diameters_mm=thick)
    assert sheet is not None

    for gable in sheet.gables:
        assert all(log.lacks_mm == 0 and log.length_mm <= log.cut_mm for log in gable.logs)
        own = [name for name in names if name.split()[1] == gable.wall]
        assert [log.member for log in gable.logs] + list(gable.not_needed) == own
        # What is left over the last log is no place for another of the least thickness, or the ridge's.
        if not gable.not_needed and len(gable.logs) == len(own):
            under = gable.logs[-1].top_mm if gable.logs else gable.on_mm
            next_mm = sheet.slopes.ridge_mm - under - layout.gap.target_mm
            short = 2 * next_mm / sheet.slopes.slope < layout.least_piece_mm
            assert short or next_mm < (1 - layout.cut_share) * least


@settings(max_examples=60)
@given(slope=slopes, at=st.floats(0, 1), diameter=st.floats(100, 500))
def test_a_member_under_the_roof_line_touches_it(slope: float, at: float, diameter: float):
    line = Slopes(foot_mm=2500, span_mm=4000, slope=slope)
    x = at * 2000

    axis = line.axis_mm(x, diameter)

    away = (line.height_mm(x) - axis) / math.hypot(1, slope)
    assert away == pytest.approx(diameter / 2)


def test_ridge_and_purlins_bear_on_both_gables_at_mirrored_places():
    layout = a_hut(roof_line={"slope": 0.7, "ridge": "along"}, members=[a_member(), PURLINS])

    sheet = a_sheet(layout, ridge=310)

    low, high, ridge = sheet.bearings
    assert [one.member for one in sheet.bearings] == ["purlin 1", "purlin 2", "ridge"]
    assert (low.at_mm, high.at_mm, ridge.at_mm) == (875, 3500 - 875, 1750)
    assert (ridge.diameter_mm, ridge.is_assumed, low.diameter_mm, low.is_assumed) == (310, False, 220, True)
    here, there = sheet.gables
    assert [seat.at_mm for seat in here.seats] == [3500 - seat.at_mm for seat in there.seats]
    for seat in here.seats:
        top = here.logs[seat.round - 1].top_mm if seat.round else here.on_mm
        assert seat.depth_mm == pytest.approx(top - seat.underside_mm)
    assert all(log.underside_mm < ridge.underside_mm for log in here.logs)


def test_a_seat_that_takes_most_of_a_log_is_out_of_order():
    # The ridge's underside lies in the upper log, whose top shows most of its thickness over it.
    layout = a_hut(roof_line={"slope": 0.6, "ridge": "along"}, members=[a_member(least_middle_mm=400)])

    gable = a_sheet(layout).gables[0]

    (seat,) = gable.seats
    notes = gable_notes(gable, cut_share=layout.cut_share)
    assert (seat.share > layout.cut_share) is any("The seat of ridge takes" in note for note in notes)
    assert any("over the roof line: cut them to the slope" in note for note in notes)


def test_a_wall_that_stands_higher_at_the_plates_than_laid_out_makes_logs_that_lack_length():
    layout = a_hut(roof_line={"slope": 0.3, "ridge": "across"}, run_wild_mm=0)
    tops = {
        (wall, layout.round_count, column): 400.0 + layout.round_count * layout.pitch_mm
        for wall in ("B", "D")
        for column in (0, 1)
    }
    least = {place.member.id: place.least_middle_mm for place in layout.gable_places}

    sheet = gable_sheet(stack_up(layout, diameters_mm={}, measured_mm=tops), diameters_mm=least)

    assert sheet is not None
    gable = sheet.gables[0]
    assert any(log.lacks_mm > 0 for log in gable.logs)
    assert any("the piece cut for it lacks" in note for note in gable_notes(gable, cut_share=0.5))


def test_gable_logs_are_members_with_names_of_their_own_and_walls_keep_their_places():
    plain, roofed = a_hut(roof_line=None), a_hut(members=[a_member()])

    own = [one for one in roofed.single_members if one.kind is MemberKind.GABLE]

    assert plain.single_members == ()
    assert plain.gable_places == ()
    assert [one.id for one in own] == [
        f"gable {wall} {n}" for wall in "BD" for n in range(1, len(own) // 2 + 1)
    ]
    assert roofed.single_members[0].id == "ridge"
    assert all(one.least_middle_mm == pytest.approx(0.9 * roofed.log_middle_mm) for one in own)
    assert places_of(plain) == places_of(roofed)
    assert plain.courses == roofed.courses
    assert read_layout(layout_document(roofed)) == roofed


@pytest.mark.parametrize(
    ("across_mm", "ridge", "walls"),
    [
        (3500, "along", ["B", "D"]),
        (3500, "across", ["A", "C"]),
        (6000, "along", ["A", "C"]),
        (6000, "across", ["B", "D"]),
        (4700, "along", ["B", "D"]),
    ],
)
def test_gables_stand_over_the_walls_that_the_ridge_runs_across(
    across_mm: float, ridge: str, walls: list[str]
):
    drawn = a_rectangle(openings=[], roof_line={"slope": 0.5, "ridge": ridge})
    for corner in drawn["corners"][2:]:
        corner["y_mm"] = across_mm

    assert [wall.id for wall in gable_walls(read_layout(drawn))] == walls


@pytest.mark.parametrize(
    ("roof", "pointer", "code"),
    [
        ({"slope": 0}, "/roof_line/slope", "too_small"),
        ({"slope": 4}, "/roof_line/slope", "too_large"),
        ({"slope": "6:12"}, "/roof_line/slope", "not_a_number"),
        ({"ridge": "north"}, "/roof_line/ridge", "not_a_choice"),
        ({"heel_mm": -1}, "/roof_line/heel_mm", "too_small"),
        ({"pitch": 1}, "/roof_line/pitch", "unknown_field"),
    ],
)
def test_every_fault_of_a_roof_line_is_named_where_it_stands(roof: dict[str, Any], pointer: str, code: str):
    assert faults_of(roof_line={**ROOF, **roof}) == {(pointer, code)}


def test_what_cannot_go_with_a_roof_line_is_refused_by_name():
    odd = {**PURLINS, "count": 3}
    with pytest.raises(LayoutFaults) as refused:
        read_layout(an_l_shape(openings=[], roof_line=ROOF))

    assert [(one.pointer, one.code) for one in refused.value.faults] == [("/roof_line", "not_one_roof")]
    assert faults_of(roof_line="steep") == {("/roof_line", "not_an_object")}
    assert faults_of(roof_line={}) == {("/roof_line/slope", "missing"), ("/roof_line/ridge", "missing")}
    assert faults_of(members=[odd]) == {("/roof_line", "odd_purlins")}
    assert faults_of(members=[a_member(id="gable B 1")]) == {("/members/0/id", "duplicate_id")}
    many = [a_member(id=f"post {n}", kind="post", count=49) for n in "abcd"]
    assert faults_of(members=many, roof_line={"slope": 2, "ridge": "along"}) == {("/roof_line", "too_many")}


def test_the_elevation_draws_the_gable_to_the_roof_line():
    layout = a_hut(members=[a_member(), PURLINS], roof_line={"slope": 0.7, "ridge": "along"})
    stack = stack_up(layout, diameters_mm={})
    sheet = a_sheet(layout, gable_B_1=330)
    gable = sheet.gables[0]
    shown = GableToDraw(
        slopes=sheet.slopes,
        gable=gable,
        bearings={one.member: one for one in sheet.bearings},
        numbers={"gable B 1": "17"},
        fillings={"gable B 1": Filling.SET},
    )

    def drawn(wall: str, over: GableToDraw | None) -> ET.Element:
        return ET.fromstring(
            draw_elevation(
                Elevation(
                    cabin="Hut",
                    wall=wall,
                    of_what="as built",
                    stack=stack,
                    pieces=(),
                    units=IN_MM,
                    gable=over,
                )
            )
        )

    picture = drawn("B", shown)
    polygons = {one.get("data-member"): one for one in picture.iter() if one.get("data-member")}
    assert list(polygons) == [log.member for log in gable.logs] + [one.member for one in sheet.bearings]
    first = polygons["gable B 1"]
    points = [tuple(map(float, point.split(","))) for point in (first.get("points") or "").split()]
    assert points == [
        (pytest.approx(x, abs=0.001), pytest.approx(-y, abs=0.001))
        for x, y in log_outline(sheet.slopes, gable.logs[0])
    ]
    assert (first.get("data-filling"), polygons["gable B 2"].get("data-filling")) == ("set", "empty")
    words = " ".join(picture.itertext())
    assert f"ridge: underside {IN_MM.along(sheet.bearings[-1].underside_mm)}" in words
    assert not [one for one in drawn("B", None).iter() if one.get("data-member")]
