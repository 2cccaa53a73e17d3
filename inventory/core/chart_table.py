"""The table in a chart file: its letters, its delimiter and the row of headings."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from inventory.core.chart_cells import Units
from inventory.core.chart_columns import COLUMNS, ChartColumn, column_headed
from inventory.core.chart_line import Code
from inventory.core.finding import Finding
from inventory.core.measure import Unit

DELIMITERS = (",", ";", "\t")
MOST_ROWS = 20_000
MOST_CELLS = 300  # in a row; a chart has some thirty columns
HEADING_WITHIN = 10  # a title and a date may stand above the headings
FEWEST_HEADINGS = 3
LONGEST_READ = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The heading row: where it stands, each cell as typed, the column it means and its units."""

    row: int
    headings: list[str]
    columns: list[ChartColumn | None]
    units: list[Units]

    def headed(self, field: str) -> str:
        """The heading a field has in this file, or the one we would write."""
        for heading, column in zip(self.headings, self.columns, strict=True):
            if column and column.field == field:
                return heading
        return next((column.heading for column in COLUMNS if column.field == field), "")


class NoChart(ValueError):
    """Nothing in this file can be read as a chart."""

    def __init__(self, code: Code, *, read: str, wrong: str) -> None:
        super().__init__(wrong)
        self.finding = whole_file(code, read=read, wrong=wrong)


def whole_file(code: Code, *, read: str, wrong: str) -> Finding:
    """A finding about the file, not about one of its cells."""
    return Finding(row=0, column="", pointer="", code=code, read=read[:LONGEST_READ], text=wrong)


def open_chart(chart: str | bytes, *, unit: Unit) -> tuple[list[list[str]], Head]:
    """The records of the file with the delimiter under which headings are known, and its heading row.

    Raises NoChart.
    """
    text = _decoded(chart) if isinstance(chart, bytes) else chart.removeprefix("\ufeff")
    for delimiter in DELIMITERS:
        try:
            records = _records(text, delimiter)
        except csv.Error:  # a cell without end: not the delimiter of this file, if it is a table at all
            continue
        if head := _head_of(records, unit=unit):
            return records, head
    required = ", ".join(column.heading for column in COLUMNS if column.required)
    first = next(iter(text.strip().splitlines()), "")
    raise NoChart(Code.MISSING_COLUMN, read=first, wrong=f"no row of headings was found; needed: {required}")


def _decoded(chart: bytes) -> str:
    """Text of a file as spreadsheets save it: UTF-8 or UTF-16 with their marks, or the Windows letters."""
    utf_16 = chart.startswith((b"\xff\xfe", b"\xfe\xff"))
    for encoding in ("utf-16",) if utf_16 else ("utf-8-sig", "cp1252"):
        try:
            return chart.decode(encoding)
        except UnicodeDecodeError:
            continue
    wrong = "the file is no text; save it as CSV in UTF-8"
    raise NoChart(Code.UNREADABLE_FILE, read=repr(chart[:20]), wrong=wrong)


def _records(text: str, delimiter: str) -> list[list[str]]:
    records: list[list[str]] = []
    for record in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
        if len(record) > MOST_CELLS:
            wrong = f"row {len(records) + 1} has more than {MOST_CELLS} cells"
            raise NoChart(Code.UNREADABLE_FILE, read="", wrong=wrong)
        if len(records) == MOST_ROWS:
            wrong = f"it has more than {MOST_ROWS} rows; send it in parts"
            raise NoChart(Code.UNREADABLE_FILE, read="", wrong=wrong)
        records.append(record)
    return records


def _head_of(records: list[list[str]], *, unit: Unit) -> Head | None:
    for row, record in enumerate(records[:HEADING_WITHIN], start=1):
        found = [column_headed(heading) for heading in record]
        if sum(column is not None for column, _ in found) >= FEWEST_HEADINGS:
            return Head(
                row=row,
                headings=[heading.strip() for heading in record],
                columns=[column for column, _ in found],
                units=[Units(along=named, across=named) if named else Units.of(unit) for _, named in found],
            )
    return None


def head_faults(head: Head, *, needed: frozenset[str]) -> Iterator[Finding]:
    """Columns that a chart needs and this one lacks, and columns that are there twice."""
    fields = [column.field for column in head.columns if column]
    for column in COLUMNS:
        if (column.required or column.field in needed) and column.field not in fields:
            yield Finding(
                row=head.row,
                column=column.heading,
                pointer=f"/{column.field}",
                code=Code.MISSING_COLUMN,
                read=", ".join(head.headings)[:LONGEST_READ],
                text=f"the chart has no column for the {column.heading}",
            )
    for index, column_there in enumerate(head.columns):
        if column_there and column_there.field in [c.field for c in head.columns[:index] if c]:
            yield Finding(
                row=head.row,
                column=head.headings[index],
                pointer=f"/{column_there.field}",
                code=Code.COLUMN_TWICE,
                read=head.headings[index],
                text=f"two columns give the {column_there.heading}",
            )


def head_doubts(head: Head) -> Iterator[Finding]:
    """Columns that no chart has, in case one is only misspelled."""
    for heading, column in zip(head.headings, head.columns, strict=True):
        if heading and column is None:
            yield Finding(
                row=head.row,
                column=heading,
                pointer="",
                code=Code.COLUMN_NOT_READ,
                read=heading[:LONGEST_READ],
                text="no column of a chart is called so, and it was not read",
            )
