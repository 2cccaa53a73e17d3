"""A wall that runs on past an inner corner: columns, crossings, heights, and what is no such wall."""

from typing import Any

import pytest

from cabins.core.drawings.floor_plan import draw_floor_plan
from cabins.core.layout import LayoutFaults, layout_document, read_layout
from cabins.core.layout_parts import Layout
from cabins.core.places import columns_of, crossings_of, places_of
from cabins.core.stack import stack_up
from inventory.core.crew_units import CrewUnits
from inventory.core.measure import Unit
from tests.cabins.core.drawings import a_partition, an_l_shape, an_opening
from tests.cabins.core.test_layout import faults_of


def an_l(run_ons: dict[str, str], **changes: Any) -> dict[str, Any]:
    """The L whose walls run on at the ends named: C ends and D starts at its inner corner, d."""
    document = an_l_shape(rounds=3, **changes)
    for wall in document["walls"]:
        if wall["id"] in run_ons:
            wall[run_ons[wall["id"]]] = True
    return document


def columns(layout: Layout, wall: str) -> list[tuple[float, str]]:
    return [(column.at_mm, column.crossing) for column in columns_of(layout)[wall]]


BOTH = {"C": "runs_on_end", "D": "runs_on_start"}


def test_by_hand_a_wall_runs_on_past_its_end_to_the_wall_across_the_room():
    layout = read_layout(an_l({"C": "runs_on_end"}))

    # C comes from (8000, 3500) to the inner corner at 5000 and goes on to wall F, which runs down from 6000.
    assert columns(layout, "C") == [(0, "c"), (3000, "d"), (8000, "C-F")]
    assert columns(layout, "F") == [(0, "f"), (2500, "C-F"), (6000, "a")]
    assert [(place.start_mm, place.end_mm) for place in places_of(layout) if place.wall == "C"] == (
        [(-380, 8380)] * 3
    )


def test_positions_count_from_the_tee_where_a_wall_runs_on_past_its_start():
    layout = read_layout(an_l(BOTH))

    assert columns(layout, "D") == [(0, "D-A"), (3500, "d"), (6000, "e")]
    assert columns(layout, "A") == [(0, "a"), (5000, "D-A"), (8000, "b")]
    (corner,) = [crossing for crossing in crossings_of(layout) if crossing.id == "d"]
    assert (corner.low_wall, corner.low_at_mm, corner.high_wall, corner.high_at_mm) == ("C", 3000, "D", 3500)


def test_a_layout_with_walls_that_run_on_comes_back_from_its_document():
    layout = read_layout(an_l(BOTH))

    assert read_layout(layout_document(layout)) == layout


def test_a_log_that_runs_on_is_notched_over_every_log_that_crosses_it():
    layout = read_layout(an_l(BOTH))
    stack = stack_up(layout, diameters_mm={("C", 1, 1): 388})

    over = {(notch.wall, notch.crossing, notch.over_wall) for notch in stack.notches if notch.round == 2}
    assert {one for one in over if one[0] in "CD"} == {
        ("C", "c", "B"), ("C", "d", "D"), ("C", "C-F", "F"),
        ("D", "D-A", "A"), ("D", "d", "C"), ("D", "e", "E"),
    }  # fmt: skip
    # 30 thicker there than the 358 of all others, its log stands 30 higher where it runs on past the corner.
    tops = {top.column: top.top_mm for top in stack.tops if (top.wall, top.round) == ("C", 1)}
    assert tops == {0: layout.pitch_mm, 1: layout.pitch_mm + 30, 2: layout.pitch_mm}


def test_an_opening_may_lie_in_the_partition_but_not_over_the_corner():
    inside = an_opening(wall="C", offset_mm=5000, sill_mm=0, head_mm=700)
    over = an_opening(wall="C", offset_mm=2600, sill_mm=0, head_mm=700)

    assert read_layout(an_l({"C": "runs_on_end"}, openings=[inside])).openings[0].offset_mm == 5000
    assert faults_of(an_l({"C": "runs_on_end"}, openings=[over])) == {("/openings/0", "over_tee")}


def test_no_wall_runs_on_past_an_outer_corner():
    assert faults_of(an_l({"B": "runs_on_end", "C": "runs_on_start"})) == {
        ("/walls/1/runs_on_end", "cannot_run_on"),
        ("/walls/2/runs_on_start", "cannot_run_on"),
    }


def test_a_wall_that_runs_on_keeps_a_logs_diameter_clear_of_the_other_walls_corners():
    # A T: the underside of its bar, G, would run on across the stem and meet the stem's side at its corner.
    points = [(3, 0), (6, 0), (6, 3), (9, 3), (9, 6), (0, 6), (0, 3), (3, 3)]
    document = an_l({}) | {
        "corners": [{"id": f"{n}", "x_mm": 1000 * x, "y_mm": 1000 * y} for n, (x, y) in enumerate(points)],
        "walls": [
            {"id": name, "from": f"{n}", "to": f"{(n + 1) % 8}", "start": ("low", "high")[n % 2]}
            for n, name in enumerate("ABCDEFGH")
        ],
    }
    assert len(read_layout(document).walls) == 8

    document["walls"][6]["runs_on_end"] = True

    assert faults_of(document) == {("/walls/6/runs_on_end", "cannot_run_on")}


def test_two_walls_that_would_cross_in_the_room_are_a_fault_with_both_names():
    # D runs on down to A; a partition from F to B would cross it.
    across = a_partition(**{"from": {"wall": "F", "at_mm": 4500}, "to": {"wall": "B", "at_mm": 1500}})
    document = an_l({"D": "runs_on_start"}, partitions=[across | {"start": "low"}])

    assert faults_of(document) == {("/partitions/0", "partition_does_not_fit")}


def test_a_partition_beside_a_wall_that_runs_on_is_a_fault_with_both_names():
    def beside(apart_mm: float) -> dict[str, Any]:
        ends = {"from": {"wall": "F", "at_mm": 2500 - apart_mm}, "to": {"wall": "D", "at_mm": apart_mm}}
        return an_l({"C": "runs_on_end"}, partitions=[a_partition(start="low", **ends)])

    # Butts may be 1.25 times as thick as the middles of 358: 447.
    assert len(read_layout(beside(450)).partitions) == 1
    with pytest.raises(LayoutFaults) as refused:
        read_layout(beside(440))
    assert [fault.code for fault in refused.value.faults] == ["tails_collide"]
    assert "overhang of C or P runs into the other" in str(refused.value.faults[0].text)


def test_a_partition_may_meet_the_wall_that_runs_on():
    # From wall A up to C, which there is a partition itself: 2000 from corner a, so 6000 along C.
    meeting = a_partition(**{"from": {"wall": "A", "at_mm": 2000}, "to": {"wall": "C", "at_mm": 6000}})

    layout = read_layout(an_l({"C": "runs_on_end"}, partitions=[meeting]))

    assert layout.partitions[0].length_mm == pytest.approx(3500)
    assert columns(layout, "C")[2] == (6000, "P-C")


def test_the_floor_plan_draws_the_wall_as_long_as_it_runs():
    drawn = draw_floor_plan("L", read_layout(an_l({"C": "runs_on_end"})), units=CrewUnits(unit=Unit.MM))

    assert "C: 8000 mm" in drawn
