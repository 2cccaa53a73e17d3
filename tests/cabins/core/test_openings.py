"""Openings among real courses: what is cut through, what is cut of sill and header, what hole results."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabins.core.openings import (
    HYSTERESIS,
    CourseBand,
    Hole,
    Jambs,
    MisfitCode,
    Threshold,
    edge_mm,
    fit_opening,
    rounds_cut_through,
    taken_share,
    threshold_round,
)


def courses(
    *tops_mm: float, gap_mm: float = 10.0, lean_mm: float = 0.0, start_mm: float = 0.0
) -> dict[int, Jambs]:
    """Rounds from 1 on with these tops, each on the one below it with a gap; the far jamb leans."""
    found: dict[int, Jambs] = {}
    below = start_mm
    for number, top in enumerate(tops_mm, start=1):
        near = CourseBand(underside_mm=below + gap_mm, top_mm=top)
        far = CourseBand(underside_mm=below + gap_mm + lean_mm, top_mm=top + lean_mm)
        found[number] = (near, far)
        below = top
    return found


def a_hole(bottom_mm: float, top_mm: float, **fields: object) -> Hole:
    return Hole(near_mm=1000, far_mm=2000, bottom_mm=bottom_mm, top_mm=top_mm, **fields)  # type: ignore[arg-type]


WALL = courses(340, 670, 990, 1300, 1600, 1890, 2170)  # thick below, thin above


def test_a_header_that_a_hole_takes_a_third_of_stays_whole_and_is_cut_into():
    # Round 7 lies from 1900 to 2170, 270 high; the hole ends 90 mm above its underside.
    hole = a_hole(0, 1990)

    through = rounds_cut_through(hole, WALL)
    fit = fit_opening(hole, WALL, through=through)

    assert through == {1, 2, 3, 4, 5, 6}
    assert fit.header is not None
    assert (fit.header.round, fit.header.cut_mm, fit.header.infill_mm) == (7, (90, 90), (0, 0))
    assert fit.header.share == pytest.approx(90 / 270)
    assert fit.hole_mm == (1990, 1990)
    assert fit.misfits == ()


def test_a_log_of_which_more_than_the_share_is_taken_is_cut_through_and_the_rest_filled():
    hole = a_hole(0, 2060)  # 160 of 270: 59 %

    fit = fit_opening(hole, WALL, through=rounds_cut_through(hole, WALL))

    assert fit.through == (1, 2, 3, 4, 5, 6, 7)
    assert fit.header is None
    assert fit.misfits == (MisfitCode.NO_HEADER,)
    assert 7 not in rounds_cut_through(hole, WALL, cut_share=0.6)


def test_a_sill_log_is_flattened_from_its_top_by_its_own_depth_at_each_jamb():
    leaning = courses(340, 670, 990, 1300, 1600, 1890, 2170, lean_mm=20)
    hole = a_hole(900, 1900)  # round 3 tops at 990 and 1010

    fit = fit_opening(hole, leaning, through=rounds_cut_through(hole, leaning))

    assert fit.through == (4, 5, 6)
    assert (fit.sill.round, fit.sill.cut_mm) == (3, (90, 110))
    assert fit.sill.share == pytest.approx(110 / 310)
    assert fit.header is not None
    assert fit.header.infill_mm == (0, 20)
    assert fit.hole_mm == (1000, 1020)


def test_the_greater_share_of_both_jambs_decides():
    leaning = courses(340, 670, 990, lean_mm=60)

    assert taken_share(a_hole(850, 1500), leaning[3]) == pytest.approx(200 / 310)
    assert rounds_cut_through(a_hole(850, 1500), leaning) == {3}


def test_a_course_stays_as_it_is_cut_until_the_share_is_clearly_passed():
    at_52 = a_hole(0, 1900 + 0.52 * 270)
    at_56 = a_hole(0, 1900 + 0.56 * 270)

    assert 7 in rounds_cut_through(at_52, WALL)
    assert 7 not in rounds_cut_through(at_52, WALL, present=frozenset({1, 2, 3, 4, 5, 6}))
    assert 7 in rounds_cut_through(at_56, WALL, present=frozenset({1, 2, 3, 4, 5, 6}))
    at_46 = a_hole(0, 1900 + 0.46 * 270)
    assert 7 in rounds_cut_through(at_46, WALL, present=frozenset(range(1, 8)))
    assert 7 not in rounds_cut_through(a_hole(0, 1900 + 0.44 * 270), WALL, present=frozenset(range(1, 8)))


def test_a_kept_threshold_stays_whole_and_the_hole_is_told_too_small():
    hole = a_hole(0, 1990, threshold=Threshold.KEPT)

    through = rounds_cut_through(hole, WALL)
    fit = fit_opening(hole, WALL, through=through)

    assert threshold_round(hole, WALL) == 1
    assert through == {2, 3, 4, 5, 6}
    assert (fit.sill.round, fit.sill.cut_mm, fit.sill.lacks_mm) == (1, (0, 0), (340, 340))
    assert fit.hole_mm == (1650, 1650)
    assert MisfitCode.HOLE_TOO_SMALL in fit.misfits


def test_a_flattened_threshold_loses_just_what_the_layout_says():
    hole = a_hole(280, 1990, threshold=Threshold.FLATTENED, flatten_mm=40)

    fit = fit_opening(hole, WALL, through=rounds_cut_through(hole, WALL))

    assert (fit.sill.round, fit.sill.cut_mm, fit.sill.lacks_mm) == (1, (40, 40), (20, 20))
    assert fit.hole_mm == (1690, 1690)


def test_a_half_log_under_a_door_is_cut_through_unless_the_layout_keeps_it():
    half = {0: (CourseBand(underside_mm=0, top_mm=165), CourseBand(underside_mm=0, top_mm=165))}
    wall = half | courses(505, 835, 1155, 1465, 1765, 2055, start_mm=165)

    cut = a_hole(0, 2000)
    kept = a_hole(0, 2000, threshold=Threshold.KEPT)

    assert 0 in rounds_cut_through(cut, wall)
    assert fit_opening(cut, wall, through=rounds_cut_through(cut, wall)).sill.lacks_mm == (0, 0)
    fit = fit_opening(kept, wall, through=rounds_cut_through(kept, wall))
    assert (fit.sill.round, fit.sill.lacks_mm) == (0, (165, 165))
    assert 1 in fit.through


def test_a_log_set_whole_of_which_the_hole_takes_more_than_the_share_is_told():
    hole = a_hole(780, 1900)  # round 3 from 680 to 990: two thirds of it lie over 780

    fit = fit_opening(hole, WALL, through={4, 5, 6})

    assert fit.sill.cut_mm == (210, 210)
    assert MisfitCode.CUT_TOO_DEEP in fit.misfits


def test_a_log_cannot_be_cut_from_inside():
    hole = a_hole(750, 850)  # within round 3

    assert rounds_cut_through(hole, WALL) == {3}


def test_an_opening_between_two_logs_cuts_neither_through():
    hole = a_hole(900, 1100)  # 90 of round 3 (310 high) and 100 of round 4 (300 high)

    fit = fit_opening(hole, WALL, through=rounds_cut_through(hole, WALL))

    assert fit.through == ()
    assert (fit.sill.round, fit.sill.cut_mm) == (3, (90, 90))
    assert fit.header is not None
    assert (fit.header.round, fit.header.cut_mm) == (4, (100, 100))
    assert edge_mm(fit) == 190


@given(
    diameters=st.lists(st.floats(200, 420), min_size=6, max_size=12),
    gap=st.floats(-30, 30),
    lean=st.floats(-60, 60),
    bottom=st.floats(0, 900),
    height=st.floats(250, 1400),
    share=st.floats(0.2, 0.8),
)
def test_hole_minus_asked_is_what_is_filled_in_and_no_whole_log_is_cut_deeper_than_its_share(
    diameters: list[float], gap: float, lean: float, bottom: float, height: float, share: float
):
    tops = [sum(diameters[: n + 1]) + gap * (n + 1) for n in range(len(diameters))]
    wall = courses(*tops, gap_mm=gap, lean_mm=lean)
    hole = a_hole(bottom, bottom + height)

    through = rounds_cut_through(hole, wall, cut_share=share)
    fit = fit_opening(hole, wall, through=through, cut_share=share)

    assert sorted(through) == list(range(min(through, default=1), max(through, default=0) + 1))
    for side in (0, 1):
        filled = fit.sill.infill_mm[side] + (fit.header.infill_mm[side] if fit.header else 0)
        assert fit.hole_mm[side] - fit.asked_mm == pytest.approx(filled - fit.sill.lacks_mm[side])
    assert fit.sill.share <= share + HYSTERESIS
    assert fit.header is None or fit.header.share <= share + HYSTERESIS


def test_a_half_log_that_is_cut_through_is_no_sill_and_nothing_is_cut_too_deep():
    half = CourseBand(underside_mm=0, top_mm=150)
    wall = {0: (half, half), **courses(500, 830, start_mm=160)}
    hole = a_hole(0, 840)

    through = rounds_cut_through(hole, wall)
    fit = fit_opening(hole, wall, through=through)

    assert through == {0, 1, 2}
    assert (fit.sill.round, fit.sill.cut_mm, fit.sill.share) == (0, (0, 0), 0)
    assert MisfitCode.CUT_TOO_DEEP not in fit.misfits
    assert fit.hole_mm == (840, 840)
