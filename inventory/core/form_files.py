"""A filled form as files a mill opens: CSV, a workbook, a sheet to print. No cell runs as a formula."""

import csv
import io
import json
from pathlib import Path

import openpyxl
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from inventory.core.chart_cells import marked
from inventory.core.form_cells import Cell
from inventory.core.form_rows import FilledForm
from inventory.core.printed.typesetter import typeset
from inventory.core.workbook import put_text

_SHEET = Path(__file__).with_name("form_sheet.typ")
_WIDEST = 40


def form_as_csv(filled: FilledForm, *, delimiter: str) -> str:
    """The form as CSV: lines above, headings, rows, lines below; what looks like a formula is text."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=delimiter)
    for row in _all_rows(filled):
        writer.writerow([_safe(cell) for cell in row])
    return out.getvalue()


def form_as_workbook(filled: FilledForm) -> bytes:
    """The form as an XLSX workbook: plain numbers as numbers, everything else as text."""
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.title = "order"
    bold = Font(bold=True)
    heading_row = len(filled.above) + 1
    for at, row in enumerate(_all_rows(filled), start=1):
        for column, cell in enumerate(row, start=1):
            place = sheet.cell(row=at, column=column)
            if cell.number is not None:
                place.value = cell.number
                place.number_format = f"0.{'0' * cell.decimals}" if cell.decimals else "0"
            else:
                put_text(place, cell.text)
            if at == heading_row:
                place.font = bold
    for column, heading in enumerate(filled.headings, start=1):
        widest = max([len(heading), *(len(row[column - 1].text) for row in filled.rows)])
        sheet.column_dimensions[get_column_letter(column)].width = min(widest + 2, _WIDEST)
    sheet.freeze_panes = sheet.cell(row=heading_row + 1, column=1)
    book.properties.creator = "roundlay"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def form_as_pdf(filled: FilledForm) -> bytes:
    """The form as a sheet to print. The texts go in as data, so that nothing in them is read as markup."""
    data = {
        "title": filled.title,
        "above": [[cell.text for cell in row] for row in filled.above],
        "headings": list(filled.headings),
        "numbers": [
            any(row[i].number is not None for row in filled.rows) for i in range(len(filled.headings))
        ],
        "rows": [[cell.text for cell in row] for row in filled.rows],
        "below": [[cell.text for cell in row] for row in filled.below],
    }
    return typeset(_SHEET, {"form": json.dumps(data)}, system_fonts=False)


def _all_rows(filled: FilledForm) -> list[tuple[Cell, ...]]:
    headings = tuple(Cell(text=heading) for heading in filled.headings)
    return [*filled.above, headings, *filled.rows, *filled.below]


def _safe(cell: Cell) -> str:
    return cell.text if cell.number is not None else marked(cell.text)
