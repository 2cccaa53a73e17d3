"""What a charted log cannot be, and what is only doubtful."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.chart_line import (
    ChartLine,
    Code,
    Hazard,
    HazardKind,
    ReadAcross,
    Station,
    StationName,
    profile_of_line,
    with_means,
)
from inventory.core.chart_rules import doubts_of_line, faults_of_line
from inventory.core.crew_units import CrewUnits
from inventory.core.measure import Unit
from inventory.core.profile import diameter_mm_at


def a_line(**said) -> ChartLine:
    """A sound log of 6 m, said otherwise only where it matters."""
    mm = {"length_mm": 6000, "butt_mm": 330, "middle_mm": 300, "tip_mm": 270} | said
    decimals = {k: Decimal(str(v)) if k.endswith(("_mm", "_slope")) else v for k, v in mm.items()}
    return ChartLine(**{"number": "1"} | decimals)


def metal(from_butt_mm: float, extent_mm: float | None = None) -> tuple[Hazard, ...]:
    extent = None if extent_mm is None else Decimal(extent_mm)
    return (Hazard(kind=HazardKind.METAL, from_butt_mm=Decimal(from_butt_mm), extent_mm=extent),)


def further(*stations: tuple[float, float]) -> tuple[Station, ...]:
    return tuple(Station(from_butt_mm=Decimal(at), diameter_mm=Decimal(d)) for at, d in stations)


def across(*stations: tuple[StationName, float, float]) -> tuple[ReadAcross, ...]:
    return tuple(
        ReadAcross(station=station, first_mm=Decimal(first), across_mm=Decimal(second))
        for station, first, second in stations
    )


def test_a_sound_log_has_neither_fault_nor_doubt():
    assert faults_of_line(a_line()) == ()
    assert doubts_of_line(a_line()) == ()


@pytest.mark.parametrize(
    ("said", "field", "code"),
    [
        ({"number": " "}, "number", Code.MISSING_VALUE),
        ({"number": "1\n2"}, "number", Code.UNREADABLE_VALUE),
        ({"remarks": "a\0b"}, "remarks", Code.UNREADABLE_VALUE),
        ({"remarks": "x" * 2001}, "remarks", Code.TEXT_TOO_LONG),
        ({"tip_mm": "NaN"}, "tip_mm", Code.UNREADABLE_VALUE),
        ({"tip_mm": "-3"}, "tip_mm", Code.UNREADABLE_VALUE),
        ({"length_mm": "Infinity"}, "length_mm", Code.UNREADABLE_VALUE),
        ({"length_mm": "1e12"}, "length_mm", Code.UNREADABLE_VALUE),
        ({"further_stations": further((-5, 300))}, "further_stations", Code.UNREADABLE_VALUE),
        ({"length_mm": 30_001}, "length_mm", Code.LENGTH_OUT_OF_REASON),
        ({"length_mm": 299}, "length_mm", Code.LENGTH_OUT_OF_REASON),
        ({"butt_mm": 1501}, "butt_mm", Code.DIAMETER_OUT_OF_REASON),
        ({"tip_mm": 27}, "tip_mm", Code.DIAMETER_OUT_OF_REASON),
        ({"further_stations": further((1500, 31))}, "further_stations", Code.DIAMETER_OUT_OF_REASON),
        ({"read_across": across((StationName.MIDDLE, 500, 400))}, "middle_mm", Code.NOT_THE_MEAN),
        ({"read_across": across((StationName.TIP, 20, 520))}, "tip_mm", Code.DIAMETER_OUT_OF_REASON),
        ({"butt_mm": 269.9}, "butt_mm", Code.BUTT_THINNER_THAN_TIP),
        ({"middle_mm": 363.1}, "middle_mm", Code.MIDDLE_OUTSIDE_ENDS),
        ({"middle_mm": 256.4}, "middle_mm", Code.MIDDLE_OUTSIDE_ENDS),
        ({"station_inset_mm": 3000}, "station_inset_mm", Code.STATION_OUTSIDE_LOG),
        ({"further_stations": further((6001, 270))}, "further_stations", Code.STATION_OUTSIDE_LOG),
        ({"further_stations": further((3000, 300))}, "further_stations", Code.STATION_OUTSIDE_LOG),
        (
            {"length_mm": 700, "butt_mm": 1000, "middle_mm": 950, "tip_mm": 60},
            "tip_mm",
            Code.STATION_OUTSIDE_LOG,
        ),
        ({"hazards": metal(6001)}, "hazards", Code.HAZARD_OUTSIDE_LOG),
        ({"hazards": metal(5900, 101)}, "hazards", Code.HAZARD_OUTSIDE_LOG),
        ({"crown_mm": 601}, "crown_mm", Code.BOW_OUT_OF_REASON),
        ({"crown_mm": 30, "crown_at_mm": 6001}, "crown_at_mm", Code.BOW_OUT_OF_REASON),
        ({"crook_mm": 601}, "crook_mm", Code.BOW_OUT_OF_REASON),
        ({"grain_slope": "0.5"}, "grain_slope", Code.GRAIN_OUT_OF_REASON),
        ({"sawn_face_height_mm": 300}, "sawn_thickness_mm", Code.FACES_INCOMPLETE),
        ({"sawn_thickness_mm": 15}, "sawn_thickness_mm", Code.DIAMETER_OUT_OF_REASON),
    ],
)
def test_what_a_log_cannot_be_is_a_fault(said: dict, field: str, code: Code):
    faults = faults_of_line(a_line(**said))

    assert [(one.field, one.code) for one in faults] == [(field, code)]
    assert faults[0].text


@pytest.mark.parametrize(
    ("said", "field", "code"),
    [
        ({"length_mm": 999, "tip_mm": 325, "middle_mm": 328}, "length_mm", Code.LENGTH_UNUSUAL),
        ({"length_mm": 16_001}, "length_mm", Code.LENGTH_UNUSUAL),
        ({"tip_mm": 99, "middle_mm": 110, "butt_mm": 120}, "tip_mm", Code.DIAMETER_UNUSUAL),
        ({"middle_mm": 330.1}, "middle_mm", Code.MIDDLE_OVER_BUTT),
        ({"middle_mm": 363}, "middle_mm", Code.MIDDLE_OVER_BUTT),
        ({"middle_mm": 269.9}, "middle_mm", Code.MIDDLE_UNDER_TIP),
        ({"middle_mm": 256.5}, "middle_mm", Code.MIDDLE_UNDER_TIP),
        ({"butt_mm": 405, "middle_mm": 320}, "tip_mm", Code.TAPER_STRONG),
        ({"further_stations": further((1500, 380))}, "further_stations", Code.STATION_OFF_THE_LINE),
        ({"read_across": across((StationName.TIP, 250, 290))}, "tip_mm", Code.OVAL),
        ({"crown_mm": 121}, "crown_mm", Code.BOW_LARGE),
        ({"grain_slope": 4, "grain_hand": "left"}, "grain_slope", Code.GRAIN_STEEP),
        ({"grain_slope": 20}, "grain_hand", Code.GRAIN_HAND_MISSING),
        (
            {"sawn_thickness_mm": 150, "sawn_face_height_mm": 313},
            "sawn_face_height_mm",
            Code.FACE_OFF_THE_MIDDLE,
        ),
    ],
)
def test_what_is_possible_but_unlikely_is_a_doubt(said: dict, field: str, code: Code):
    line = a_line(**said)

    assert faults_of_line(line) == ()
    assert [(one.field, one.code) for one in doubts_of_line(line)] == [(field, code)]


@pytest.mark.parametrize(
    "said", [{"butt_mm": 270, "middle_mm": 270}, {"crown_mm": 120}, {"hazards": metal(6000)}]
)
def test_a_log_just_at_a_limit_passes(said: dict):
    assert faults_of_line(a_line(**said)) == ()
    assert doubts_of_line(a_line(**said)) == ()


def test_findings_speak_the_units_of_the_crew():
    faults = faults_of_line(a_line(butt_mm="254"), units=CrewUnits(unit=Unit.FT_IN))

    assert faults[0].read == '10"'
    assert faults[0].text == 'the butt is thinner than the tip, 10 5/8"'


def test_a_line_gives_the_profile_of_its_log():
    profile = profile_of_line(a_line(station_inset_mm=300, further_stations=further((1500, 310))))

    assert diameter_mm_at(profile, 300) == pytest.approx(330)
    assert diameter_mm_at(profile, 1500) == pytest.approx(310)


any_number = st.one_of(st.decimals(), st.decimals(0, 10_000, places=2))


@given(
    length=any_number,
    butt=any_number,
    middle=any_number,
    tip=any_number,
    inset=any_number,
    crown=st.none() | any_number,
    stations=st.lists(st.builds(Station, from_butt_mm=any_number, diameter_mm=any_number), max_size=2),
)
def test_no_numbers_whatever_break_the_rules_and_a_sound_line_has_a_profile(
    length, butt, middle, tip, inset, crown, stations
):
    line = ChartLine(
        number="1",
        length_mm=length,
        butt_mm=butt,
        middle_mm=middle,
        tip_mm=tip,
        station_inset_mm=inset,
        crown_mm=crown,
        further_stations=tuple(stations),
    )

    if not faults_of_line(line):
        assert all(doubt.text for doubt in doubts_of_line(line))
        assert diameter_mm_at(profile_of_line(line), 0) > 0


def test_two_readings_across_count_by_their_mean_whichever_of_them_is_written_down():
    twice = across((StationName.BUTT, 338, 323), (StationName.TIP, 270, 270))

    lines = [with_means(a_line(butt_mm=butt, read_across=twice)) for butt in (338, 323, 330.5)]

    assert [line.butt_mm for line in lines] == [Decimal("330.5")] * 3
    assert [one.difference_mm for one in lines[0].read_across] == [15, 0]
    assert faults_of_line(lines[0]) == doubts_of_line(lines[0]) == ()


def test_a_diameter_taken_anew_lets_held_readings_go_and_contradicts_others():
    twice = across((StationName.BUTT, 338, 323))
    anew = a_line(butt_mm=335, read_across=twice)

    assert with_means(anew, held=twice).read_across == ()
    assert [one.code for one in faults_of_line(with_means(anew))] == [Code.NOT_THE_MEAN]
    assert [one.code for one in faults_of_line(with_means(a_line(butt_mm=338, read_across=twice * 2)))] == [
        Code.READ_TWICE, Code.READ_TWICE,
    ]  # fmt: skip
