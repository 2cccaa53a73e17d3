"""Reads of orders."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.accounts.versioned_rows import one_of
from inventory.core.basis import Basis
from inventory.core.measure import Unit
from inventory.core.order import (
    Quantities,
    amount_of,
    nominal_basis,
    paid_quantity,
    quantities_of_line,
    sum_of,
    total_of,
    written_money,
)
from inventory.core.trucking import TRUCK_CAUTIONS, Load, load_of_line, load_of_lines, truckloads
from inventory.orders.models import Order, OrderEvent, OrderLine
from inventory.orders.parts import lines_of, terms_of, woods_of

_KEPT = ["version", "created_at", "changed_at"]

_ORDER = ["id", "mill", "name", "currency", "price_by", "wanted_on", "remarks", "state", "sent_on", *_KEPT]

LINE_FIELDS = [
    "id",
    "line",
    "species",
    "length_mm",
    "least_middle_mm",
    "largest_middle_mm",
    "sawn_thickness_mm",
    "count",
    "price",
    "note",
    "confirmed_at",
]

_EVENT = ["id", "step", "what", "state_before", "state_after", "detail", "created_at", "member", "mill_key"]


def orders_of(crew: Crew) -> QuerySet[Order, dict[str, Any]]:
    return Order.objects.of(crew).values(*_ORDER, mill_name=F("mill__name"), form_version=F("form__version"))


def order_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(orders_of(crew), id)


def lines_of_order(crew: Crew, order: UUID) -> dict[str, Any]:
    """The lines of an order, and the version that a change of them names. Raises NotFound."""
    held = row_or_not_found(Order.objects.of(crew).values("id", "version"), order)
    return {"items": line_rows(order), "version": held["version"]}


def line_rows(order: UUID) -> list[dict[str, Any]]:
    """The lines of an order in their order, prices as exact texts."""
    rows = OrderLine.objects.filter(order=order).order_by("line").values(*LINE_FIELDS)
    return [{**row, "price": written_money(row["price"])} for row in rows]


def history_of(crew: Crew, order: UUID) -> QuerySet[OrderEvent, dict[str, Any]]:
    """What became of an order, who did it and when."""
    row_or_not_found(Order.objects.of(crew).values("id"), order)
    names = {"member_name": F("member__name"), "mill_key_name": F("mill_key__name")}
    return OrderEvent.objects.of(crew).filter(order=order).values(*_EVENT, **names)


def figures_of(crew: Crew, order: UUID, *, payload_kg: float | None) -> dict[str, Any]:
    """Volume, weight, truckloads and money of an order, by line and in total, on the order's terms."""
    held = one_of(Order, crew=crew, id=order)
    terms = terms_of(held)
    lines = lines_of(held, terms)
    woods = woods_of(crew, (line.species for line in lines))
    parts = [quantities_of_line(line, terms) for line in lines]
    amounts = [
        amount_of(line.price, paid_quantity(part, terms.price_by))
        for line, part in zip(lines, parts, strict=True)
    ]
    load, unknown = load_of_lines(lines, terms=terms, woods=woods)
    loads = [
        load_of_line(line, terms=terms, wood=woods[line.species]) if line.species in woods else None
        for line in lines
    ]
    cautions = [f"No figures are kept for {name}: its weight is not known." for name in unknown]
    return {
        "currency": held.currency,
        "price_by": held.price_by,
        "lines": [
            {"line": line.line, "price": written_money(line.price), **_figures(part, amount, weight)}
            for line, part, amount, weight in zip(lines, parts, amounts, loads, strict=True)
        ],
        "total": _figures(sum_of(parts), total_of(amounts), load),
        "truckloads": _loads(load, payload_kg),
        "basis": basis_row(nominal_basis(terms)),
        "cautions": [*cautions, *(TRUCK_CAUTIONS if lines else ())],
    }


def figures_workbook(crew: Crew, order: UUID) -> bytes:
    """The lines with their figures as a workbook. Raises NotFound, LineOrdersNoLog."""
    from inventory.core.order_workbook import order_as_workbook

    held = one_of(Order, crew=crew, id=order)
    terms = terms_of(held)
    lines = lines_of(held, terms)
    parts = [quantities_of_line(line, terms) for line in lines]
    return order_as_workbook(
        lines, parts, price_by=terms.price_by, currency=held.currency, unit=Unit(crew.length_unit)
    )


def _figures(part: Quantities, amount: Any, load: Load | None) -> dict[str, Any]:
    return {
        "count": part.pieces,
        "board_feet": part.board_feet,
        "volume_m3": part.volume_m3,
        "linear_m": part.linear_m,
        "linear_ft": part.linear_ft,
        "amount": written_money(amount),
        "low_kg": None if load is None else round(load.low_kg, 1),
        "high_kg": None if load is None else round(load.high_kg, 1),
        "why_no_board_feet": part.why_not,
    }


def _loads(load: Load | None, payload_kg: float | None) -> dict[str, Any] | None:
    if load is None or payload_kg is None:
        return None
    found = truckloads(load, payload_kg=payload_kg)
    return {"payload_kg": found.payload_kg, "fewest": found.fewest, "most": found.most}


def basis_row(basis: Basis) -> Mapping[str, str]:
    return {"rule": basis.rule, "source": basis.source, "assumption": basis.assumption}
