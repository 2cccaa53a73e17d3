"""An order in its mill's own form: as rows, and as the files that go out."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from crews.accounts.models import Crew
from crews.accounts.versioned_rows import one_of
from crews.api.files import WORKBOOK
from crews.api.problems import NotFound, Refusal
from inventory.core.form import Form
from inventory.core.form_cells import Cell
from inventory.core.form_fields import FIELDS, HEADER_FIELDS
from inventory.core.form_rows import FilledForm, OrderSheet, fill_form
from inventory.core.order import ClassLine as Line
from inventory.core.order import PriceBy, Terms
from inventory.orders.models import Order
from inventory.orders.parts import form_of, form_row_of, lines_of, terms_of


class MillHasNoForm(Refusal):
    """The mill has no form yet; describe its columns first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FormFile:
    """A file that goes out: its bytes, media type and ending."""

    content: bytes
    media: str
    ending: str


def filled_form(order: Order) -> tuple[Form, FilledForm]:
    """The order in the form it went out in, or the mill's newest. Raises MillHasNoForm."""
    row = form_row_of(order)
    if row is None:
        raise MillHasNoForm
    form = form_of(row)
    return form, fill_form(form, _sheet(order))


def _sheet(order: Order) -> OrderSheet:
    terms = terms_of(order)
    return OrderSheet(
        order=order.name,
        crew=order.crew.name,
        mill=order.mill.name,
        order_date=_day(order.sent_on),
        wanted_on=_day(order.wanted_on),
        remarks=order.remarks,
        currency=order.currency,
        terms=terms,
        lines=tuple(lines_of(order, terms)),
    )


def _day(day: date | None) -> str:
    return day.isoformat() if day else ""


def form_fields() -> dict[str, list[dict[str, str]]]:
    """What a form can hold: fields for its columns, and for the lines above and below the table."""
    return {
        "columns": [
            {"name": one.name, "kind": one.kind, "on": one.on, "meaning": one.meaning}
            for one in FIELDS.values()
        ],
        "lines": [{"name": name, "kind": kind} for name, kind in HEADER_FIELDS.items()],
    }


def form_as_row(order: Order) -> dict[str, Any]:
    """The filled form as JSON."""
    return _as_row(filled_form(order)[1])


def _as_row(filled: FilledForm) -> dict[str, Any]:
    def texts(rows: tuple[tuple[Cell, ...], ...]) -> list[list[str]]:
        return [[cell.text for cell in row] for row in rows]

    return {
        "title": filled.title,
        "above": texts(filled.above),
        "headings": list(filled.headings),
        "rows": texts(filled.rows),
        "below": texts(filled.below),
        "rounded": list(filled.rounded),
    }


def preview(crew: Crew, form: Form, *, order: UUID | None) -> dict[str, Any]:
    """A form that need not be stored, filled with an order of the crew or with an example."""
    if order is None:
        return _as_row(fill_form(form, _EXAMPLE))
    found = Order.objects.of(crew).filter(id=order).select_related("crew", "mill").first()
    if found is None:
        raise NotFound
    return _as_row(fill_form(form, _sheet(found)))


_EXAMPLE = OrderSheet(
    order="example",
    crew="your crew",
    mill="the mill",
    order_date="2026-01-15",
    wanted_on="2026-03-01",
    remarks="an example, nothing is ordered",
    currency="EUR",
    terms=Terms(price_by=PriceBy.PIECE),
    lines=(
        Line(
            line=1,
            species="spruce",
            length_mm=Decimal("6248.4"),
            least_middle_mm=Decimal("279.4"),
            largest_middle_mm=Decimal("330.2"),
            count=2,
            price=Decimal("84.50"),
            note="straight",
        ),
        Line(
            line=2,
            species="pine",
            length_mm=Decimal("4419.6"),
            least_middle_mm=Decimal("254"),
            largest_middle_mm=Decimal("304.8"),
            sawn_thickness_mm=Decimal("203.2"),
            count=1,
            price=Decimal("61.25"),
        ),
    ),
)


def csv_of(order: Order) -> FormFile:
    """The form as CSV in the mill's delimiter."""
    from inventory.core.form_files import form_as_csv

    form, filled = filled_form(order)
    content = form_as_csv(filled, delimiter=form.delimiter).encode()
    return FormFile(content=content, media="text/csv", ending="csv")


def workbook_of(order: Order) -> FormFile:
    """The form as a workbook."""
    from inventory.core.form_files import form_as_workbook

    return FormFile(content=form_as_workbook(filled_form(order)[1]), media=WORKBOOK, ending="xlsx")


def sheet_of(order: Order) -> FormFile:
    """The form as a sheet to print."""
    from inventory.core.form_files import form_as_pdf

    return FormFile(content=form_as_pdf(filled_form(order)[1]), media="application/pdf", ending="pdf")


def order_to_show(crew: Crew, id: UUID) -> Order:
    """The crew's order. Raises NotFound."""
    return one_of(Order, crew=crew, id=id)
