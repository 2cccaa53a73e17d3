"""The table in a mill's tally file, CSV or workbook, as rows of texts."""

import csv
import io
import zipfile
from datetime import date, datetime, time
from itertools import islice

MOST_ROWS, MOST_CELLS = 5_000, 60
MOST_UNPACKED_BYTES = 50_000_000
# Five thousand rows of fifty cells; a tag of four bytes takes a hundred once it is read.
MOST_TAGS = 1_000_000
_PIECE_BYTES = 1 << 16
_ZIP = b"PK\x03\x04"


class NoTable(ValueError):
    """This file holds no table; the text says why."""


def records_of(file: bytes, *, delimiter: str, decimal_mark: str) -> list[list[str]]:
    """The rows of a CSV or XLSX file as texts, the first sheet of a workbook. Raises NoTable.

    A number in a workbook has no marks of its own; it gets the mill's.
    """
    records = _of_workbook(file, decimal_mark) if file.startswith(_ZIP) else _of_csv(file, delimiter)
    if len(records) > MOST_ROWS:
        raise NoTable(f"it has more than {MOST_ROWS} rows; send it in parts")
    return records


def _of_csv(file: bytes, delimiter: str) -> list[list[str]]:
    try:
        rows = csv.reader(io.StringIO(_decoded(file), newline=""), delimiter=delimiter)
        return [row[:MOST_CELLS] for row in islice(rows, MOST_ROWS + 1)]
    except csv.Error as bad:
        raise NoTable(f"it is no CSV: {bad}") from bad


def _decoded(file: bytes) -> str:
    utf_16 = file.startswith((b"\xff\xfe", b"\xfe\xff"))
    for encoding in ("utf-16",) if utf_16 else ("utf-8-sig", "cp1252"):
        try:
            text = file.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise NoTable("it is neither text nor a workbook; save it as CSV in UTF-8 or as XLSX")


def _of_workbook(file: bytes, decimal_mark: str) -> list[list[str]]:
    import openpyxl  # only who reads a workbook pays for it

    try:
        with zipfile.ZipFile(io.BytesIO(file)) as parts:
            _refuse_swelling(parts)
        book = openpyxl.load_workbook(io.BytesIO(file), read_only=True, data_only=True)
        rows = book.worksheets[0].iter_rows(values_only=True, max_col=MOST_CELLS, max_row=MOST_ROWS + 1)
        return [[_text(cell, decimal_mark) for cell in row] for row in rows]
    except NoTable:
        raise
    except Exception as bad:  # openpyxl lets through whatever its parts raise on a broken file
        raise NoTable("the workbook cannot be read") from bad


def _refuse_swelling(parts: zipfile.ZipFile) -> None:
    """Refuse what would fill the memory once it is read."""
    size_bytes = tags = 0
    for part in parts.infolist():
        with parts.open(part) as packed:
            while piece := packed.read(_PIECE_BYTES):
                size_bytes, tags = size_bytes + len(piece), tags + piece.count(b"<")
                if size_bytes > MOST_UNPACKED_BYTES or tags > MOST_TAGS:
                    raise NoTable("unpacked it is larger than any tally")


def _text(cell: object, decimal_mark: str) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float):
        return repr(int(cell)) if cell.is_integer() else repr(cell).replace(".", decimal_mark)
    if isinstance(cell, datetime) and cell.time() == time():
        return cell.date().isoformat()
    if isinstance(cell, datetime | date):
        return cell.isoformat()
    return str(cell)
