"""An order with its figures as a workbook, whose amounts and totals are formulas that add up."""

from collections.abc import Sequence

from inventory.core.form_cells import UNIT_WORDS
from inventory.core.measure import THICKNESS_UNIT, Unit
from inventory.core.order import ClassLine, PriceBy, Quantities, paid_quantity
from inventory.core.workbook import Product, Table, Value, in_unit, write_table

_PAID = {
    PriceBy.BOARD_FOOT: "board feet",
    PriceBy.LINEAR_FOOT: "running ft",
    PriceBy.PIECE: "logs",
    PriceBy.CUBIC_METRE: "m³",
}


def order_as_workbook(
    lines: Sequence[ClassLine], parts: Sequence[Quantities], *, price_by: PriceBy, currency: str, unit: Unit
) -> bytes:
    """A row for each line; a sum stands only under figures that every line has, as in the order's figures."""
    along, across = UNIT_WORDS[unit], UNIT_WORDS[THICKNESS_UNIT[unit]]
    price, amount = f"price, {currency} by {_PAID[price_by]}", f"amount, {currency}"
    headings = (
        "line", "species", f"length ({along})", f"least middle ({across})", f"largest middle ({across})",
        "logs", "board feet", "m³", "running m", "running ft", price, amount, "note",
    )  # fmt: skip
    sums = ["logs", "m³", "running m", "running ft"]
    if all(part.board_feet is not None for part in parts):
        sums.append("board feet")
    paid = [
        line.price is not None and paid_quantity(part, price_by) is not None
        for line, part in zip(lines, parts, strict=True)
    ]
    if all(paid):
        sums.append(amount)
    rows: list[list[Value | Product]] = [
        [
            line.line,
            line.species,
            in_unit(line.length_mm, unit),
            in_unit(line.least_middle_mm, THICKNESS_UNIT[unit]),
            in_unit(line.largest_middle_mm, THICKNESS_UNIT[unit]),
            part.pieces,
            part.board_feet,
            part.volume_m3,
            part.linear_m,
            part.linear_ft,
            line.price,
            Product(one=price, other=_PAID[price_by]) if is_paid else None,
            line.note,
        ]
        for line, part, is_paid in zip(lines, parts, paid, strict=True)
    ]
    return write_table(Table(title="order", headings=headings, sums=tuple(sums)), rows)
