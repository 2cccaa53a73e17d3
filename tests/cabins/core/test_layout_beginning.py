"""How walls begin and end is told in the layout: flats, half logs, a raised deck, overhangs of their own."""

from typing import Any

import pytest

from cabins.core.layout import LayoutFaults, layout_document, read_layout
from cabins.core.layout_parts import SillFlat
from cabins.core.places import half_logs_of, places_of
from tests.cabins.core.drawings import a_partition, a_rectangle, an_l_shape


def faults_of(document: object) -> set[tuple[str, str]]:
    """Pointer and code of every fault of a document."""
    with pytest.raises(LayoutFaults) as refused:
        read_layout(document)
    return {(fault.pointer, fault.code) for fault in refused.value.faults}


def with_overhangs(document: dict[str, Any], wall: int, **own_mm: float) -> dict[str, Any]:
    document["walls"][wall] |= {f"overhang_{end}_mm": value for end, value in own_mm.items()}
    return document


@pytest.mark.parametrize(
    ("told", "flat"),
    [
        ({"depth_mm": 20}, SillFlat(depth_mm=20)),
        ({"width_mm": 63.5}, SillFlat(width_mm=63.5)),
        ({"width_mm": 63.5, "depth_mm": None}, SillFlat(width_mm=63.5)),
        (None, None),
    ],
)
def test_a_sill_flat_is_told_by_depth_or_by_width(told: object, flat: SillFlat | None):
    assert read_layout(a_rectangle(sill_flat=told)).sill_flat == flat


@pytest.mark.parametrize(
    ("changes", "faults"),
    [
        ({"sill_flat": {}}, {("/sill_flat", "flat_not_clear")}),
        ({"sill_flat": {"depth_mm": 20, "width_mm": 60}}, {("/sill_flat", "flat_not_clear")}),
        ({"sill_flat": {"depth_mm": 0}}, {("/sill_flat/depth_mm", "too_small")}),
        ({"sill_flat": {"depth_mm": 120}}, {("/sill_flat/depth_mm", "too_large")}),
        ({"sill_flat": {"width_mm": 300}}, {("/sill_flat/width_mm", "too_large")}),
        ({"sill_flat": 20}, {("/sill_flat", "not_an_object")}),
        ({"sealer_mm": 6}, {("/sealer_mm", "no_flat")}),
        ({"sealer_mm": 200}, {("/sealer_mm", "too_large")}),
        ({"half_logs": "yes"}, {("/half_logs", "not_true_or_false")}),
        (
            {"half_logs": True, "high_start": "raised_deck"},
            {("/half_logs", "raised_deck")},
        ),
        ({"deck_raise_mm": 180}, {("/deck_raise_mm", "no_raised_deck")}),
        ({"high_start": "raised_deck", "deck_raise_mm": 2000}, {("/deck_raise_mm", "too_large")}),
        ({"rip_kerf_mm": 40}, {("/rip_kerf_mm", "too_large")}),
        ({"top": "flush"}, {("/top", "not_a_choice")}),
    ],
)
def test_a_fault_of_the_first_logs_is_named(changes: dict[str, Any], faults: set[tuple[str, str]]):
    assert faults_of(a_rectangle(**changes)) == faults


def test_a_raised_deck_takes_its_height_and_no_half_logs():
    layout = read_layout(a_rectangle(high_start="raised_deck", deck_raise_mm=190))

    assert layout.deck_raise_mm == 190
    assert half_logs_of(layout) == ()


def test_a_wall_may_reach_past_one_end_otherwise():
    # At the inner corner d of the L, where C ends and D begins, half a log and a little is enough.
    document = with_overhangs(with_overhangs(an_l_shape(), 2, end=180), 3, start=180)

    layout = read_layout(document)

    assert [wall.overhangs_mm for wall in layout.log_walls][2:4] == [(380, 180), (180, 380)]
    places = [place for place in places_of(layout) if place.round == 1]
    assert [(p.start_mm, p.end_mm) for p in places if p.wall in "CD"] == [(-380, 3180), (-180, 2880)]
    written = layout_document(layout)
    assert read_layout(written) == layout
    assert [wall["overhang_end_mm"] for wall in written["walls"]] == [None, None, 180, None, None, None]


def test_an_overhang_of_a_wall_must_carry_its_log_too():
    document = with_overhangs(a_rectangle(), 1, end=100)

    assert faults_of(document) == {("/walls/1/overhang_end_mm", "too_small")}


def test_the_tail_at_an_inner_corner_meets_a_partition_beside_it():
    # The tail of C runs on 380 into the room at corner d; P stands 460 from there.
    beside = a_partition(id="P", **{"from": {"wall": "A", "at_mm": 4600}, "to": {"wall": "E", "at_mm": 400}})
    beside["start"] = "high"

    with pytest.raises(LayoutFaults) as refused:
        read_layout(an_l_shape(partitions=[beside]))
    shortened = with_overhangs(an_l_shape(partitions=[beside]), 2, end=180)

    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [
        ("/partitions/0", "tails_collide"),
        ("/partitions/0", "tails_collide"),
    ]
    assert "of C or P runs" in refused.value.faults[0].text
    assert "of D or P runs" in refused.value.faults[1].text
    assert faults_of(shortened) == {("/partitions/0", "tails_collide")}


def test_a_layout_stored_before_tails_were_looked_at_is_read_all_the_same():
    beside = a_partition(id="P", **{"from": {"wall": "A", "at_mm": 4600}, "to": {"wall": "E", "at_mm": 400}})
    document = an_l_shape(partitions=[beside])

    assert read_layout(document, stands=True).partitions[0].id == "P"
