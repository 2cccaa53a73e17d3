"""A chart written out reads back to exactly the same logs, in any unit, and runs in no spreadsheet."""

import csv
import io
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.chart import read_chart, write_chart
from inventory.core.chart_line import (
    ChartLine,
    Face,
    GrainHand,
    Hazard,
    HazardKind,
    ReadAcross,
    Station,
    StationName,
    with_means,
)
from inventory.core.measure import FRACTIONS, Unit
from inventory.core.weight import Seasoning

FORMULA_MARKS = ("=", "+", "-", "@", "\t", "\r")


def lengths(low: int, high: int) -> st.SearchStrategy[Decimal]:
    in_inches = st.integers(low * 320 // 254 + 1, high * 320 // 254).map(lambda n: n * Decimal("0.79375"))
    return st.one_of(st.decimals(low, high, places=5), in_inches)


one_line = st.text(st.characters(exclude_categories=["C", "Zl", "Zp"]), min_size=1, max_size=12)
names = st.one_of(
    one_line.filter(str.strip),
    st.sampled_from(["=1+1", "-3", "+4", "@x", "＝1+1", "＠x", "'7", "''", " 7", "'tis"]),
)
many_lines = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=30)
faces = st.none() | st.sampled_from(Face)


@st.composite
def chart_lines(draw: st.DrawFn) -> ChartLine:
    line = draw(lines_read_once())
    across = draw(st.sets(st.sampled_from(StationName)))
    twice = tuple(
        ReadAcross(station=name, first_mm=mm, across_mm=mm + draw(lengths(0, 9)))
        for name in StationName
        if name in across
        for mm in line.readings_mm(name)
    )
    return with_means(replace(line, read_across=twice))


@st.composite
def lines_read_once(draw: st.DrawFn) -> ChartLine:
    tip = draw(lengths(120, 300))
    length = draw(lengths(2000, 12_000))
    return ChartLine(
        number=draw(names),
        rack=draw(st.none() | names),
        species=draw(st.none() | names),
        length_mm=length,
        butt_mm=tip + draw(lengths(20, 80)),
        middle_mm=tip + draw(lengths(0, 20)),
        tip_mm=tip,
        station_inset_mm=draw(lengths(100, 400)),
        further_stations=draw(
            st.lists(
                st.builds(
                    Station,
                    from_butt_mm=lengths(500, 900),
                    diameter_mm=lengths(0, 20).map(lambda mm: tip + mm),
                ),
                max_size=1,
            ).map(tuple)
        ),
        crown_mm=draw(st.none() | lengths(0, 60)),
        crown_side=draw(faces),
        crown_at_mm=draw(st.none() | lengths(0, 1999)),
        crook_mm=draw(st.none() | lengths(0, 60)),
        crook_at_mm=draw(st.none() | lengths(0, 1999)),
        grain_hand=draw(st.none() | st.sampled_from(GrainHand)),
        grain_slope=draw(st.none() | st.decimals(2, 100, places=2)),
        hazards=draw(
            st.lists(
                st.builds(
                    Hazard,
                    kind=st.sampled_from(HazardKind),
                    from_butt_mm=lengths(0, 1500),
                    face=faces,
                    extent_mm=st.none() | lengths(0, 300),
                ),
                max_size=3,
            ).map(tuple)
        ),
        sawn_face_height_mm=None,
        sawn_thickness_mm=draw(st.none() | lengths(100, 200)),
        mill_tag=draw(st.just("") | names),
        peeled=draw(st.booleans()),
        seasoning=draw(st.none() | st.sampled_from(Seasoning)),
        felled_on=draw(st.none() | st.dates()),
        culled=draw(st.booleans()),
        charted_by=draw(st.just("") | names),
        charted_on=draw(st.none() | st.dates()),
        remarks=draw(many_lines),
    )


@settings(max_examples=60, deadline=None)
@given(
    lines=st.lists(
        chart_lines(), min_size=1, max_size=4, unique_by=lambda line: " ".join(line.number.casefold().split())
    ),
    unit=st.sampled_from(Unit),
    read_in=st.sampled_from(Unit),
    fraction=st.sampled_from(FRACTIONS),
)
def test_a_chart_reads_back_as_the_same_logs(
    lines: list[ChartLine], unit: Unit, read_in: Unit, fraction: int
):
    chart = write_chart(lines, unit=unit, fraction=fraction)
    reading = read_chart(chart.encode(), unit=read_in)

    assert reading.lines == tuple(lines)
    assert reading.faults == ()


@given(line=chart_lines(), unit=st.sampled_from(Unit))
def test_no_cell_of_a_chart_begins_like_a_formula(line: ChartLine, unit: Unit):
    cells = [
        cell for row in csv.reader(io.StringIO(write_chart([line], unit=unit), newline="")) for cell in row
    ]

    assert [cell for cell in cells if cell.startswith(FORMULA_MARKS)] == []


@pytest.mark.parametrize(
    "remarks",
    [
        '=HYPERLINK("x")',
        "+1",
        "-1",
        "@sum",
        "＝1+1",
        "＋1",
        "－1",
        "＠sum",
        "\ttabbed",
        "\rreturned",
        "'quoted",
        "''",
        "plain",
        "two\r\nlines",
        " ",
    ],
)
def test_a_remark_reads_back_whatever_it_begins_with(remarks: str):
    line = ChartLine(
        number="1",
        length_mm=Decimal(6000),
        butt_mm=Decimal(330),
        middle_mm=Decimal(300),
        tip_mm=Decimal(270),
        remarks=remarks,
    )

    again = read_chart(write_chart([line], unit=Unit.IN), unit=Unit.IN)

    assert again.lines == (line,)


def test_tape_readings_are_written_as_the_crew_wrote_them():
    chart = 'number,length,butt,middle,tip\n7,"19\' 4 1/2""",13 1/32 in,11 5/8 in,10 in\n'

    written = write_chart(read_chart(chart, unit=Unit.FT_IN).lines, unit=Unit.FT_IN)

    row = list(csv.reader(io.StringIO(written)))[1]
    assert row[3:7] == ["19' 4 1/2\"", '13 1/32"', '11 5/8"', '10"']


@given(chart=st.binary(max_size=80), rows=st.lists(st.text(max_size=12), max_size=8))
def test_nothing_that_is_sent_as_a_chart_breaks_the_reading(chart: bytes, rows: list[str]):
    typed = "number,length,butt,middle,tip,hazards,remarks\n" + ",".join(rows)

    for sent in (chart, typed.encode("utf-8", "surrogatepass"), typed):
        reading = read_chart(sent, unit=Unit.FT_IN)

        assert reading.faults or reading.lines
        assert all(fault.text and fault.code for fault in reading.faults)
