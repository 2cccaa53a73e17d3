"""A mill's tally, read in the mill's own columns: the form of the order in reverse.

Nothing of a tally with a fault is taken; every fault names its row, its column as headed and what was read.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Any

from inventory.core.chart_cells import BadCell, unmarked
from inventory.core.crew_units import IN_MM, CrewUnits
from inventory.core.finding import Finding
from inventory.core.form import Form, FormColumn, heading_key
from inventory.core.form_cells import read_cell
from inventory.core.order import MOST_LOGS
from inventory.core.tally_logs import TallyRow, faults_of_row
from inventory.core.tally_table import NoTable, records_of

HEADING_WITHIN = 60
LONGEST_READ = 60
DIAMETERS = ("butt_mm", "middle_mm", "tip_mm")


class FormReadsNoTally(ValueError):
    """The form has no columns from which a log could be measured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TallyReading:
    """The logs of a tally, to be taken only if there are no faults."""

    rows: tuple[TallyRow, ...]
    faults: tuple[Finding, ...]


def can_read_tally(form: Form) -> bool:
    """Whether the form's columns give a log's length and at least one of its diameters."""
    fields = {column.field for column in form.tally_columns}
    return "length_mm" in fields and bool(fields & set(DIAMETERS))


def read_tally(
    file: bytes,
    form: Form,
    *,
    known_lines: Collection[int],
    taper_mm_per_m: float,
    units: CrewUnits = IN_MM,
) -> TallyReading:
    """Reads a tally file, CSV or XLSX, by the form that its order went out in.

    Lines above the headings are passed over, and so is what follows the form's own lines below the table.
    Raises FormReadsNoTally; everything wrong with the file is a fault, told in `units`.
    """
    if not can_read_tally(form):
        raise FormReadsNoTally("the form needs columns for the length and for a diameter on the tally")
    try:
        records = records_of(file, delimiter=form.delimiter, decimal_mark=form.marks.decimal)
    except NoTable as bad:
        return TallyReading(rows=(), faults=(_whole(0, "unreadable_file", str(bad)),))
    head = _heading_row(records, form)
    if head is None:
        wanted = ", ".join(column.heading for column in form.tally_columns)
        wrong = f"no row has the headings of this mill's form: {wanted}"
        return TallyReading(rows=(), faults=(_whole(0, "no_headings", wrong),))
    reader = _Reader(form, records, head, known_lines=known_lines, taper_mm_per_m=taper_mm_per_m, units=units)
    return reader.reading()


def _whole(row: int, code: str, wrong: str, *, column: str = "", read: str = "") -> Finding:
    return Finding(pointer="", row=row, column=column, code=code, read=read[:LONGEST_READ], text=wrong)


def _heading_row(records: list[list[str]], form: Form) -> int | None:
    """The row that has most of the headings; None if no row has two of them, or the only one."""
    wanted = {heading_key(column.heading) for column in form.tally_columns}
    counts = [
        len(wanted & {heading_key(unmarked(cell)) for cell in record}) for record in records[:HEADING_WITHIN]
    ]
    best = max(counts, default=0)
    return counts.index(best) if best >= min(2, len(wanted)) else None


class _Reader:
    """Reads the rows below one row of headings."""

    def __init__(
        self,
        form: Form,
        records: list[list[str]],
        head: int,
        *,
        known_lines: Collection[int],
        taper_mm_per_m: float,
        units: CrewUnits,
    ) -> None:
        self.form, self.records, self.head = form, records, head
        self.known_lines, self.taper_mm_per_m = known_lines, taper_mm_per_m
        self.units = units
        self.faults: list[Finding] = []
        self.places = self._places()

    def reading(self) -> TallyReading:
        rows = [] if self.faults else [row for row in self._rows() if row]
        if not self.faults and not rows:
            self.faults.append(_whole(0, "no_logs", "there is no log below the headings"))
        if not self.faults:
            self.faults += self._twice(rows)
        if sum(row.count for row in rows) > MOST_LOGS:
            self.faults.append(_whole(0, "too_many", f"a delivery has at most {MOST_LOGS} logs"))
        return TallyReading(rows=() if self.faults else tuple(rows), faults=tuple(self.faults))

    def _places(self) -> list[tuple[int, FormColumn]]:
        """Where in the row each column of the form stands; a missing or doubled heading is a fault."""
        found = [heading_key(unmarked(cell)) for cell in self.records[self.head]]
        places = []
        for column in self.form.tally_columns:
            count = found.count(heading_key(column.heading))
            if count == 1:
                places.append((found.index(heading_key(column.heading)), column))
                continue
            code, wrong = ("missing_column", "the tally has not this column")
            if count:
                code, wrong = ("column_twice", "two columns have this heading")
            self.faults.append(_whole(self.head + 1, code, wrong, column=column.heading))
        return places

    def _rows(self) -> Iterator[TallyRow | None]:
        ends = {heading_key(one.text or one.label) for one in self.form.below} - {""}
        for at, record in enumerate(self.records[self.head + 1 :], start=self.head + 2):
            cells = [unmarked(cell) for cell in record]
            if not any(cells):
                continue
            if heading_key(cells[0]) in ends and not any(cells[2:]):
                return
            yield self._row(at, cells)

    def _row(self, at: int, cells: list[str]) -> TallyRow | None:
        values: dict[str, Any] = {}
        before = len(self.faults)
        for place, column in self.places:
            text = cells[place] if place < len(cells) else ""
            if not text:
                continue
            try:
                values[column.field] = read_cell(text, column, self.form.marks)
            except BadCell as bad:
                self._fault(at, column.field, "unreadable_value", text, str(bad))
        line = values.get("line")
        if line is not None and line not in self.known_lines:
            self._fault(at, "line", "unknown_line", str(line), "the order has no such line")
        if len(self.faults) > before:
            return None
        if "length_mm" not in values:
            self._fault(at, "length_mm", "missing_value", "", "the length is missing")
        if not values.keys() & set(DIAMETERS):
            here = next(column.field for _, column in self.places if column.field in DIAMETERS)
            self._fault(at, here, "missing_value", "", "a log needs a diameter")
        if len(self.faults) > before:
            return None
        count = values.pop("count", 1)
        row = TallyRow(row=at, count=count, **{**values, "number": values.get("number", "")})
        for finding in faults_of_row(row, taper_mm_per_m=self.taper_mm_per_m, units=self.units):
            self._fault(at, finding.field, str(finding.code), finding.read, finding.text)
        return row

    def _fault(self, at: int, field: str, code: str, read: str, wrong: str) -> None:
        """A fault under the heading of its field, or of the diameter that it was reckoned from."""
        headings = {column.field: column.heading for _, column in self.places}
        nearest = next((headings[name] for name in DIAMETERS if name in headings), "")
        heading = headings.get(field, nearest if field in DIAMETERS else "")
        self.faults.append(_whole(at, code, wrong, column=heading, read=read))

    def _twice(self, rows: list[TallyRow]) -> Iterator[Finding]:
        heading = next((one.heading for _, one in self.places if one.field == "number"), "")
        first: dict[str, int] = {}
        for row in rows:
            key = heading_key(row.number)
            if key and first.setdefault(key, row.row) != row.row:
                wrong = f"row {first[key]} has the same number"
                yield _whole(row.row, "number_twice", wrong, column=heading, read=row.number)
