"""A chart, whole: CSV text as a crew types it from its notebook, to checked lines and back.

Nothing is stored here. A reading with faults has none of its lines stored; its doubts wait for someone to
confirm them.
"""

import csv
import io
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.core import chart_cells as cells
from inventory.core.chart_cells import BadCell, Units, unmarked
from inventory.core.chart_columns import COLUMNS, ChartColumn
from inventory.core.chart_line import (
    STATION_INSET_MM,
    ChartLine,
    Code,
    ReadAcross,
    StationName,
)
from inventory.core.chart_rules import doubts_of_line, faults_of_line
from inventory.core.chart_table import (
    LONGEST_READ,
    Head,
    NoChart,
    head_doubts,
    head_faults,
    open_chart,
    whole_file,
)
from inventory.core.crew_units import CrewUnits
from inventory.core.finding import Finding
from inventory.core.measure import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartReading:
    """What a chart said. `rows[i]` is the row of `lines[i]` in the file; `fields` are the columns it had.

    `lines` holds every line that could be read, also beside faults; store it only if `faults` is empty.
    """

    lines: tuple[ChartLine, ...]
    rows: tuple[int, ...]
    fields: tuple[str, ...]
    faults: tuple[Finding, ...]
    doubts: tuple[Finding, ...]


def read_chart(
    chart: str | bytes,
    *,
    unit: Unit,
    known_racks: Collection[str] | None = None,
    known_species: Collection[str] | None = None,
    default_rack: str | None = None,
    default_species: str | None = None,
    station_inset_mm: Decimal = STATION_INSET_MM,
) -> ChartReading:
    """Reads a whole chart; every fault and doubt is named with its row, its column and what was read there.

    Plain numbers are in `unit` (feet along and inches across for `ft_in`, metres and centimetres for `m`)
    unless the heading names one. Racks and species are found in any case of letters and come back as known;
    None: any name will do. A blank rack, species or station distance takes the default; where racks are known
    every log needs one. Raises nothing: what cannot be read is a fault.
    """
    try:
        records, head = open_chart(chart, unit=unit)
    except NoChart as bad:
        return ChartReading(lines=(), rows=(), fields=(), faults=(bad.finding,), doubts=())
    reader = _Reader(
        head=head,
        defaults={"rack": default_rack, "species": default_species, "station_inset_mm": station_inset_mm},
        known={"rack": _by_key(known_racks), "species": _by_key(known_species)},
        needed=frozenset({"rack"} if known_racks is not None and default_rack is None else ()),
    )
    faults = list(head_faults(head, needed=reader.needed))
    lines: dict[int, ChartLine] = {}
    if not faults:
        for row, record in enumerate(records[head.row :], start=head.row + 1):
            if any(cell.strip() for cell in record):
                line, found = reader.read(row, record)
                faults += found
                if line:
                    lines[row] = line
        faults += [
            f
            for row, line in lines.items()
            for f in _placed(head, row, faults_of_line(line, units=CrewUnits(unit=unit)))
        ]
        faults += _used_twice(head, lines)
        if not lines and not faults:
            faults.append(whole_file(Code.NO_LOGS, read="", wrong="there is no log below the headings"))
    faulty = {fault.row for fault in faults}
    doubts = list(head_doubts(head))
    for row, line in lines.items():
        if row not in faulty:
            doubts += _placed(head, row, doubts_of_line(line, units=CrewUnits(unit=unit)))
    return ChartReading(
        lines=tuple(lines.values()),
        rows=tuple(lines),
        fields=tuple(column.field for column in head.columns if column and column.is_read),
        faults=tuple(sorted(faults, key=lambda fault: fault.row)),
        doubts=tuple(doubts),
    )


def write_chart(lines: Iterable[ChartLine], *, unit: Unit, fraction: int = 8) -> str:
    """The chart as CSV with every length's unit written out; `read_chart` gives back exactly these lines.

    A length that `fraction` cannot show exactly is written finer, or in mm. No cell begins like a formula.
    """
    units = Units.of(unit, fraction=fraction)
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([column.heading for column in COLUMNS])
    for line in lines:
        values = [(column.kind, _value_of(line, column)) for column in COLUMNS]
        writer.writerow(["" if value is None else kind.write(value, units) for kind, value in values])
    return out.getvalue()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reader:
    """Reads one record after the other under the same headings."""

    head: Head
    defaults: dict[str, Any]
    known: dict[str, dict[str, str] | None]
    needed: frozenset[str]

    def read(self, row: int, record: list[str]) -> tuple[ChartLine | None, list[Finding]]:
        """The line of one record, or None with the faults of its cells."""
        values: dict[str, Any] = {field: value for field, value in self.defaults.items() if value is not None}
        findings: list[Finding] = []
        faults: list[Finding] = []
        width = len(self.head.columns)
        for column, units, raw in zip(
            self.head.columns, self.head.units, record[:width] + [""] * width, strict=False
        ):
            if column is None or not column.is_read:
                continue
            try:
                value = self._value(column, units, raw)
            except _Faulty as bad:
                findings.append(bad.finding)
            else:
                if value is not None:
                    values[column.field] = value
        if beyond := [cell for cell in record[width:] if cell.strip()]:
            wrong = "the row has more cells than headings; a comma inside a cell needs quotes around the cell"
            read = beyond[0][:LONGEST_READ]
            faults.append(
                Finding(row=row, column="", pointer="", code=Code.EXTRA_CELLS, read=read, text=wrong)
            )
        faults += _placed(self.head, row, findings)
        return (None if faults else ChartLine(**_with_means(values))), faults

    def _value(self, column: ChartColumn, units: Units, raw: str) -> Any:
        """What the cell says; None: blank, and the default of the line holds. Raises _Faulty."""
        read = raw.strip()[:LONGEST_READ]
        if not raw.strip():
            if column.required or column.field in self.needed:
                raise _Faulty(column, Code.MISSING_VALUE, read="", wrong=f"the {column.heading} is missing")
            return None
        if len(raw.splitlines()) > 1 and column.field != "remarks":
            wrong = "it runs over several lines; a quote opened here was not closed"
            raise _Faulty(column, Code.UNREADABLE_VALUE, read=read, wrong=wrong)
        try:
            value = column.kind.read(unmarked(raw), units)
        except BadCell as bad:
            raise _Faulty(column, Code.UNREADABLE_VALUE, read=read, wrong=str(bad)) from bad
        known = self.known.get(column.field)
        if known is None:
            return value
        if _key(value) not in known:
            code = Code.UNKNOWN_RACK if column.field == "rack" else Code.UNKNOWN_SPECIES
            wrong = f"there is no {column.heading} of this name; known: {', '.join(sorted(known.values()))}"
            raise _Faulty(column, code, read=read, wrong=wrong)
        return known[_key(value)]


def _value_of(line: ChartLine, column: ChartColumn) -> Any:
    """What a line says in a column; of a station all that was read there."""
    if column.kind is cells.TWICE:
        return line.readings_mm(StationName(column.field.removesuffix("_mm")))
    return getattr(line, column.field)


def _with_means(values: dict[str, Any]) -> dict[str, Any]:
    """A line's values with one diameter for each station, and beside them the stations read twice."""
    diameters, twice = {}, []
    for station in StationName:
        first, *across = values[f"{station}_mm"]
        diameters[f"{station}_mm"] = first
        if across:
            one = ReadAcross(station=station, first_mm=first, across_mm=across[0])
            diameters[f"{station}_mm"] = one.mean_mm
            twice.append(one)
    return {**values, **diameters, "read_across": tuple(twice)}


class _Faulty(Exception):
    """One cell that cannot be taken, with the finding that says so."""

    def __init__(self, column: ChartColumn, code: Code, *, read: str, wrong: str) -> None:
        super().__init__(wrong)
        self.finding = Finding(pointer=f"/{column.field}", code=code, read=read, text=wrong)


def _by_key(names: Collection[str] | None) -> dict[str, str] | None:
    return None if names is None else {_key(name): name for name in names}


def _key(name: str) -> str:
    return " ".join(name.casefold().split())


def _placed(head: Head, row: int, findings: Iterable[Finding]) -> list[Finding]:
    return [
        Finding(
            row=row,
            column=head.headed(one.field),
            pointer=f"/{one.field}",
            code=one.code,
            read=one.read,
            text=one.text,
        )
        for one in findings
    ]


def _used_twice(head: Head, lines: dict[int, ChartLine]) -> Iterator[Finding]:
    first: dict[str, int] = {}
    for row, line in lines.items():
        before = first.setdefault(_key(line.number), row)
        if before != row:
            wrong = f"row {before} has the same number"
            twice = Finding(pointer="/number", code=Code.NUMBER_TWICE, read=line.number, text=wrong)
            yield from _placed(head, row, [twice])
