"""A layout is read as a whole: sound ones come back as they were, and every fault of a bad one is named."""

import json
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabins.core.beginning_reading import BEGINNING_KEYS
from cabins.core.layout import (
    Gap,
    HighStart,
    LayoutFaults,
    NotchKind,
    Start,
    layout_document,
    read_layout,
)
from cabins.core.layout_parts import WallTop
from tests.cabins.core.drawings import a_member, a_partition, a_rectangle, an_l_shape, an_opening


def faults_of(document: object) -> set[tuple[str, str]]:
    """Pointer and code of every fault of a document."""
    with pytest.raises(LayoutFaults) as refused:
        read_layout(document)
    assert all(fault.text for fault in refused.value.faults)
    return {(fault.pointer, fault.code) for fault in refused.value.faults}


def changed(part: str, number: int, **changes: Any) -> dict[str, Any]:
    """The rectangle with one part changed."""
    document = a_rectangle()
    document[part][number] |= changes
    return document


def test_a_rectangle_is_read_with_the_lengths_of_its_walls():
    layout = read_layout(a_rectangle())

    assert [wall.length_mm for wall in layout.walls] == [4700, 3500, 4700, 3500]
    assert layout.gap == Gap(smallest_mm=6, target_mm=13, largest_mm=25)
    assert layout.notch is NotchKind.SADDLE
    assert layout.pitch_mm == 371
    assert not layout.gap.is_scribed


def test_the_wall_height_decides_the_rounds_where_none_are_given():
    by_height = read_layout(a_rectangle(wall_height_mm=2900, rounds=None))
    given = read_layout(a_rectangle(wall_height_mm=2900, rounds=7))

    assert by_height.round_count == 8  # 7 rounds of 371 reach 2597
    assert given.round_count == 7


def test_what_may_be_left_out_has_a_plain_meaning():
    document = a_rectangle()
    for field in ("partitions", "openings", "rounds", "high_start", "members", *BEGINNING_KEYS):
        del document[field]
    for wall in document["walls"]:
        del wall["overhang_start_mm"], wall["overhang_end_mm"]

    layout = read_layout(document)

    assert layout.openings == ()
    assert layout.partitions == ()
    assert layout.members == ()
    assert layout.rounds is None
    assert layout.high_start is HighStart.HALF_LOG
    assert (layout.sill_flat, layout.half_logs, layout.deck_raise_mm) == (None, False, None)
    assert layout.top is WallTop.AS_IT_FALLS
    assert {wall.overhangs_mm for wall in layout.log_walls} == {(380, 380)}


def test_an_l_shape_with_a_partition_is_read():
    partition = {
        "id": "P",
        "from": {"wall": "B", "at_mm": 1800},
        "to": {"wall": "F", "at_mm": 4200},
        "start": "low",
    }

    layout = read_layout(an_l_shape(partitions=[partition]))

    assert layout.partitions[0].length_mm == 8000
    assert [wall.is_partition for wall in layout.log_walls] == [False] * 6 + [True]


def test_a_cabin_may_stand_at_any_angle_to_the_drawing():
    document = a_rectangle(openings=[])
    turn = math.radians(27)
    for corner in document["corners"]:
        x, y = corner["x_mm"], corner["y_mm"]
        corner["x_mm"] = x * math.cos(turn) - y * math.sin(turn)
        corner["y_mm"] = x * math.sin(turn) + y * math.cos(turn)
    document["partitions"] = [a_partition()]

    layout = read_layout(document)

    assert [wall.length_mm for wall in layout.walls] == pytest.approx([4700, 3500, 4700, 3500])
    assert layout.partitions[0].length_mm == pytest.approx(3500)


def test_a_partition_may_have_a_door():
    layout = read_layout(
        a_rectangle(
            partitions=[a_partition()],
            openings=[an_opening(wall="P", offset_mm=1200)],
        )
    )

    assert layout.openings[0].wall == "P"


@given(
    width=st.floats(2000, 20_000),
    depth=st.floats(2000, 20_000),
    offset=st.floats(200, 600),
    overlap=st.floats(-60, 30),
    high_first=st.booleans(),
    with_partition=st.booleans(),
    count=st.integers(1, 60),
    flat=st.sampled_from([None, {"depth_mm": 20, "width_mm": None}, {"depth_mm": None, "width_mm": 63.5}]),
    own_overhang=st.none() | st.floats(200, 600),
)
def test_a_layout_comes_back_from_its_document(
    width: float,
    depth: float,
    offset: float,
    overlap: float,
    high_first: bool,
    with_partition: bool,
    count: int,
    flat: dict[str, Any] | None,
    own_overhang: float | None,
):
    starts = ["high", "low"] if high_first else ["low", "high"]
    document = a_rectangle(
        gap={"smallest_mm": overlap - 5, "target_mm": overlap, "largest_mm": overlap + 7.5},
        openings=[an_opening(offset_mm=offset, width_mm=400)],
        partitions=[
            a_partition(**{"from": {"wall": "A", "at_mm": width - 500}, "to": {"wall": "C", "at_mm": 500}})
            | {"start": starts[1]}
        ]
        * with_partition,
        members=[a_member(), a_member(id="purlin", kind="purlin", length_mm=width / 2, count=count)],
        cut_share=0.4,
        run_wild_mm=38.1,
        least_piece_mm=500,
        sill_flat=flat,
        sealer_mm=6.5 if flat else 0,
        half_logs=high_first,
        top="even" if with_partition else "as_it_falls",
    )
    document["openings"][0] |= {"threshold": "flattened", "flatten_mm": 30}
    document["walls"][1]["overhang_end_mm"] = own_overhang
    for number, (x, y) in enumerate([(0, 0), (width, 0), (width, depth), (0, depth)]):
        document["corners"][number] |= {"x_mm": x, "y_mm": y}
        document["walls"][number]["start"] = starts[number % 2]

    layout = read_layout(document)

    assert layout_document(layout) == document
    assert read_layout(json.loads(json.dumps(layout_document(layout)))) == layout


@pytest.mark.parametrize("document", [None, [], "cabin", 7])
def test_what_is_no_object_is_no_layout(document: object):
    assert faults_of(document) == {("", "not_an_object")}


def test_every_fault_is_named_at_once():
    document = a_rectangle(
        overhang_mm=-1,
        notch="tongue",
        gap={"smallest_mm": 20, "target_mm": 13, "largest_mm": 25},
        colour="red",
        openings=[an_opening(offset_mm=4500), an_opening(wall="Z"), an_opening(sill_mm=2200)],
    )
    document["walls"][1]["start"] = "low"
    del document["wall_height_mm"]

    assert faults_of(document) == {
        ("/colour", "unknown_field"),
        ("/wall_height_mm", "missing"),
        ("/overhang_mm", "too_small"),
        ("/notch", "not_a_choice"),
        ("/gap", "gap_out_of_order"),
        ("/walls/1/start", "same_start"),
        ("/walls/2/start", "same_start"),
        ("/openings/0", "past_the_wall"),
        ("/openings/1/wall", "unknown_wall"),
        ("/openings/1/id", "duplicate_id"),
        ("/openings/2/sill_mm", "sill_above_head"),
    }


@pytest.mark.parametrize(
    ("number", "code"),
    [
        (math.nan, "not_a_number"),
        (math.inf, "not_a_number"),
        ("4700", "not_a_number"),
        (True, "not_a_number"),
        (None, "not_a_number"),
        (10**400, "not_a_number"),
        (1e9, "too_large"),
        (-1e9, "too_small"),
    ],
)
def test_what_is_no_sensible_number_is_named(number: object, code: str):
    assert faults_of(changed("corners", 2, x_mm=number)) == {("/corners/2/x_mm", code)}
    assert ("/log_middle_mm", code) in faults_of(a_rectangle(log_middle_mm=number))
    assert ("/openings/0/width_mm", code) in faults_of(changed("openings", 0, width_mm=number))


@pytest.mark.parametrize(
    ("document", "faults"),
    [
        pytest.param(
            changed("walls", 1, to="NW"), {("/walls/1/to", "does_not_close")}, id="a wall that skips a corner"
        ),
        pytest.param(
            changed("walls", 3, **{"from": "SE"}),
            {("/walls/2/to", "does_not_close")},
            id="a wall that begins elsewhere",
        ),
        pytest.param(
            a_rectangle(walls=a_rectangle()["walls"][:3], openings=[]),
            {("/walls", "does_not_close")},
            id="three walls",
        ),
        pytest.param(
            changed("walls", 1, to="X"), {("/walls/1/to", "unknown_corner")}, id="a corner nobody drew"
        ),
        pytest.param(
            changed("corners", 2, id="SE"),
            {("/corners/2/id", "duplicate_id"), ("/walls/1/to", "unknown_corner")}
            | {("/walls/2/from", "unknown_corner")},
            id="two corners of one name",
        ),
        pytest.param(
            changed("walls", 2, id="A"),
            {("/walls/2/id", "duplicate_id"), ("/openings/1/wall", "unknown_wall")},
            id="two walls of one name",
        ),
        pytest.param(
            a_rectangle(partitions=[a_partition(id="B")]),
            {("/partitions/0/id", "duplicate_id")},
            id="a partition named as a wall",
        ),
        pytest.param(
            changed("corners", 2, x_mm=4900),
            {("/walls/1", "not_at_right_angles"), ("/walls/2", "not_at_right_angles")},
            id="a corner out of square",
        ),
        pytest.param(
            changed("corners", 1, x_mm=0),
            {("/corners/1", "same_corner"), ("/walls/0", "zero_length")},
            id="a wall without length",
        ),
        pytest.param(
            changed("corners", 1, x_mm=60_000),
            {("/walls/0", "too_large"), ("/walls/1", "too_large")},
            id="a wall of sixty metres",
        ),
        pytest.param(
            a_rectangle(corners=[*a_rectangle()["corners"], {"id": "X", "x_mm": 9, "y_mm": 9}]),
            {("/corners/4", "unused_corner")},
            id="a corner no wall uses",
        ),
        pytest.param(
            changed("walls", 0, start="middle"), {("/walls/0/start", "not_a_choice")}, id="no such start"
        ),
        pytest.param(changed("walls", 0, id=" A"), {("/walls/0/id", "not_a_name")}, id="a name with a blank"),
        pytest.param(changed("walls", 0, id="A" * 41), {("/walls/0/id", "too_long")}, id="a name too long"),
        pytest.param(
            a_rectangle(overhang_mm=150), {("/overhang_mm", "too_small")}, id="an overhang cut flush"
        ),
        pytest.param(
            a_rectangle(gap={"smallest_mm": -240, "target_mm": -200, "largest_mm": 0}, openings=[]),
            {("/gap/smallest_mm", "too_small")},
            id="an overlap of more than half a log",
        ),
        pytest.param(a_rectangle(gap=13), {("/gap", "not_an_object")}, id="a gap without its band"),
        pytest.param(
            a_rectangle(gap={"smallest_mm": 6, "target_mm": 13}),
            {("/gap/largest_mm", "missing")},
            id="a band without an end",
        ),
        pytest.param(
            a_rectangle(gap={"smallest_mm": -240, "target_mm": -200, "largest_mm": 0}, log_middle_mm=100),
            {("/gap/smallest_mm", "too_small")},
            id="an overlap of more than the whole log",
        ),
        pytest.param(
            a_rectangle(gap={"smallest_mm": "thin", "target_mm": 13, "largest_mm": 25}),
            {("/gap/smallest_mm", "not_a_number")},
            id="a band in words",
        ),
        pytest.param(
            a_rectangle(walls=[{"id": "A", "to": "SE"}, *a_rectangle()["walls"][1:]]),
            {("/walls/0/from", "missing"), ("/walls/0/start", "missing")},
            id="a wall half drawn",
        ),
        pytest.param(a_rectangle(rounds=2.5), {("/rounds", "not_whole")}, id="half a round"),
        pytest.param(a_rectangle(rounds=0), {("/rounds", "too_small")}, id="no round at all"),
        pytest.param(
            a_rectangle(wall_height_mm=14_000, log_middle_mm=150),
            {("/wall_height_mm", "too_large")},
            id="a tower",
        ),
        pytest.param(
            a_rectangle(walls={}),
            {("/walls", "not_a_list"), ("/walls", "does_not_close")}
            | {("/openings/0/wall", "unknown_wall"), ("/openings/1/wall", "unknown_wall")},
            id="no list",
        ),
        pytest.param(
            a_rectangle(openings=[an_opening()] * 201), {("/openings", "too_many")}, id="a hundred doors"
        ),
        pytest.param(
            a_rectangle(corners=["SW", *a_rectangle()["corners"][1:]]),
            {("/corners/0", "not_an_object")},
            id="a corner without coordinates",
        ),
        pytest.param(
            a_rectangle(walls=["A", *a_rectangle()["walls"][1:]]),
            {("/walls/0", "not_an_object")},
            id="a wall that is a word",
        ),
        pytest.param(
            a_rectangle(partitions=["P"], openings=["door"]),
            {("/partitions/0", "not_an_object"), ("/openings/0", "not_an_object")},
            id="parts that are words",
        ),
        pytest.param(
            a_rectangle(**{"a/b~c": 1}), {("/a~1b~0c", "unknown_field")}, id="a field with odd signs"
        ),
    ],
)
def test_a_fault_of_the_walls_is_named(document: dict[str, Any], faults: set[tuple[str, str]]):
    assert faults_of(document) == faults


def test_walls_that_cross_each_other_are_named():
    document = an_l_shape()
    for number, (x, y) in enumerate(
        [(0, 0), (8000, 0), (8000, 3500), (3000, 3500), (3000, -2500), (0, -2500)]
    ):
        document["corners"][number] |= {"x_mm": x, "y_mm": y}

    assert ("/walls/3", "walls_cross") in faults_of(document)


def test_walls_that_come_through_a_corner_twice_are_named():
    document = a_rectangle(openings=[])
    document["corners"] = [
        {"id": name, "x_mm": x, "y_mm": y}
        for name, x, y in [
            ("a", 0, 0),
            ("b", 4000, 0),
            ("c", 4000, 4000),
            ("d", 8000, 4000),
            ("e", 8000, 8000),
            ("f", 4000, 8000),
            ("g", 0, 4000),
        ]
    ]
    chain = "abcdefcg"
    document["walls"] = [
        {"id": f"W{n}", "from": chain[n], "to": chain[(n + 1) % 8], "start": ["low", "high"][n % 2]}
        for n in range(8)
    ]

    assert ("/walls/6/from", "walls_cross") in faults_of(document)


def a_u_shape(*, bay_mm: float, **changes: Any) -> dict[str, Any]:
    """A U: 6 m deep, a bay of some width and 3 m depth between two arms of 3 m."""
    points = [(0, 0), (6000 + bay_mm, 0), (6000 + bay_mm, 6000), (3000 + bay_mm, 6000)]
    points += [(3000 + bay_mm, 3000), (3000, 3000), (3000, 6000), (0, 6000)]
    return (
        a_rectangle(
            openings=[],
            corners=[{"id": str(n), "x_mm": x, "y_mm": y} for n, (x, y) in enumerate(points)],
            walls=[
                {"id": f"W{n}", "from": str(n), "to": str((n + 1) % 8), "start": ["low", "high"][n % 2]}
                for n in range(8)
            ],
        )
        | changes
    )


def test_overhangs_that_run_into_each_other_are_named():
    # Overhangs of 380 from both sides of the bay's mouth need 760 between them.
    assert len(read_layout(a_u_shape(bay_mm=1000)).walls) == 8
    assert faults_of(a_u_shape(bay_mm=800)) == {("/walls/6", "tails_collide")}


def test_a_wall_shorter_than_two_logs_is_named():
    document = a_rectangle(openings=[])
    for number in (2, 3):
        document["corners"][number]["y_mm"] = 600

    assert faults_of(document) == {("/walls/1", "too_short"), ("/walls/3", "too_short")}


def test_hewn_logs_may_be_cut_nearly_flush():
    assert read_layout(a_rectangle(notch="full_dovetail", overhang_mm=100)).overhang_mm == 100


@pytest.mark.parametrize(
    ("partition", "faults"),
    [
        pytest.param(
            a_partition(start="low"),
            {("/partitions/0/start", "same_start")},
            id="low like the walls it meets",
        ),
        pytest.param(
            a_partition(to={"wall": "C", "at_mm": 1400}),
            {("/partitions/0", "partition_does_not_fit")},
            id="askew",
        ),
        pytest.param(
            a_partition(to={"wall": "A", "at_mm": 1500}),
            {("/partitions/0", "partition_does_not_fit")},
            id="back to its own wall",
        ),
        pytest.param(
            a_partition(**{"from": {"wall": "A", "at_mm": 100}, "to": {"wall": "C", "at_mm": 4600}}),
            {("/partitions/0/from/at_mm", "partition_does_not_fit")}
            | {("/partitions/0/to/at_mm", "partition_does_not_fit")},
            id="in the corner",
        ),
        pytest.param(
            a_partition(to={"wall": "Z", "at_mm": 1400}),
            {("/partitions/0/to/wall", "unknown_wall")},
            id="to a wall nobody drew",
        ),
        pytest.param(a_partition(to=1500), {("/partitions/0/to", "not_an_object")}, id="to a bare number"),
        pytest.param(
            {"id": "P", "to": {"wall": "C", "at_mm": 1500}, "start": "high"},
            {("/partitions/0/from", "missing")},
            id="from nowhere",
        ),
    ],
)
def test_a_partition_that_does_not_fit_is_named(partition: dict[str, Any], faults: set[tuple[str, str]]):
    assert faults_of(a_rectangle(partitions=[partition], openings=[])) == faults


def l_partition(from_wall: str, from_mm: float, to_wall: str, to_mm: float) -> dict[str, Any]:
    """A low partition of the L."""
    tees = {"from": {"wall": from_wall, "at_mm": from_mm}, "to": {"wall": to_wall, "at_mm": to_mm}}
    return {"id": "P", "start": "low"} | tees


def test_a_partition_must_run_square_from_wall_to_wall():
    askew = an_l_shape(partitions=[l_partition("B", 3000, "D", 500)])
    between_steps = an_l_shape(partitions=[l_partition("A", 6000, "E", 600) | {"start": "high"}])

    assert faults_of(askew) == {("/partitions/0", "partition_does_not_fit")}
    assert faults_of(between_steps) == {("/partitions/0", "partition_does_not_fit")}


def test_a_partition_across_the_bay_of_a_u_is_named():
    u_shape = a_u_shape(bay_mm=3000)
    in_the_bay = l_partition("W3", 1500, "W5", 1500)
    through_the_bay = l_partition("W1", 4500, "W7", 1500)

    for partition in (in_the_bay, through_the_bay):
        assert faults_of(u_shape | {"partitions": [partition]}) == {
            ("/partitions/0", "partition_does_not_fit")
        }


def test_partitions_that_meet_or_touch_are_named():
    near = a_partition(id="Q", **{"from": {"wall": "A", "at_mm": 3000}, "to": {"wall": "C", "at_mm": 1700}})
    across = l_partition("B", 1700, "D", 1800) | {"id": "X"}

    assert faults_of(a_rectangle(partitions=[a_partition(), near], openings=[])) == {
        ("/partitions/1", "partition_does_not_fit")
    }
    assert faults_of(a_rectangle(partitions=[a_partition(), across], openings=[])) == {
        ("/partitions/1", "partition_does_not_fit")
    }


def test_a_tee_named_like_a_corner_is_named():
    document = a_rectangle(partitions=[a_partition()], openings=[])
    document["corners"][0]["id"] = document["walls"][0]["from"] = document["walls"][3]["to"] = "P-A"

    assert faults_of(document) == {("/partitions/0/id", "duplicate_id")}


@pytest.mark.parametrize(
    ("openings", "faults"),
    [
        pytest.param([an_opening(offset_mm=100)], {("/openings/0", "over_corner")}, id="over a corner"),
        pytest.param(
            [an_opening(offset_mm=3650)], {("/openings/0", "over_corner")}, id="over the far corner"
        ),
        pytest.param([an_opening(offset_mm=-300)], {("/openings/0", "past_the_wall")}, id="before the wall"),
        pytest.param([an_opening(offset_mm=4400)], {("/openings/0", "past_the_wall")}, id="past the wall"),
        pytest.param([an_opening(offset_mm=2500)], {("/openings/0", "over_tee")}, id="over a tee"),
        pytest.param(
            [an_opening(head_mm=3000)], {("/openings/0/head_mm", "head_above_wall")}, id="above the wall"
        ),
        pytest.param(
            [an_opening(), an_opening(id="W", offset_mm=1000)],
            {("/openings/1", "over_opening")},
            id="over another opening",
        ),
        pytest.param(
            [an_opening(), an_opening(id="W", offset_mm=1360, width_mm=400)],
            {("/openings/1", "over_opening")},
            id="touching another opening",
        ),
        pytest.param(
            [an_opening(head_mm=1000), an_opening(id="W", sill_mm=1000, head_mm=2000)],
            {("/openings/1", "over_opening")},
            id="two that cut one course",
        ),
        pytest.param([an_opening(id=7)], {("/openings/0/id", "not_a_name")}, id="a number for a name"),
    ],
)
def test_an_opening_in_the_wrong_place_is_named(openings: list[dict[str, Any]], faults: set[tuple[str, str]]):
    assert faults_of(a_rectangle(partitions=[a_partition()], openings=openings)) == faults


def test_an_opening_keeps_half_a_log_from_the_corners_centre():
    half_mm = read_layout(a_rectangle()).log_middle_mm / 2

    assert read_layout(a_rectangle(openings=[an_opening(offset_mm=half_mm)])).openings
    near = a_rectangle(openings=[an_opening(offset_mm=half_mm - 1)])
    assert faults_of(near) == {("/openings/0", "over_corner")}


def test_one_opening_may_lie_above_another_with_a_log_between():
    low, high = an_opening(head_mm=740), an_opening(id="W", sill_mm=1113, head_mm=2000)

    layout = read_layout(a_rectangle(openings=[low, high]))

    assert [opening.end_mm for opening in layout.openings] == [2710, 2710]


def test_a_high_wall_reaches_half_a_round_higher():
    head = 8 * 371 + 100

    layout = read_layout(a_rectangle(openings=[an_opening(wall="B", head_mm=head)]))

    assert layout.walls[1].start is Start.HIGH
    assert faults_of(a_rectangle(openings=[an_opening(wall="A", head_mm=head)])) == {
        ("/openings/0/head_mm", "head_above_wall")
    }


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
    max_leaves=6,
)


@given(field=st.sampled_from(sorted(a_rectangle())), value=json_values)
def test_whatever_a_field_holds_the_answer_is_a_layout_or_named_faults(field: str, value: object):
    document = a_rectangle(**{field: value})

    try:
        layout = read_layout(document)
    except LayoutFaults as refused:
        assert all(fault.pointer.startswith("/") for fault in refused.faults)
    else:
        assert read_layout(layout_document(layout)) == layout


def paths(value: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """The way to every value inside a document."""
    found = [path] if path else []
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, each in inner:
        found += paths(each, (*path, key))
    return found


@given(
    path=st.sampled_from(paths(a_rectangle(partitions=[a_partition()], openings=[an_opening()]))),
    value=json_values | st.floats(-10_000, 10_000) | st.sampled_from(["low", "A", "SW", ""]),
)
def test_whatever_stands_anywhere_in_a_document_is_read_or_named(path: tuple[str | int, ...], value: object):
    document: Any = a_rectangle(partitions=[a_partition()], openings=[an_opening(offset_mm=700)])
    inside = document
    for step in path[:-1]:
        inside = inside[step]
    inside[path[-1]] = value

    try:
        layout = read_layout(document)
    except LayoutFaults as refused:
        assert refused.faults
    else:
        assert read_layout(layout_document(layout)) == layout
