"""An order in a mill's own form: the cells of every line, in the mill's columns, order and units."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.core.form import Form, FormColumn, FormLine
from inventory.core.form_cells import Cell, one_line, read_cell, write_cell, write_number
from inventory.core.form_fields import FIELDS, HEADER_FIELDS, USUAL_DECIMALS, Kind
from inventory.core.measure import STORED_PLACES
from inventory.core.order import (
    CENT,
    ClassLine,
    Quantities,
    Terms,
    amount_of,
    nominal_profile,
    paid_quantity,
    quantities_of_line,
    rounded,
    sum_of,
    total_of,
)
from inventory.core.profile import diameter_mm_at

Values = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderSheet:
    """An order as it goes on paper; dates are texts as they are to be written."""

    order: str
    crew: str
    mill: str
    order_date: str
    wanted_on: str
    remarks: str
    currency: str
    terms: Terms
    lines: tuple[ClassLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledForm:
    """A form with an order in it; every row has a cell for each heading.

    `rounded` are the headings under which some length is not shown exactly: the mill reads another one there.
    """

    title: str
    above: tuple[tuple[Cell, ...], ...]
    headings: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    below: tuple[tuple[Cell, ...], ...]
    rounded: tuple[str, ...]


def fill_form(form: Form, sheet: OrderSheet) -> FilledForm:
    """The order in the mill's form. Raises BadOrder for a line that no log follows from."""
    rows = [row for line in sheet.lines for row in _rows_of(line, form=form, terms=sheet.terms)]
    if form.merge_equal:
        rows = _merged(rows, form)
    rows.sort(key=lambda row: tuple(_sort_key(row[name]) for name in form.sort_by))
    if form.line_per_log:
        rows = [{**row, "number": str(index)} for index, row in enumerate(rows, start=1)]
    header = _header_of(sheet)
    return FilledForm(
        title=form.title,
        above=tuple(_line(one, header, form) for one in form.above),
        headings=tuple(one_line(column.heading) for column in form.order_columns),
        rows=tuple(tuple(_cell(column, row, form) for column in form.order_columns) for row in rows),
        below=tuple(_line(one, header, form) for one in form.below),
        rounded=tuple(column.heading for column in form.order_columns if _is_rounded(column, rows, form)),
    )


def _is_rounded(column: FormColumn, rows: list[Values], form: Form) -> bool:
    """Whether some length in this column is read back as another one."""
    if not column.field or FIELDS[column.field].kind not in (Kind.ALONG, Kind.ACROSS):
        return False
    lengths = {row[column.field] for row in rows} - {None}
    return any(
        rounded(read_cell(write_cell(mm, column, form.marks).text, column, form.marks), STORED_PLACES)
        != rounded(mm, STORED_PLACES)
        for mm in lengths
    )


def _cell(column: FormColumn, row: Values, form: Form) -> Cell:
    if not column.field:
        return Cell(text=one_line(column.text))
    return write_cell(row[column.field], column, form.marks)


def _rows_of(line: ClassLine, *, form: Form, terms: Terms) -> Iterator[Values]:
    """The values of a line: one row, or one for each of its logs. A line's cents are shared out exactly."""
    quantities = quantities_of_line(line, terms)
    amount = amount_of(line.price, paid_quantity(quantities, terms.price_by))
    tip = nominal_profile(
        length_mm=line.length_mm,
        middle_mm=line.least_middle_mm,
        taper_mm_per_m=terms.taper_mm_per_m,
        sawn_thickness_mm=line.sawn_thickness_mm,
    )
    values: Values = {
        "line": line.line,
        "number": None,
        "species": line.species,
        "length_mm": line.length_mm,
        "least_middle_mm": line.least_middle_mm,
        "largest_middle_mm": line.largest_middle_mm,
        "middle_mm": line.middle_mm,
        "least_tip_mm": Decimal(repr(diameter_mm_at(tip, tip.length_mm))),
        "sawn_thickness_mm": line.sawn_thickness_mm,
        "price": line.price,
        "note": line.note,
    }
    if not form.line_per_log:
        yield {**values, **_adding(quantities, amount)}
        return
    one = quantities_of_line(_single(line), terms)
    for index in range(line.count):
        yield {**values, **_adding(one, _share(amount, index, line.count))}


def _single(line: ClassLine) -> ClassLine:
    return ClassLine(
        line=line.line,
        species=line.species,
        length_mm=line.length_mm,
        least_middle_mm=line.least_middle_mm,
        largest_middle_mm=line.largest_middle_mm,
        count=1,
        sawn_thickness_mm=line.sawn_thickness_mm,
        price=line.price,
        note=line.note,
    )


def _share(amount: Decimal | None, index: int, count: int) -> Decimal | None:
    """The part of log `index`: what has come together with it, less what had before; the parts add up."""
    if amount is None:
        return None
    return rounded(amount * (index + 1) / count, CENT) - rounded(amount * index / count, CENT)


def _adding(quantities: Quantities, amount: Decimal | None) -> Values:
    return {
        "count": quantities.pieces,
        "board_feet": quantities.board_feet,
        "volume_m3": quantities.volume_m3,
        "linear_m": quantities.linear_m,
        "linear_ft": quantities.linear_ft,
        "amount": amount,
    }


def _merged(rows: list[Values], form: Form) -> list[Values]:
    """Rows that read alike in every column which does not add up, counted together."""
    kept: dict[tuple[str, ...], Values] = {}
    told = [column for column in form.order_columns if column.field and not FIELDS[column.field].adds_up]
    adding = [name for name, field in FIELDS.items() if field.adds_up]
    for row in rows:
        key = tuple(write_cell(row[column.field], column, form.marks).text for column in told)
        if (before := kept.get(key)) is None:
            kept[key] = dict(row)
            continue
        for name in adding:
            both = (before[name], row[name])
            before[name] = None if None in both else both[0] + both[1]
    return list(kept.values())


def _sort_key(value: Any) -> tuple[bool, Any]:
    """What is not said comes last."""
    if value is None:
        return True, 0
    return False, value.casefold() if isinstance(value, str) else value


def _header_of(sheet: OrderSheet) -> Values:
    parts = [quantities_of_line(line, sheet.terms) for line in sheet.lines]
    amounts = [
        amount_of(line.price, paid_quantity(part, sheet.terms.price_by))
        for line, part in zip(sheet.lines, parts, strict=True)
    ]
    total = sum_of(parts)
    return {
        "order": sheet.order,
        "crew": sheet.crew,
        "mill": sheet.mill,
        "order_date": sheet.order_date,
        "wanted_on": sheet.wanted_on,
        "remarks": sheet.remarks,
        "currency": sheet.currency,
        "total_count": Decimal(total.pieces),
        "total_board_feet": total.board_feet,
        "total_volume_m3": total.volume_m3,
        "total_linear_m": total.linear_m,
        "total_linear_ft": total.linear_ft,
        "total_amount": total_of(amounts),
    }


def _line(line: FormLine, header: Mapping[str, Any], form: Form) -> tuple[Cell, ...]:
    if not line.field:
        return (Cell(text=one_line(line.text)),)
    value = header[line.field]
    if value is None:
        cell = Cell(text="")
    elif HEADER_FIELDS[line.field] is Kind.TEXT:
        cell = Cell(text=one_line(str(value)))
    else:
        decimals = USUAL_DECIMALS.get(line.field.removeprefix("total_"), 0)
        cell = write_number(value, decimals=decimals, marks=form.marks)
    return (Cell(text=one_line(line.label)), cell)
