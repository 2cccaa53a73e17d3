"""Diameters along a log, and the piece cut from it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.profile import (
    BadPosition,
    BadProfile,
    LogProfile,
    diameter_error_mm_at,
    diameter_mm_at,
    piece_crown_mm,
    piece_of,
    profile_of,
    section_area_mm2_at,
)
from inventory.core.section import (
    BadSection,
    circle_between_planes_area_mm2,
    face_height_mm,
    round_diameter_mm,
)

STRAIGHT = {"length_mm": 6000.0, "butt_mm": 330.0, "middle_mm": 300.0, "tip_mm": 270.0}


def turned(profile: LogProfile) -> LogProfile:
    """The same log seen from its other end."""
    return LogProfile(
        length_mm=profile.length_mm,
        stations=tuple((profile.length_mm - at, d) for at, d in reversed(profile.stations)),
        sawn_thickness_mm=profile.sawn_thickness_mm,
    )


@st.composite
def profiles(draw: st.DrawFn) -> LogProfile:
    tip = draw(st.floats(150, 350))
    middle = tip + draw(st.floats(0, 60))
    return profile_of(
        length_mm=draw(st.floats(2500, 12_000)),
        butt_mm=middle + draw(st.floats(0, 120)),
        middle_mm=middle,
        tip_mm=tip,
        station_inset_mm=draw(st.floats(0, 400)),
    )


def test_a_flared_butt_is_read_from_its_own_line_and_never_from_butt_to_tip():
    flared = profile_of(length_mm=6000, butt_mm=380, middle_mm=300, tip_mm=280, station_inset_mm=300)

    # Butt to middle falls 80 mm in 2700 mm, middle to tip 20 mm in 2700 mm.
    assert diameter_mm_at(flared, 1650) == pytest.approx(340)
    assert diameter_mm_at(flared, 4350) == pytest.approx(290)


def test_the_outer_lines_run_on_to_the_ends():
    log = profile_of(**STRAIGHT, station_inset_mm=300)

    assert diameter_mm_at(log, 0) == pytest.approx(330 + 30 / 9)
    assert diameter_mm_at(log, 6000) == pytest.approx(270 - 30 / 9)


def test_a_further_station_bends_the_line():
    log = profile_of(**STRAIGHT, further=[(1500.0, 305.0)])

    assert diameter_mm_at(log, 1500) == pytest.approx(305)
    assert diameter_mm_at(log, 2250) == pytest.approx(302.5)


@given(profile=profiles(), share=st.floats(0, 1))
def test_a_log_turned_end_for_end_keeps_its_diameters(profile: LogProfile, share: float):
    at = share * profile.length_mm

    here = diameter_mm_at(profile, at)
    there = diameter_mm_at(turned(profile), profile.length_mm - at)

    assert here == pytest.approx(there, abs=1e-6)


@given(profile=profiles())
def test_every_station_reads_as_it_was_measured(profile: LogProfile):
    for at, diameter in profile.stations:
        assert diameter_mm_at(profile, at) == pytest.approx(diameter)
        assert diameter_error_mm_at(profile, at, reading_sd_mm=5) == pytest.approx(5)


def test_half_way_between_stations_two_readings_err_less_than_one():
    log = profile_of(**STRAIGHT, station_inset_mm=300)

    error = diameter_error_mm_at(log, 1650, reading_sd_mm=4)

    assert error == pytest.approx(4 / math.sqrt(2))


def test_beyond_the_last_station_the_error_grows():
    log = profile_of(**STRAIGHT, station_inset_mm=300)

    # The end lies 1/9 of the span beyond: weights 10/9 and -1/9.
    assert diameter_error_mm_at(log, 0, reading_sd_mm=9) == pytest.approx(math.hypot(10, 1))


@pytest.mark.parametrize("at", [-0.001, 6000.001, 20_000.0, math.nan, math.inf])
def test_a_position_outside_the_log_is_refused(at: float):
    with pytest.raises(BadPosition, match="not on a log of 6000 mm"):
        diameter_mm_at(profile_of(**STRAIGHT), at)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"tip_mm": math.nan}, "not a number"),
        ({"length_mm": math.inf}, "not a number"),
        ({"tip_mm": 0.0}, "more than nothing"),
        ({"sawn_thickness_mm": -1.0}, "more than nothing"),
        ({"station_inset_mm": 3000.0}, "leaves no log"),
        ({"station_inset_mm": -1.0}, "leaves no log"),
        ({"further": [(7000.0, 260.0)]}, "outside the log"),
        ({"further": [(3000.0, 299.0)]}, "at one place"),
        ({"middle_mm": 200.0, "tip_mm": 10.0}, "run out to nothing"),
    ],
)
def test_readings_that_are_no_log_are_refused(change: dict, why: str):
    with pytest.raises(BadProfile, match=why):
        profile_of(**{**STRAIGHT, **change})


def test_a_reading_error_is_a_number():
    with pytest.raises(BadProfile, match="reading error"):
        diameter_error_mm_at(profile_of(**STRAIGHT), 100, reading_sd_mm=math.nan)


def test_a_piece_has_its_own_ends_middle_and_a_quarter_of_the_crown_at_half_the_length():
    log = profile_of(**STRAIGHT, station_inset_mm=300)

    piece = piece_of(log, from_butt_mm=1650, length_mm=3000, crown_mm=40)

    assert piece.butt_end_mm == pytest.approx(315)
    assert piece.middle_mm == pytest.approx(300 - 15 / 9)
    assert piece.tip_end_mm == pytest.approx(300 - 1650 / 90)
    assert piece.crown_mm == pytest.approx(10)


@pytest.mark.parametrize(("crook_at_mm", "left"), [(2000.0, 30.0), (500.0, 0.0), (5500.0, 0.0), (None, 30.0)])
def test_a_crook_stays_whole_in_the_piece_that_holds_it(crook_at_mm: float | None, left: float):
    log = profile_of(**STRAIGHT)

    piece = piece_of(log, from_butt_mm=1000, length_mm=3000, crook_mm=30, crook_at_mm=crook_at_mm)

    assert piece.crook_mm == left


@pytest.mark.parametrize(("from_butt_mm", "length_mm"), [(4000, 3000), (-1, 100), (0, 0), (0, math.nan)])
def test_a_piece_beyond_the_log_is_refused(from_butt_mm: float, length_mm: float):
    with pytest.raises(BadPosition):
        piece_of(profile_of(**STRAIGHT), from_butt_mm=from_butt_mm, length_mm=length_mm)


@given(radius_mm=st.floats(20_000, 500_000), share=st.floats(0.2, 0.9))
def test_crown_by_the_square_is_the_arc_of_a_circle(radius_mm: float, share: float):
    log_mm = 6000.0

    def arc_gap_mm(chord_mm: float) -> float:
        return radius_mm - math.sqrt(radius_mm**2 - chord_mm**2 / 4)

    left = piece_crown_mm(crown_mm=arc_gap_mm(log_mm), log_mm=log_mm, piece_mm=share * log_mm)

    assert left == pytest.approx(arc_gap_mm(share * log_mm), rel=0.006)


def test_a_round_log_has_a_round_section_and_a_sawn_one_a_cut_circle():
    round_log = profile_of(**STRAIGHT)
    sawn = profile_of(**STRAIGHT, sawn_thickness_mm=150.0)

    # Face 300 and thickness 150: a circle of 335.41, less two segments of half-angle acos(150 / 335.41).
    diameter = 335.4101966
    half_angle = math.acos(150 / diameter)
    segment = (diameter / 2) ** 2 * (half_angle - math.sin(half_angle) * math.cos(half_angle))
    assert section_area_mm2_at(round_log, 3000) == pytest.approx(math.pi * 150**2)
    assert section_area_mm2_at(sawn, 3000) == pytest.approx(math.pi * (diameter / 2) ** 2 - 2 * segment)


@given(diameter=st.floats(100, 600), share=st.floats(0, 0.99))
def test_the_face_height_and_the_round_belong_together(diameter: float, share: float):
    thickness = share * diameter

    height = face_height_mm(diameter_mm=diameter, thickness_mm=thickness)

    assert round_diameter_mm(face_height_mm=height, thickness_mm=thickness) == pytest.approx(diameter)


def test_a_log_ripped_through_the_heart_is_half_a_log():
    half = circle_between_planes_area_mm2(diameter_mm=300, left_mm=0, right_mm=1000)

    assert half == pytest.approx(math.pi * 150**2 / 2)


@pytest.mark.parametrize(
    ("diameter_mm", "left_mm", "right_mm"),
    [(0, -1, 1), (300, 10, -10), (math.nan, -1, 1), (300, -1, math.inf)],
)
def test_a_section_of_nothing_is_refused(diameter_mm: float, left_mm: float, right_mm: float):
    with pytest.raises(BadSection):
        circle_between_planes_area_mm2(diameter_mm=diameter_mm, left_mm=left_mm, right_mm=right_mm)


def test_faces_of_nothing_belong_to_no_log():
    with pytest.raises(BadSection, match="are none"):
        round_diameter_mm(face_height_mm=math.nan, thickness_mm=100)


def test_a_crown_that_is_no_number_is_refused():
    with pytest.raises(BadProfile, match="crown"):
        piece_crown_mm(crown_mm=math.nan, log_mm=6000, piece_mm=3000)


def test_a_log_has_no_faces_further_apart_than_it_is_thick():
    with pytest.raises(BadSection, match="no faces"):
        face_height_mm(diameter_mm=300, thickness_mm=300)
