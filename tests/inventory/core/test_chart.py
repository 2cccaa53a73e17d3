"""Charts as crews type them: read whole, every fault named, and written so that they read back."""

from datetime import date
from decimal import Decimal

import pytest

from inventory.core.chart import ChartReading, read_chart
from inventory.core.chart_line import (
    ChartLine,
    Code,
    Face,
    GrainHand,
    Hazard,
    HazardKind,
    Station,
)
from inventory.core.finding import Finding
from inventory.core.measure import Unit

HEADINGS = "number,length,butt,middle,tip"


def read_rows(*rows: str, headings: str = HEADINGS, unit: Unit = Unit.MM, **known) -> ChartReading:
    return read_chart("\n".join((headings, *rows)), unit=unit, **known)


def said(findings: tuple[Finding, ...]) -> list[tuple[int, str, Code]]:
    return [(one.row, one.column, one.code) for one in findings]


def test_a_notebook_in_feet_and_inches_is_read_as_written():
    chart = """
Log No.;Tip (in);Mid (in);Butt (in);Length;Crown;Crown side;Crown at;Remarks;Peeled;Wood;Stack

7;10 1/4;11 5/8;13;19' 4";1 1/2;left;9 ft;"two ""cat faces""; good for plate";yes;larch;North 1
8;10½;11-7/8";13.25;19 ft 4 in;;;;;;Larch;north  1
"""
    reading = read_chart(chart, unit=Unit.FT_IN, known_racks=["North 1"], known_species=["larch"])

    assert reading.faults == ()
    assert reading.doubts == ()
    assert reading.rows == (4, 5)
    assert reading.lines[0] == ChartLine(
        number="7",
        length_mm=Decimal("5892.8"),
        butt_mm=Decimal("330.2"),
        middle_mm=Decimal("295.275"),
        tip_mm=Decimal("260.35"),
        crown_mm=Decimal("38.1"),
        crown_side=Face.LEFT,
        crown_at_mm=Decimal("2743.2"),
        remarks='two "cat faces"; good for plate',
        peeled=True,
        species="larch",
        rack="North 1",
    )
    assert reading.lines[1].rack == "North 1"
    assert reading.lines[1].species == "larch"
    assert reading.lines[1].middle_mm == Decimal("301.625")


def test_a_metric_notebook_with_decimal_commas_is_read():
    chart = "\ufeffTag;Length;Butt;Middle;Top\r\nA1;5,89;33,5;29,5;26\r\n\r\n"

    reading = read_chart(chart, unit=Unit.M)

    assert reading.faults == ()
    assert reading.lines == (
        ChartLine(
            number="A1",
            length_mm=Decimal(5890),
            butt_mm=Decimal(335),
            middle_mm=Decimal(295),
            tip_mm=Decimal(260),
        ),
    )


def test_everything_a_crew_can_write_about_a_log_is_read():
    headings = (
        "number\tlength\tbutt\tmiddle\ttip\tstation distance\tfurther stations\tcrook\tcrook at\tgrain hand\t"
        "grain slope\thazards\tface height\tthickness\tculled\tcharted by\tcharted on"
    )
    row = (
        "3\t6 m\t340\t300\t270\t12 in\t1.5 m: 315 mm; 4,5 m: 28 cm\t25\t2 m\tleft\t1:20\t"
        "metal 14' 2\" face top; knot at 3 ft right; wire 100 extent 2 in\t300\t150\tyes\tIlse\t14.5.2026"
    )

    reading = read_rows(row, headings=headings)

    assert reading.faults == ()
    line = reading.lines[0]
    assert line.station_inset_mm == Decimal("304.8")
    assert line.further_stations == (
        Station(from_butt_mm=Decimal(1500), diameter_mm=Decimal(315)),
        Station(from_butt_mm=Decimal(4500), diameter_mm=Decimal(280)),
    )
    assert (line.crook_mm, line.crook_at_mm) == (Decimal(25), Decimal(2000))
    assert (line.grain_hand, line.grain_slope) == (GrainHand.LEFT, Decimal(20))
    assert line.hazards == (
        Hazard(kind=HazardKind.METAL, from_butt_mm=Decimal("4318"), face=Face.TOP),
        Hazard(kind=HazardKind.KNOT, from_butt_mm=Decimal("914.4"), face=Face.RIGHT),
        Hazard(kind=HazardKind.METAL, from_butt_mm=Decimal(100), extent_mm=Decimal("50.8")),
    )
    assert (line.sawn_face_height_mm, line.sawn_thickness_mm) == (Decimal(300), Decimal(150))
    assert line.culled
    assert (line.charted_by, line.charted_on) == ("Ilse", date(2026, 5, 14))


@pytest.mark.parametrize(
    "headings",
    [
        "No;Length (ft);Butt Ø (in);Middle Ø (in);Tip Ø (in)",
        "log;length_ft;large end diameter in;mid in;small end [in]",
        "#;LENGTH FEET;Butt, inches;CENTRE inches;top in",
        'tag;length \';d butt ";d middle ";d tip "',
    ],
)
def test_a_heading_may_name_its_unit(headings: str):
    reading = read_rows("1;19,5;13;12;11", headings=headings, unit=Unit.MM)

    assert reading.faults == ()
    assert reading.lines[0].length_mm == Decimal("5943.6")
    assert reading.lines[0].tip_mm == Decimal("279.4")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_chart_is_read_in_the_letters_a_spreadsheet_saves(encoding: str):
    chart = f"{HEADINGS},remarks\r\n1,6 m,13½ in,12 in,11¼ in,schöne Kante\r\n"

    reading = read_chart(chart.encode(encoding), unit=Unit.MM)

    assert reading.faults == ()
    assert reading.lines[0].butt_mm == Decimal("342.9")
    assert reading.lines[0].remarks == "schöne Kante"


def test_a_title_may_stand_above_the_headings():
    reading = read_chart(f"Yard at the creek\n\n{HEADINGS}\n1,6000,330,300,270\n", unit=Unit.MM)

    assert reading.rows == (4,)


def test_blank_racks_and_species_take_what_the_crew_said_for_the_whole_chart():
    reading = read_rows(
        "1,6000,330,300,270",
        known_racks=["North"],
        default_rack="North",
        default_species="larch",
        station_inset_mm=Decimal(250),
    )

    assert reading.faults == ()
    assert (reading.lines[0].rack, reading.lines[0].species) == ("North", "larch")
    assert reading.lines[0].station_inset_mm == Decimal(250)


def test_the_columns_that_were_there_are_told():
    assert read_rows("1,6000,330,300,270").fields == ("number", "length_mm", "butt_mm", "middle_mm", "tip_mm")


def test_all_rows_are_checked_and_each_fault_has_its_row_column_and_text():
    reading = read_rows(
        "1,6000,330,300,270,North",
        "2,6000,250,260,270,North",
        "3,6000,330,thick,270,North",
        "1,6000,330,300,270,North",
        "",
        "4,6000,330,300,270,South",
        ",6000,330,300,,North",
        "5,60000,330,300,270,North",
        headings=f"{HEADINGS},rack",
        known_racks=["North"],
    )

    assert said(reading.faults) == [
        (3, "butt", Code.BUTT_THINNER_THAN_TIP),
        (4, "middle", Code.UNREADABLE_VALUE),
        (5, "number", Code.NUMBER_TWICE),
        (7, "rack", Code.UNKNOWN_RACK),
        (8, "number", Code.MISSING_VALUE),
        (8, "tip", Code.MISSING_VALUE),
        (9, "length", Code.LENGTH_OUT_OF_REASON),
    ]
    assert reading.faults[1].read == "thick"
    assert "expected a number" in reading.faults[1].text
    assert reading.faults[2].text == "row 2 has the same number"
    assert "known: North" in reading.faults[3].text


def test_a_doubt_is_told_and_is_no_fault():
    reading = read_rows("1,6000,300,310,270")

    assert reading.faults == ()
    assert said(reading.doubts) == [(2, "middle", Code.MIDDLE_OVER_BUTT)]
    assert reading.doubts[0].read == "310 mm"


def test_a_finding_is_told_in_the_units_of_the_chart():
    reading = read_rows("1,19.5,12,12 1/2,11", unit=Unit.FT_IN)

    assert reading.doubts[0].read == '12 1/2"'
    assert reading.doubts[0].text == 'the middle is thicker than the butt, 12"'


def test_a_misspelled_column_is_a_doubt():
    reading = read_rows("1,6000,330,300,270,40", headings=f"{HEADINGS},crwon")

    assert said(reading.doubts) == [(1, "crwon", Code.COLUMN_NOT_READ)]


def test_a_chart_without_a_middle_says_so():
    reading = read_rows("1,6000,330,270", headings="number,length,butt,tip")

    assert said(reading.faults) == [(1, "middle", Code.MISSING_COLUMN)]
    assert reading.lines == ()


def test_two_columns_for_one_thing_are_refused():
    reading = read_rows("1,6000,330,300,270,260", headings=f"{HEADINGS},top")

    assert said(reading.faults) == [(1, "top", Code.COLUMN_TWICE)]


def test_where_racks_are_known_every_log_lies_on_one():
    without_column = read_rows("1,6000,330,300,270", known_racks=["North"])
    left_blank = read_rows("1,6000,330,300,270,", headings=f"{HEADINGS},rack", known_racks=["North"])

    assert said(without_column.faults) == [(1, "rack", Code.MISSING_COLUMN)]
    assert said(left_blank.faults) == [(2, "rack", Code.MISSING_VALUE)]


def test_a_fault_about_a_column_that_is_not_there_names_it_as_we_would():
    reading = read_rows("1,600,330,320,310")

    assert said(reading.faults) == [(2, "station distance", Code.STATION_OUTSIDE_LOG)]


def test_an_unknown_species_is_refused():
    reading = read_rows("1,6000,330,300,270,bamboo", headings=f"{HEADINGS},species", known_species=["larch"])

    assert said(reading.faults) == [(2, "species", Code.UNKNOWN_SPECIES)]


def test_an_unquoted_decimal_comma_does_not_slip_through_as_another_cell():
    reading = read_rows("1,5,89 m,330,300,270")

    assert (2, "", Code.EXTRA_CELLS) in said(reading.faults)


def test_a_quote_left_open_is_found():
    reading = read_rows('1,"6000,330,300,270', "2,6000,330,300,270")

    assert reading.faults[0].row == 2
    assert "quote opened here was not closed" in reading.faults[0].text


@pytest.mark.parametrize(
    ("chart", "code"),
    [
        ("", Code.MISSING_COLUMN),
        ("dear crew,\nplease find attached", Code.MISSING_COLUMN),
        (HEADINGS, Code.NO_LOGS),
        (f"{HEADINGS}\n,,,,\n", Code.NO_LOGS),
        (HEADINGS + "\n1,6000,330,300,270" * 20_001, Code.UNREADABLE_FILE),
        (b"\x81\x8d\x8f", Code.UNREADABLE_FILE),
        (b"\xff\xfe\x00\xd8", Code.UNREADABLE_FILE),
        (f'{HEADINGS}\n"{"x" * 200_000}', Code.MISSING_COLUMN),
    ],
)
def test_a_file_that_is_no_chart_is_one_fault(chart: str | bytes, code: Code):
    reading = read_chart(chart, unit=Unit.MM)

    assert said(reading.faults) == [(0, "", code)]
    assert reading.lines == ()


@pytest.mark.parametrize(
    ("heading", "cell", "why"),
    [
        ("hazards", "14 ft", "not a danger"),
        ("hazards", "ghost 14 ft", "not a danger"),
        ("hazards", "metal", "not a danger"),
        ("hazards", "metal near the end", "expected a number"),
        ("further stations", "310", "not a place and a diameter"),
        ("grain slope", "steep", "1 in 20"),
        ("grain hand", "up", "left, right, straight"),
        ("crown side", "north", "top, right, bottom, left"),
        ("peeled", "maybe", "yes or no"),
        ("seasoning", "wet", "green, partly_dry, dry"),
        ("felled on", "last winter", "2026-05-14"),
        ("charted on", "5/6/2026", "2026-05-14"),
        ("charted on", "31.2.2026", "no such day"),
        ("charted on", "2026-13-01", "no such day"),
        ("crown", "1,234 mm", "thousands"),
    ],
)
def test_a_cell_that_cannot_be_read_says_what_was_expected(heading: str, cell: str, why: str):
    reading = read_rows(f'1,6000,330,300,270,"{cell}"', headings=f"{HEADINGS},{heading}")

    assert said(reading.faults) == [(2, heading, Code.UNREADABLE_VALUE)]
    assert reading.faults[0].read == cell
    assert why in reading.faults[0].text


@pytest.mark.parametrize(
    ("cell", "seasoning"),
    [
        ("fresh", "green"),
        ("Partly dry", "partly_dry"),
        ("half dry", "partly_dry"),
        ("seasoned", "dry"),
        ("", None),
    ],
)
def test_how_dry_a_log_is_is_written_in_many_ways(cell: str, seasoning: str | None):
    reading = read_rows(f"1,6000,330,300,270,{cell},14.2.2026", headings=f"{HEADINGS},dryness,felled")

    assert reading.lines[0].seasoning == seasoning
    assert reading.lines[0].felled_on == date(2026, 2, 14)


def test_a_log_felled_after_it_was_charted_is_looked_at_again():
    reading = read_rows(
        "1,6000,330,300,270,2026-05-02,2026-05-01", headings=f"{HEADINGS},felled on,charted on"
    )

    assert said(reading.doubts) == [(2, "felled on", Code.FELLED_AFTER_CHARTED)]


@pytest.mark.parametrize(("cell", "peeled"), [("x", True), ("Y", True), ("no", False), ("", False)])
def test_peeled_is_ticked_in_many_ways(cell: str, peeled: bool):
    reading = read_rows(f"1,6000,330,300,270,{cell}", headings=f"{HEADINGS},peeled")

    assert reading.lines[0].peeled is peeled
