"""Tables as workbooks, opened again by the library: numbers, texts that stay texts, formulas that add up."""

import io
import re
import subprocess
import sys
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

import openpyxl
import pytest

from inventory.core.measure import Unit
from inventory.core.workbook import Balance, Product, Table, in_unit, write_table


def opened(xlsx: bytes):
    return openpyxl.load_workbook(io.BytesIO(xlsx)).worksheets[0]


def reckoned(sheet, cell) -> Decimal:
    """What a spreadsheet shows in a cell: a number, or one of the three formulas that are written."""
    if cell.data_type != "f":
        return Decimal(str(cell.value))
    if times := re.fullmatch(r"=ROUND\(([A-Z]+\d+)\*([A-Z]+\d+),2\)", cell.value):
        one, other = (reckoned(sheet, sheet[name]) for name in times.groups())
        return (one * other).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
    if re.fullmatch(r"=[A-Z]+\d+([+-][A-Z]+\d+)+", cell.value):
        terms = re.findall(r"([=+-])([A-Z]+\d+)", cell.value)
        return sum((-1 if sign == "-" else 1) * reckoned(sheet, sheet[name]) for sign, name in terms)
    column, first, last = re.fullmatch(r"=SUM\(([A-Z]+)(\d+):\1(\d+)\)", cell.value).groups()
    over = [sheet[f"{column}{row}"] for row in range(int(first), int(last) + 1)]
    return sum((reckoned(sheet, one) for one in over if one.value is not None), Decimal(0))


def test_numbers_days_and_texts_are_kept_as_what_they_are():
    table = Table(title="t", headings=("a", "b", "c", "d", "e"))

    sheet = opened(write_table(table, [["x", Decimal("12.5"), date(2026, 5, 1), None, True]]))

    cells = list(sheet[2])
    assert [one.data_type for one in cells] == ["s", "n", "d", "n", "s"]
    assert (cells[0].value, cells[1].value, cells[2].value.date()) == ("x", 12.5, date(2026, 5, 1))
    assert (cells[3].value, cells[4].value) == (None, "yes")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "=SUM(A1:A9)", " =1", "a\x07b", "'quoted"])
def test_no_text_is_a_formula(text):
    sheet = opened(write_table(Table(title="t", headings=(text,), sums=()), [[text]]))

    for cell in (sheet["A1"], sheet["A2"]):
        assert cell.data_type == "s"
        assert cell.value == text.replace("\x07", " ")
        assert bool(cell.quotePrefix) == text.startswith(("=", "+", "-", "@", " ", "'"))


def test_products_and_sums_add_up():
    table = Table(title="t", headings=("logs", "price", "amount"), sums=("logs", "amount"))
    rows = [[3, Decimal("1.005"), Product(one="logs", other="price")], [2, Decimal("10"), None]]
    rows[1][2] = Product(one="price", other="logs")

    sheet = opened(write_table(table, rows))

    assert reckoned(sheet, sheet["C2"]) == Decimal("3.02")
    assert reckoned(sheet, sheet["C4"]) == Decimal("23.02")
    assert reckoned(sheet, sheet["A4"]) == 5
    assert sheet["B4"].value is None


def test_a_balance_is_what_is_left():
    left = Balance(plus=("a", "b"), minus=("c",))
    sheet = opened(write_table(Table(title="t", headings=("a", "b", "c", "left")), [[7, 2, 4, left]]))
    assert reckoned(sheet, sheet["D2"]) == 5


def test_without_rows_there_is_nothing_to_sum():
    sheet = opened(write_table(Table(title="t", headings=("a",), sums=("a",)), []))
    assert sheet.max_row == 1


@pytest.mark.parametrize("unit", Unit)
def test_a_length_in_any_unit_is_exact_to_what_is_kept(unit):
    per = {Unit.MM: 1, Unit.CM: 10, Unit.M: 1000, Unit.IN: Decimal("25.4"), Unit.FT_IN: Decimal("304.8")}
    for mm in ("0.79375", "312.737", "6096", "500000"):
        assert in_unit(Decimal(mm), unit) * per[unit] == pytest.approx(Decimal(mm), abs=Decimal("0.0001"))


def test_a_process_loads_the_library_only_when_a_workbook_is_asked_for():
    code = "import sys, django; from django.conf import settings; django.setup()\n"
    code += "import inventory.urls, planning.urls; sys.exit('openpyxl' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], check=False, timeout=120)
    assert done.returncode == 0
