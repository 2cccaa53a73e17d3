"""A table as a sheet of a workbook (XLSX): numbers as numbers, sums as formulas, texts never as formulas.

Loaded by those who are asked for a workbook: the library takes a while.
"""

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import openpyxl
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from inventory.core.chart_cells import marked
from inventory.core.measure import MM_PER, Unit

_EXACT_IN = {Unit.MM: 5, Unit.CM: 6, Unit.M: 8, Unit.IN: 6, Unit.FT_IN: 7}
_WIDEST, _FIRST_ROW = 40, 2
Value = str | bool | int | float | Decimal | date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A cell that is one column's number times another's, rounded to the cent; columns by their heading."""

    one: str
    other: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """A cell that is some columns' numbers less those of others."""

    plus: tuple[str, ...]
    minus: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Headings and rows; under the columns named in `sums` stands the sum of what is over it."""

    title: str
    headings: tuple[str, ...]
    sums: tuple[str, ...] = ()


def in_unit(mm: Decimal | float | None, unit: Unit) -> Decimal | None:
    """A length as a plain number in a unit (of feet and inches: feet), as exactly as lengths are kept."""
    if mm is None:
        return None
    return round(Decimal(str(mm)) / MM_PER[unit], _EXACT_IN[unit]).normalize()


def write_table(table: Table, rows: Iterable[Sequence[Value | Product | Balance]]) -> bytes:
    """The table as a workbook of one sheet."""
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet(table.title)
    sheet.freeze_panes = "A2"
    for number, heading in enumerate(table.headings, start=1):
        sheet.column_dimensions[get_column_letter(number)].width = min(len(heading) + 6, _WIDEST)
    letters = {heading: get_column_letter(n) for n, heading in enumerate(table.headings, start=1)}
    sheet.append([_bold(sheet, heading) for heading in table.headings])
    last = _FIRST_ROW - 1
    for row in rows:
        last += 1
        sheet.append([_cell(sheet, value, letters, last) for value in row])
    if table.sums and last >= _FIRST_ROW:
        sheet.append(
            [_sum_under(sheet, heading, table, letters[heading], last) for heading in table.headings]
        )
    book.properties.creator = "roundlay"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def put_text(cell: Any, text: str) -> None:
    """Typed as a text, whatever it begins with; the apostrophe keeps it one when it is edited."""
    clean = ILLEGAL_CHARACTERS_RE.sub(" ", text)
    cell.value, cell.data_type = clean, "s"
    cell.quotePrefix = clean != marked(clean)


def _cell(sheet: Any, value: Value | Product | Balance, letters: dict[str, str], row: int) -> Any:
    cell = WriteOnlyCell(sheet)
    if isinstance(value, Product):
        cell.value = f"=ROUND({letters[value.one]}{row}*{letters[value.other]}{row},2)"
        cell.number_format = "0.00"
    elif isinstance(value, Balance):
        plus, minus = ([f"{letters[one]}{row}" for one in columns] for columns in (value.plus, value.minus))
        cell.value = "=" + "-".join(["+".join(plus), *minus])
    elif isinstance(value, bool):
        put_text(cell, "yes" if value else "no")
    elif isinstance(value, str):
        put_text(cell, value)
    else:
        cell.value = value
    return cell


def _sum_under(sheet: Any, heading: str, table: Table, letter: str, last: int) -> Any:
    if heading not in table.sums:
        return None
    cell = _bold(sheet, "")
    cell.value = f"=SUM({letter}{_FIRST_ROW}:{letter}{last})"
    return cell


def _bold(sheet: Any, text: str) -> Any:
    cell = WriteOnlyCell(sheet)
    put_text(cell, text)
    cell.font = Font(bold=True)
    return cell
