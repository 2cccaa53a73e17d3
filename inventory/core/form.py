"""A mill's own form: which columns in which order, headed and written how.

`form_reading` makes one from a document and checks it; it fills an order's form (form_rows) and reads
the mill's tally in the same columns (tally).
"""

from dataclasses import dataclass, field

from inventory.core.form_fields import FIELDS, On
from inventory.core.measure import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """How numbers are written: the decimal mark, and what stands between thousands, if anything."""

    decimal: str = "."
    thousands: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FormColumn:
    """One column: a field of ours, or a fixed text in every row.

    Lengths are in `unit`, to a `fraction` of an inch or with `decimals`; `mark` writes the unit beside them.
    """

    heading: str
    field: str = ""
    text: str = ""
    on: On = On.BOTH
    unit: Unit | None = None
    fraction: int | None = None
    decimals: int | None = None
    mark: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FormLine:
    """A line above or below the table: a fixed text, or a label and something about the whole order."""

    text: str = ""
    label: str = ""
    field: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A mill's form. `sort_by` orders the rows; with `merge_equal` rows that read alike become one."""

    title: str
    columns: tuple[FormColumn, ...]
    line_per_log: bool = False
    sort_by: tuple[str, ...] = ()
    merge_equal: bool = False
    above: tuple[FormLine, ...] = ()
    below: tuple[FormLine, ...] = ()
    marks: Marks = field(default_factory=Marks)
    delimiter: str = ","

    @property
    def order_columns(self) -> tuple[FormColumn, ...]:
        return tuple(one for one in self.columns if one.on is not On.TALLY)

    @property
    def tally_columns(self) -> tuple[FormColumn, ...]:
        """The columns a tally is read by: those with a field of ours that a tally can have."""
        return tuple(
            one
            for one in self.columns
            if one.field and one.on is not On.ORDER and FIELDS[one.field].on is not On.ORDER
        )


def heading_key(text: str) -> str:
    """Headings with one key are one to a reader."""
    return " ".join(text.casefold().split())
