"""A take-off as a workbook: what is short and what is to be ordered are formulas, and so are the totals."""

from collections.abc import Iterable, Mapping
from typing import Any

from inventory.core.form_cells import UNIT_WORDS
from inventory.core.measure import THICKNESS_UNIT, Unit
from inventory.core.workbook import Balance, Table, in_unit, write_table

_SUMS = ("logs", "spare", "covered", "spare covered", "short", "to order")
_SHORT = Balance(plus=("logs",), minus=("covered",))
_TO_ORDER = Balance(plus=("logs", "spare"), minus=("covered", "spare covered"))


def takeoff_as_workbook(lines: Iterable[Mapping[str, Any]], *, unit: Unit) -> bytes:
    """`lines` as the take-off's answer has them, a row for each class of logs."""
    along, across = UNIT_WORDS[unit], UNIT_WORDS[THICKNESS_UNIT[unit]]
    headings = (
        "species", f"length ({along})", f"least middle ({across})", f"largest middle ({across})",
        *_SUMS, "for",
    )  # fmt: skip
    rows = (
        [
            line["species"],
            in_unit(line["length_mm"], unit),
            in_unit(line["least_middle_mm"], THICKNESS_UNIT[unit]),
            in_unit(line["largest_middle_mm"], THICKNESS_UNIT[unit]),
            line["count"],
            line["spare"],
            line["covered"],
            line["spare_covered"],
            _SHORT,
            _TO_ORDER,
            line["note"],
        ]
        for line in lines
    )
    return write_table(Table(title="take-off", headings=headings, sums=_SUMS), rows)
