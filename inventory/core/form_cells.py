"""One cell of a mill's form, written and read: both here, so that a cell reads back as it was written."""

import re
import unicodedata
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

from inventory.core.chart_cells import BadCell
from inventory.core.form import FormColumn, Marks
from inventory.core.form_fields import FIELDS, USUAL_DECIMALS, Kind
from inventory.core.measure import MM_PER, BadLength, Unit, parse_length, write_length

LONGEST_CELL = 200
MOST_IN_A_CELL = Decimal(1_000_000_000)
_USUAL_LENGTH_DECIMALS = {Unit.MM: 0, Unit.CM: 1, Unit.M: 2, Unit.IN: 2, Unit.FT_IN: 2}
UNIT_WORDS = {Unit.MM: "mm", Unit.CM: "cm", Unit.M: "m", Unit.IN: "in", Unit.FT_IN: "ft"}
_PLAIN_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A cell as text, and as a number with its decimals where it is a plain one (for a workbook)."""

    text: str
    number: Decimal | None = None
    decimals: int = 0


def write_cell(value: Any, column: FormColumn, marks: Marks) -> Cell:
    """The value of a field as this column writes it; None is blank."""
    if value is None:
        return Cell(text="")
    kind = FIELDS[column.field].kind
    if kind is Kind.TEXT:
        return Cell(text=one_line(str(value)))
    if kind in (Kind.ALONG, Kind.ACROSS):
        return _write_length(value, column, marks)
    decimals = USUAL_DECIMALS.get(column.field, 0) if column.decimals is None else column.decimals
    if column.field == "price":  # what is agreed must not be rounded on paper
        decimals = max(decimals, places_of(value))
    return write_number(Decimal(value), decimals=decimals, marks=marks)


def places_of(value: Decimal) -> int:
    """How many decimals a number needs."""
    exponent = value.normalize().as_tuple().exponent
    return max(-exponent, 0) if isinstance(exponent, int) else 0


def write_number(value: Decimal, *, decimals: int, marks: Marks) -> Cell:
    """A number rounded half up to so many decimals, with the form's marks."""
    kept = value.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
    return Cell(text=_marked(kept, marks), number=kept, decimals=decimals)


def one_line(text: str) -> str:
    """The text on one line without characters that cannot be seen, which end cells or steer readers."""
    return " ".join("".join(" " if unicodedata.category(c)[0] == "C" else c for c in text).split())


def _marked(value: Decimal, marks: Marks) -> str:
    whole, _, part = f"{value:f}".partition(".")
    if marks.thousands:
        whole = f"{int(whole):,}".replace(",", marks.thousands)
    return f"{whole}{marks.decimal}{part}" if part else whole


def _write_length(mm: Decimal, column: FormColumn, marks: Marks) -> Cell:
    unit = column.unit or Unit.MM
    if column.fraction:
        text = write_length(mm, unit=unit, fraction=column.fraction)
        return Cell(text=text if column.mark else text.rstrip('"'))
    decimals = _USUAL_LENGTH_DECIMALS[unit] if column.decimals is None else column.decimals
    cell = write_number(mm / MM_PER[unit], decimals=decimals, marks=marks)
    return Cell(text=f"{cell.text} {UNIT_WORDS[unit]}") if column.mark else cell


def read_cell(text: str, column: FormColumn, marks: Marks) -> Any:
    """What a cell of a tally says: mm as Decimal, a whole number, a Decimal or a text. Raises BadCell."""
    if len(text) > LONGEST_CELL:
        raise BadCell(f"it is longer than {LONGEST_CELL} characters")
    kind = FIELDS[column.field].kind
    if kind is Kind.TEXT:
        return one_line(text)
    plain = _with_point(text.strip(), marks)
    if kind in (Kind.ALONG, Kind.ACROSS):
        try:
            mm = parse_length(plain, default_unit=column.unit or Unit.MM)
        except BadLength as bad:
            raise BadCell(bad.reason) from bad
        if mm <= 0:
            raise BadCell("it is more than nothing")
        return mm
    return _read_number(plain, whole=kind is Kind.WHOLE)


def _with_point(text: str, marks: Marks) -> str:
    """The number with a point for its decimals and nothing between its thousands."""
    if marks.thousands:
        text = re.sub(rf"(?<=[0-9]){re.escape(marks.thousands)}(?=[0-9]{{3}}(?![0-9]))", "", text)
    other = "." if marks.decimal == "," else ","
    if re.search(rf"[0-9]{re.escape(other)}[0-9]", text):
        raise BadCell(f"this form writes decimals with {marks.decimal!r}")
    return text.replace(",", ".") if marks.decimal == "," else text


def _read_number(text: str, *, whole: bool) -> Decimal | int:
    if not _PLAIN_NUMBER.fullmatch(text):
        raise BadCell("expected a number")
    try:
        value = Decimal(text)
    except InvalidOperation as bad:  # digits of another script
        raise BadCell("expected a number") from bad
    if value > MOST_IN_A_CELL:
        raise BadCell("it is more than any tally has")
    if not whole:
        return value
    if value != value.to_integral_value() or value < 1:
        raise BadCell("expected a whole number, one or more")
    return int(value)
