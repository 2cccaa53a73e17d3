"""A chart as a workbook: the columns of the CSV, lengths and diameters as numbers."""

from collections.abc import Iterable, Sequence

from inventory.core import chart_cells as cells
from inventory.core.chart_cells import Units
from inventory.core.chart_columns import COLUMNS, ChartColumn
from inventory.core.chart_line import ChartLine
from inventory.core.form_cells import UNIT_WORDS
from inventory.core.measure import Unit
from inventory.core.workbook import Table, Value, in_unit, write_table


def chart_as_workbook(lines: Iterable[ChartLine], *, unit: Unit) -> bytes:
    """The chart; units stand in the headings, a diameter read twice is the mean of both."""
    units = Units.of(unit)
    table = Table(title="chart", headings=tuple(_heading(column, units) for column in COLUMNS))
    return write_table(table, (_row(line, units) for line in lines))


def _heading(column: ChartColumn, units: Units) -> str:
    unit = _unit_of(column, units)
    return column.heading if unit is None else f"{column.heading} ({UNIT_WORDS[unit]})"


def _unit_of(column: ChartColumn, units: Units) -> Unit | None:
    if column.kind is cells.ALONG:
        return units.along
    return units.across if column.kind in (cells.ACROSS, cells.TWICE) else None


def _row(line: ChartLine, units: Units) -> Sequence[Value]:
    return [_value(getattr(line, column.field), column, units) for column in COLUMNS]


def _value(value: object, column: ChartColumn, units: Units) -> Value:
    unit = _unit_of(column, units)
    if value is None:
        return None
    if unit is not None:
        return in_unit(value, unit)  # type: ignore[arg-type]  # a length, by its column's kind
    if column.kind is cells.DAY:
        return value  # type: ignore[return-value]  # a date, by its column's kind
    return column.kind.write(value, units) if column.kind not in _TEXTS else str(value)


_TEXTS = (cells.NAME, cells.TEXT)  # not with the apostrophe that a CSV needs
