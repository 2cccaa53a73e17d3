"""A piece fits into its log beside the others; what is left can be used; metal is seen wherever it lies."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabins.core.cutting import USUAL_CUTS, CutLimits
from cabins.set_logs.fitting import SHORTEST_USABLE_MM, LogStretch, hazards_in, misfits, what_is_left

TRIM_MM = USUAL_CUTS.trim_each_end_mm
APART = USUAL_CUTS.apart_mm


def part(near_butt_mm, near_tip_mm):
    return LogStretch(near_butt_mm=near_butt_mm, near_tip_mm=near_tip_mm)


@st.composite
def cut_logs(draw):
    """A log and up to three pieces that fit it, butt first."""
    log_mm = draw(st.floats(1000, 15000))
    pieces, at = [], TRIM_MM
    for _ in range(draw(st.integers(0, USUAL_CUTS.most_pieces))):
        start = at + draw(st.floats(0, 3000))
        end = start + draw(st.floats(100, 5000))
        if end > log_mm - TRIM_MM:
            break
        pieces.append(part(start, end))
        at = end + APART
    return log_mm, pieces


@given(cut_logs())
def test_whatever_is_left_can_be_cut_as_a_further_piece(cut):
    log_mm, pieces = cut

    left = what_is_left(log_mm=log_mm, pieces=pieces, cuts=USUAL_CUTS)

    for stretch in left:
        assert stretch.length_mm >= SHORTEST_USABLE_MM
        assert misfits(piece=stretch, log_mm=log_mm, others=pieces, cuts=USUAL_CUTS) == []
    assert left == sorted(left, key=lambda stretch: stretch.near_butt_mm)


@given(cut_logs(), st.floats(-200, 15000), st.floats(SHORTEST_USABLE_MM, 5000))
def test_a_usable_piece_that_fits_lies_in_what_is_left(cut, start, length):
    log_mm, pieces = cut
    piece = part(start, start + length)

    fits = not misfits(piece=piece, log_mm=log_mm, others=pieces, cuts=USUAL_CUTS)

    if fits:
        assert any(
            stretch.near_butt_mm - 0.02 <= piece.near_butt_mm
            and piece.near_tip_mm <= stretch.near_tip_mm + 0.02
            for stretch in what_is_left(log_mm=log_mm + 0.02, pieces=pieces, cuts=USUAL_CUTS)
        )


def test_every_reason_why_a_piece_does_not_fit_is_named():
    others = [part(100, 1000), part(1100, 2000), part(2100, 2900)]

    found = misfits(piece=part(1900, 3000), log_mm=3000, others=others, cuts=USUAL_CUTS)
    beyond = misfits(piece=part(1900, 3000), log_mm=2999, others=[], cuts=USUAL_CUTS)
    close = misfits(piece=part(1054, 2000), log_mm=3000, others=others[:1], cuts=USUAL_CUTS)

    assert [(one.code, one.is_doubtful) for one in found] == [
        ("short_of_trim", True),
        ("overlaps_piece", False),
        ("overlaps_piece", False),
        ("too_many_pieces", True),
    ]
    assert [(one.code, one.is_doubtful) for one in beyond] == [("outside_log", False)]
    assert [(one.code, one.is_doubtful) for one in close] == [("close_to_piece", True)]


def test_a_short_rest_is_no_piece_to_come():
    assert what_is_left(log_mm=6000, pieces=[part(25, 5320)], cuts=USUAL_CUTS) == [part(5375, 5975)]
    assert what_is_left(log_mm=6000, pieces=[part(25, 5321)], cuts=USUAL_CUTS) == []


@pytest.mark.parametrize(
    ("at", "extent", "distance"),
    [(700, 0, 300), (701, 0, 299), (1300, 0, 300), (800, 250, 0), (1700, 90, 210)],
)
def test_distance_to_metal_counts_from_its_nearer_end_to_the_nearest_cut_or_notch(at, extent, distance):
    hazard = {"kind": "metal", "from_butt_mm": at, "extent_mm": extent}

    found = hazards_in([hazard], piece=part(400, 2000), notches_mm=[1000], cuts=USUAL_CUTS)

    assert [(one.distance_mm, one.is_near) for one in found] == [(distance, distance < 300)]


def test_metal_outside_the_piece_and_far_from_its_ends_does_not_matter():
    hazard = {"kind": "metal", "from_butt_mm": 100, "extent_mm": 0}

    assert hazards_in([hazard], piece=part(400, 2000), notches_mm=[1000], cuts=USUAL_CUTS) == []


def test_metal_beside_a_cut_counts_though_it_is_in_the_offcut():
    hazard = {"kind": "metal", "from_butt_mm": 300, "extent_mm": None}

    found = hazards_in([hazard], piece=part(400, 2000), notches_mm=[], cuts=USUAL_CUTS)

    assert [(one.distance_mm, one.is_near) for one in found] == [(100, True)]


def test_a_crews_own_limits_say_what_fits_what_is_left_and_what_is_near():
    coarse = CutLimits(trim_each_end_mm=60, kerf_mm=10, most_pieces=1, hazard_clear_mm=150)
    nail = {"kind": "metal", "from_butt_mm": 200, "extent_mm": 0}

    close = misfits(piece=part(25, 2000), log_mm=6000, others=[part(2055, 4000)], cuts=coarse)
    near = hazards_in([nail], piece=part(25, 2000), notches_mm=(), cuts=coarse)

    assert [one.code for one in close] == ["short_of_trim", "close_to_piece", "too_many_pieces"]
    assert what_is_left(log_mm=6000, pieces=[], cuts=coarse) == [part(60, 5940)]
    assert what_is_left(log_mm=6000, pieces=[part(60, 2000)], cuts=coarse) == []
    assert [one.is_near for one in near] == [False]
