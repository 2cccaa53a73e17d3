"""Mills' own forms: checked when stored, filled with an order, safe to open, read back as a tally."""

import csv
import io
import json
from copy import deepcopy
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.form import FormColumn, Marks
from inventory.core.form_cells import BadCell, read_cell, write_cell
from inventory.core.form_files import form_as_csv, form_as_pdf, form_as_workbook
from inventory.core.form_reading import BadForm, read_form
from inventory.core.form_rows import OrderSheet, fill_form
from inventory.core.log_rules import BoardRule
from inventory.core.measure import Unit
from inventory.core.order import ClassLine, PriceBy, Terms
from inventory.core.tally import can_read_tally, read_tally
from tests.inventory.ordering import FORM

MILLS = sorted((Path(__file__).parents[3] / "fixtures" / "mills").glob("*.json"))


def form_of(mill):
    return read_form(json.loads(mill.read_text(encoding="utf-8"))["form"])


def a_form(**what):
    """The tests' own form, changed here and there."""
    return {**deepcopy(FORM), **what}


def faults_of(document):
    with pytest.raises(BadForm) as caught:
        read_form(document)
    return {(fault.pointer, fault.column) for fault in caught.value.faults}


def a_sheet(**what):
    lines = (
        ClassLine(
            line=1, species="white spruce", length_mm=Decimal("6248.4"), least_middle_mm=Decimal("279.4"),
            largest_middle_mm=Decimal("330.2"), count=3, price=Decimal("0.825"), note="=SUM(A1:A9)",
        ),
        ClassLine(
            line=2, species="white spruce", length_mm=Decimal("6248.4"), least_middle_mm=Decimal("254"),
            largest_middle_mm=Decimal("279.4"), count=2, price=Decimal("0.825"),
        ),
    )  # fmt: skip
    given_terms = Terms(board_rule=BoardRule.DOYLE, price_by=PriceBy.BOARD_FOOT)
    usual = {
        "order": "Bunkhouse", "crew": "Alder Bend crew", "mill": "a mill", "order_date": "2026-03-01",
        "wanted_on": "", "remarks": "", "currency": "CAD", "terms": given_terms, "lines": lines,
    }  # fmt: skip
    return OrderSheet(**{**usual, **what})


@pytest.mark.parametrize("mill", MILLS, ids=[mill.stem for mill in MILLS])
def test_the_fixtures_mills_have_forms_that_go_out_and_come_back(mill):
    form = form_of(mill)

    filled = fill_form(form, a_sheet())

    assert can_read_tally(form)
    assert len(filled.rows) == {"fernholt": 5, "quarrel-creek": 2, "twinface": 1}[mill.stem]
    assert all(len(row) == len(filled.headings) for row in filled.rows)


def test_the_fixtures_forms_are_truly_different():
    forms = [form_of(mill) for mill in MILLS]

    assert len(forms) == 3
    assert len({form.delimiter for form in forms}) == 3
    assert {form.line_per_log for form in forms} == {True, False}
    assert any(form.merge_equal for form in forms)
    assert len({tuple(column.heading for column in form.order_columns) for form in forms}) == 3


@pytest.mark.parametrize(
    ("column", "change", "at"),
    [
        (4, {"unit": "yard"}, "/columns/4/unit"),
        (4, {"fraction": 3}, "/columns/4/fraction"),
        (4, {"fraction": True}, "/columns/4/fraction"),
        (4, {"mark": False}, "/columns/4/mark"),
        (4, {"decimals": 2}, "/columns/4/decimals"),
        (4, {"widht": 2}, "/columns/4/widht"),
        (5, {"heading": "To (in)"}, "/columns/6/heading"),
        (5, {"on": "tally"}, "/columns/5/on"),
        (2, {"field": "wood"}, "/columns/2/field"),
        (2, {"field": ["species"]}, "/columns/2/field"),
        (2, {"unit": "in"}, "/columns/2/unit"),
        (2, {"heading": " "}, "/columns/2/heading"),
        (2, {"text": "spruce"}, "/columns/2/text"),
        (9, {"decimals": 1}, "/columns/9/decimals"),
        (12, {"decimals": 1}, "/columns/12/decimals"),
        (3, {"text": 7}, "/columns/3/text"),
        (2, {"heading": "a\nb"}, "/columns/2/heading"),
    ],
)
def test_a_fault_of_a_form_names_its_column(column, change, at):
    document = a_form()
    document["columns"][column] |= change

    found = faults_of(document)

    assert at in {pointer for pointer, _ in found}
    assert all(heading for pointer, heading in found if pointer == at and "heading" not in change)


@pytest.mark.parametrize(
    ("what", "at"),
    [
        ({"columns": []}, "/columns"),
        ({"columns": "all"}, "/columns"),
        ({"columns": [{"heading": "Wood", "field": "species"}]}, "/columns"),
        ({"columns": [7]}, "/columns/0"),
        ({"decimal_mark": ";"}, "/decimal_mark"),
        ({"decimal_mark": ",", "thousands_mark": ","}, "/thousands_mark"),
        ({"sort_by": ["tip_mm"]}, "/sort_by/0"),
        ({"sort_by": "length_mm"}, "/sort_by"),
        ({"one_line_per": "truck"}, "/one_line_per"),
        ({"one_line_per": "log", "merge_equal": True}, "/merge_equal"),
        ({"merge_equal": "yes"}, "/merge_equal"),
        ({"above": [{"label": "x", "field": "total"}]}, "/above/0/field"),
        ({"above": [{"label": "x"}]}, "/above/0"),
        ({"above": [{"label": "x", "field": ["order"]}]}, "/above/0/field"),
        ({"below": ["thanks"]}, "/below/0"),
        ({"below": "thanks"}, "/below"),
        ({"title": ""}, "/title"),
        ({"logo": "x"}, "/logo"),
    ],
)
def test_a_form_that_is_none_is_refused_with_the_place_of_the_fault(what, at):
    assert at in {pointer for pointer, _ in faults_of(a_form(**what))}


def test_a_form_is_an_object():
    assert faults_of([]) == {("", "")}


WORDS = st.sampled_from(["columns", "field", "heading", "unit", "above", "title", "on", "sort_by", "text"])
LEAVES = st.none() | st.booleans() | st.integers() | st.text(max_size=5)
DOCUMENTS = st.recursive(
    LEAVES, lambda part: st.lists(part, max_size=3) | st.dictionaries(WORDS, part, max_size=4), max_leaves=12
)


@given(DOCUMENTS)
def test_no_document_breaks_the_check(document):
    try:
        read_form(document)
    except BadForm as bad:
        assert bad.faults


def test_rows_that_read_alike_are_counted_together():
    twinface = form_of(next(mill for mill in MILLS if mill.stem == "twinface"))

    filled = fill_form(twinface, a_sheet())

    texts = [cell.text for cell in filled.rows[0]]
    assert len(filled.rows) == 1
    # Doyle: three of 61 and two of 31 board feet at 0.825; 5 x 20.50 ft
    assert texts == ["", "20.50", "5", "102.5", "rough sawn", "0.825", "202.13"]


def test_one_line_a_log_shares_out_the_cents_of_the_line():
    fernholt = form_of(next(mill for mill in MILLS if mill.stem == "fernholt"))

    filled = fill_form(fernholt, a_sheet())

    amounts = [Decimal(row[-1].text.replace(",", ".")) for row in filled.rows]
    # 3 x 61 x 0.825 = 150.975 and 2 x 31 x 0.825 = 51.15; every line rounded once
    assert sum(amounts) == Decimal("150.98") + Decimal("51.15")
    assert [row[0].text for row in filled.rows] == ["1", "2", "3", "4", "5"]


def test_a_form_says_where_it_does_not_show_a_length_exactly():
    fernholt = form_of(next(mill for mill in MILLS if mill.stem == "fernholt"))

    assert fill_form(fernholt, a_sheet()).rounded == ("Länge m", "Mitte von cm", "Mitte bis cm")
    assert fill_form(read_form(FORM), a_sheet()).rounded == ()


@pytest.mark.parametrize(
    "evil", ["=1+1", "+1", "-1", "@A1", "\t=1", "＝1", "'=1", '=HYPERLINK("x")', "\r\n=1"]
)
def test_no_cell_of_a_csv_begins_like_a_formula(evil):
    document = a_form(title=evil.strip(), above=[{"label": "Order", "field": "order"}])
    document["columns"][3]["text"] = evil.strip()
    form = read_form(document)

    written = form_as_csv(fill_form(form, a_sheet(order=evil, remarks=evil)), delimiter=",")

    for row in csv.reader(io.StringIO(written)):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r", "＝")) for cell in row)


def test_a_workbook_has_numbers_as_numbers_and_no_formula():
    filled = fill_form(read_form(FORM), a_sheet(order="=1+1"))

    sheet = openpyxl.load_workbook(io.BytesIO(form_as_workbook(filled))).worksheets[0]

    cells = [cell for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert not [cell for cell in cells if cell.data_type == "f"]
    assert sheet["B1"].value == "=1+1"
    assert sheet["B1"].data_type == "s"
    heads = {cell.value: cell.column for cell in sheet[3]}
    assert sheet.cell(row=4, column=heads["BF"]).value == 183
    assert sheet.cell(row=4, column=heads["Per BF"]).number_format == "0.000"
    assert sheet.cell(row=4, column=heads["Remarks"]).value == "=SUM(A1:A9)"


def test_a_sheet_prints_whatever_is_written_in_it():
    evil = '#read("/etc/passwd") $x$ *bold* \\ " ] }'

    once = form_as_pdf(fill_form(read_form(FORM), a_sheet(order=evil, crew="Ælfrun – 木")))

    assert once.startswith(b"%PDF-")
    assert len(once) > 5_000
    assert once == form_as_pdf(fill_form(read_form(FORM), a_sheet(order=evil, crew="Ælfrun – 木")))


def column_of(**what):
    """A column as a form has it."""
    unit = what.pop("unit", None)
    return FormColumn(heading="h", unit=unit and Unit(unit), **what)


@given(eighths=st.integers(8, 600))
def test_a_diameter_in_inches_comes_back_as_it_went_out(eighths):
    column = column_of(field="middle_mm", unit="in", fraction=8)
    mm = Decimal(eighths) / 8 * Decimal("25.4")

    assert read_cell(write_cell(mm, column, Marks()).text, column, Marks()) == mm


@given(mm=st.integers(300, 30_000), marks=st.sampled_from([Marks(), Marks(decimal=",", thousands=".")]))
def test_a_length_in_millimetres_comes_back_with_any_marks(mm, marks):
    column = column_of(field="length_mm", unit="mm")

    assert read_cell(write_cell(Decimal(mm), column, marks).text, column, marks) == mm


@given(thousandths=st.integers(1, 10**8), thousands=st.sampled_from(["", ".", " ", "'"]))
def test_a_volume_comes_back_with_the_marks_of_the_mill(thousandths, thousands):
    column, marks = column_of(field="volume_m3", decimals=3), Marks(decimal=",", thousands=thousands)
    m3 = Decimal(thousandths) / 1000

    assert read_cell(write_cell(m3, column, marks).text, column, marks) == m3


@pytest.mark.parametrize("text", ["5.89", "5,8,9", "minus", "1/3", "-4", "0", "٣", "1e3", "nan", "9" * 300])
def test_what_a_form_would_not_write_is_not_guessed_at(text):
    column, marks = column_of(field="length_mm", unit="m"), Marks(decimal=",")

    with pytest.raises(BadCell):
        read_cell(text, column, marks)


@pytest.mark.parametrize("text", ["0", "1.5", "-1", "two", "", "²"])
def test_a_count_is_a_whole_number(text):
    with pytest.raises(BadCell):
        read_cell(text, column_of(field="count"), Marks())


@pytest.mark.parametrize("mill", MILLS, ids=[mill.stem for mill in MILLS])
def test_a_tally_in_a_fixtures_own_columns_is_read(mill):
    form = form_of(mill)
    values = {
        "line": 1, "number": "T7", "species": "white spruce", "length_mm": Decimal("6248.4"), "count": 1,
        "middle_mm": Decimal("304.8"), "tip_mm": Decimal("279.4"), "sawn_thickness_mm": Decimal("203.2"),
        "board_feet": Decimal(61), "volume_m3": Decimal("0.456"), "remarks": "sound",
    }  # fmt: skip
    columns = form.tally_columns
    out = io.StringIO()
    writer = csv.writer(out, delimiter=form.delimiter)
    writer.writerow([column.heading for column in columns])
    writer.writerow([write_cell(values[column.field], column, form.marks).text for column in columns])

    reading = read_tally(out.getvalue().encode(), form, known_lines=[1], taper_mm_per_m=10)

    assert reading.faults == ()
    row = reading.rows[0]
    assert abs(row.length_mm - Decimal("6248.4")) < 5
    assert abs(row.middle_mm - Decimal("304.8")) < 1
