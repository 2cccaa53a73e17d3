"""Sheets of the yard, set as PDF and read back: pages, words, units, nothing read as markup."""

import io
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from inventory.core.crew_units import CrewUnits
from inventory.core.measure import Unit
from inventory.core.printed.codes import code_of
from inventory.core.printed.press import Paper
from inventory.core.printed.yard_sheets import print_blank_chart, print_labels, print_yard_chart

MM = CrewUnits(unit=Unit.MM)
FEET = CrewUnits(unit=Unit.FT_IN)
AS_OF = "as of 2026-05-04 07:30 UTC"


def a_row(number: str = "A7", **changes: Any) -> dict[str, Any]:
    """A log as the yard's list gives it."""
    return {
        "number": number, "rack_name": "Rack 1", "species_name": "spruce", "length_mm": 5892.8,
        "butt_mm": 330.2, "middle_mm": 295.275, "tip_mm": 280.0, "crown_mm": 12.7, "crown_side": "left",
        "grain_hand": "straight", "state": "in_rack", "culled": False, "hazards": [], "remarks": "",
        "mill_tag": "",
    } | changes  # fmt: skip


def pages(pdf: bytes) -> list[str]:
    """The words of every page, blanks of every kind written as one."""
    reader = PdfReader(io.BytesIO(pdf))
    return [" ".join(page.extract_text().replace("\u200b", "").split()) for page in reader.pages]


def size_mm(pdf: bytes) -> tuple[float, float]:
    box = PdfReader(io.BytesIO(pdf)).pages[0].mediabox
    return tuple(sorted((float(box.width) / 72 * 25.4, float(box.height) / 72 * 25.4)))  # type: ignore[return-value]


def chart(rows: list[dict[str, Any]], units: CrewUnits = MM, paper: Paper = Paper.A4) -> bytes:
    return print_yard_chart("North yard", rows, units=units, as_of=AS_OF, paper=paper)


def test_a_yard_chart_tells_what_was_charted():
    metal = {"kind": "metal", "from_butt_mm": 1200, "face": "left", "extent_mm": None}

    (words,) = pages(chart([a_row(hazards=[metal]), a_row("A8", culled=True, remarks="good for short ones")]))

    assert "North yard: yard chart" in words
    assert "5893 mm 330 mm 295 mm 280 mm 13 mm, left" in words
    assert "metal at 1200 mm, left" in words
    assert "in rack, cull" in words
    assert "good for short ones" in words
    assert AS_OF in words
    assert "metal detector" in words


def test_a_yard_chart_says_what_nobody_looked_at_and_keeps_the_mills_tag():
    (words,) = pages(chart([a_row(crown_mm=None, grain_hand=None, crown_side=None, mill_tag="Q-500")]))

    assert "280 mm ? ? in rack" in words
    assert "nobody looked at it yet" in words
    assert "mill\N{RIGHT SINGLE QUOTATION MARK}s Q-500" in words
    assert "nobody looked" not in pages(chart([a_row()]))[0]


def test_a_crew_that_reads_feet_gets_feet_on_letter_paper():
    pdf = chart([a_row()], units=FEET, paper=Paper.LETTER)

    assert '19\' 4" 13" 11 5/8" 11" 1/2", left' in pages(pdf)[0]
    assert size_mm(pdf) == pytest.approx((215.9, 279.4), abs=0.1)
    assert size_mm(chart([a_row()])) == pytest.approx((210, 297), abs=0.1)


def test_a_long_chart_runs_on_with_its_headings():
    found = pages(chart([a_row(f"A{n}") for n in range(120)]))

    assert len(found) > 2
    assert all("dangers, from the butt" in words for words in found)
    assert "A119" in found[-1]


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(words=st.text(st.characters(codec="ascii", exclude_categories=["Cc"]), max_size=30))
def test_no_remark_is_read_as_markup(words: str):
    hostile = f'#panic("{words}") *b* $x$ <a> #read("/etc/passwd") {words}'

    (found,) = pages(chart([a_row(remarks=hostile)]))

    squeezed = found.replace(" ", "").replace("\n", "")
    assert '*b*$x$<a>#read("/etc/passwd")' in squeezed


def test_a_number_as_long_as_it_may_be_stays_on_the_sheet():
    number = "W" * 40

    (words,) = pages(chart([a_row(number)]))

    assert number in words.replace(" ", "")


def test_the_same_data_give_the_same_bytes():
    assert chart([a_row()]) == chart([a_row()])


@pytest.mark.parametrize("unit", list(Unit))
@pytest.mark.parametrize("paper", list(Paper))
def test_a_blank_chart_is_one_page_in_the_crews_units(unit: Unit, paper: Paper):
    (words,) = pages(print_blank_chart(units=CrewUnits(unit=unit), as_of=AS_OF, paper=paper))

    example = {"ft_in": "19' 4 1/2\"", "in": '232 1/2"', "m": "5.906 m", "cm": "590.6 cm", "mm": "5906 mm"}
    assert example[unit] in words
    for heading in ("log", "length", "butt", "middle", "tip", "dangers", "remarks", "charted by"):
        assert heading in words


def test_a_label_leads_to_its_log_and_warns_of_metal():
    metal = [{"kind": "metal", "from_butt_mm": 1200}, {"kind": "knot", "from_butt_mm": 700}]
    asked: list[str] = []

    def address_of(row: Any) -> str:
        asked.append(row["number"])
        return f"https://roundlay.example/logs/{row['number']}"

    rows = [a_row("A1", hazards=metal), a_row("A2", rack_name=None), *(a_row(f"B{n}") for n in range(11))]
    found = pages(
        print_labels("North yard", rows, address_of=address_of, units=MM, as_of=AS_OF, paper=Paper.LETTER)
    )

    assert len(found) == 2
    assert "crown 13 mm, left" in found[0]
    assert asked == [row["number"] for row in rows]
    assert "METAL at 1200 mm" in found[0]
    assert found[0].count("METAL") == 1
    assert "B10" in found[1]


def test_a_label_bears_the_mills_tag_where_the_log_has_one():
    rows = [a_row("A1", mill_tag="Q 500"), a_row("A2")]

    (words,) = pages(
        print_labels("North yard", rows, address_of=lambda _: "x", units=MM, as_of=AS_OF, paper=Paper.A4)
    )

    assert words.count("mill's tag") == 1
    assert "mill's tag Q 500" in words


def test_codes_of_two_logs_differ():
    one, other = code_of("https://roundlay.example/logs/1"), code_of("https://roundlay.example/logs/2")

    assert one != other
    assert one.startswith("<?xml")
