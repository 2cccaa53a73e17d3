"""Writes of orders: put lines on them, send, confirm, withdraw, close."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, put_row
from crews.api.problems import Fault, Refusal, fault, register_constraint_errors
from crews.api.reading import raise_if_any
from crews.api.versions import Expected, check_version
from crews.events.actions import emit_event
from crews.events.models import EventKind
from inventory.core.crew_units import sentence_of
from inventory.core.order import MOST_LOGS, BadOrder, PriceBy, Terms, check_line, quantities_of_line
from inventory.mills.models import Mill
from inventory.orders.models import Order, OrderLine, OrderState, ProposalState
from inventory.orders.parts import core_line, form_row_of, terms_of, terms_to_keep
from inventory.orders.queries import lines_of_order, order_row
from inventory.orders.states import (
    Doer,
    OrderMoveRefused,
    locked_order,
    move_order,
    note_on_order,
    refuse_unless,
)
from inventory.yards.actions import NameTaken


class OrderWithoutLines(Refusal):
    """An order without lines cannot be sent."""


class ProposalsOpen(Refusal):
    """The mill proposes changes that nobody has answered yet."""


register_constraint_errors(
    {
        "mill_once_in_crew": (NameTaken, "The crew has a mill of this name already."),
        "order_once_in_crew": (NameTaken, "The crew has an order of this name already."),
        "form_version_once": (
            OrderMoveRefused,
            "Someone else stored a form at the same time; send it again.",
        ),
    }
)


@transaction.atomic
def put_order(
    *, crew: Crew, id: UUID, fields: dict[str, Any], expected: Expected | None, at: datetime
) -> bool:
    """Keep an order's own fields; True if it is new. Only a draft's mill, currency and price basis change."""
    if not Mill.objects.of(crew).filter(id=fields["mill"]).exists():
        raise_if_any([fault("/mill", "No such mill in this crew.", "unknown")])
    columns = {("mill_id" if name == "mill" else name): value for name, value in fields.items()}
    held = Order.objects.of(crew).select_for_update(of=("self",)).filter(id=id).first()
    if held and held.state != OrderState.DRAFT:
        fixed = [
            name
            for name in ("mill_id", "name", "currency", "price_by")
            if getattr(held, name) != columns[name]
        ]
        if fixed:
            raise OrderMoveRefused(
                f"The order is {OrderState(held.state).label.lower()}: its {fixed[0]} stays."
            )
    row_of = partial(order_row, crew)
    _, created = put_row(Order, crew=crew, id=id, fields=columns, expected=expected, at=at, row_of=row_of)
    return created


@transaction.atomic
def put_lines(
    *, crew: Crew, id: UUID, lines: Sequence[dict[str, Any]], expected: Expected | None, at: datetime
) -> None:
    """Put all lines of a draft, numbered from 1; the same again changes nothing. The order's version counts.

    Raises InvalidInput with every fault, OrderMoveRefused, VersionNeeded, VersionStale, NotFound.
    """
    order = locked_order(crew, id)
    rows = [
        OrderLine(id=uuid4(), crew=crew, order=order, line=n, created_at=at, changed_at=at, **fields)
        for n, fields in enumerate(lines, start=1)
    ]
    held = list(order.lines.order_by("line"))
    if [core_line(one) for one in held] == [core_line(one) for one in rows]:
        return
    refuse_unless(order, OrderState.DRAFT)
    check_version(expected=expected, current=order.version, row=lines_of_order(crew, id))
    terms = terms_of(order)
    raise_if_any(
        [
            *faults_of_count(sum(row.count for row in rows), at="/lines"),
            *(one for index, row in enumerate(rows) for one in faults_of_line(row, index, terms)),
        ]
    )
    order.lines.all().delete()
    OrderLine.objects.bulk_create(rows)
    change_row(order, fields={}, at=at)


def faults_of_count(count: int, *, at: str) -> list[Fault]:
    """What is wrong with the logs of an order together: more than any form or truck holds."""
    return [fault(at, f"An order has at most {MOST_LOGS} logs.", "too_many")] if count > MOST_LOGS else []


def faults_of_line(row: OrderLine, index: int, terms: Terms) -> list[Fault]:
    """What is wrong with a line: class upside down, no log of that kind, none that the rule reaches."""
    at = f"/lines/{index}"
    if row.largest_middle_mm < row.least_middle_mm:
        return [fault(f"{at}/largest_middle_mm", "Not less than the least.", "class_upside_down")]
    try:
        check_line(core_line(row), terms)
        quantities = quantities_of_line(core_line(row), terms)
    except BadOrder as bad:
        return [fault(at, sentence_of(bad), "no_log")]
    if terms.price_by is PriceBy.BOARD_FOOT and quantities.board_feet is None:
        return [fault(at, f"It cannot be paid by the board foot: {quantities.why_not}.", "outside_rule")]
    return []


@transaction.atomic
def send_order(*, crew: Crew, id: UUID, member: Member, at: datetime) -> None:
    """The order goes out: form and terms are kept as they are. Raises OrderMoveRefused, OrderWithoutLines."""
    order = locked_order(crew, id)
    if order.state == OrderState.SENT:
        return
    refuse_unless(order, OrderState.DRAFT)
    rows = list(order.lines.order_by("line"))
    if not rows:
        raise OrderWithoutLines
    # The mill or its terms may have changed since the lines were put.
    terms = terms_of(order)
    raise_if_any([one for index, row in enumerate(rows) for one in faults_of_line(row, index, terms)])
    fields = {
        "form": form_row_of(order),
        "sent_terms": terms_to_keep(order.mill),
        "sent_on": at.date(),
    }
    change_row(order, fields=fields, at=at)
    move_order(order, to=OrderState.SENT, what="sent", by=Doer(member=member), at=at)
    emit_event(crew, EventKind.ORDER_SENT, {"order": str(id), "mill": str(order.mill_id)}, at)


@transaction.atomic
def confirm_order(*, crew: Crew, id: UUID, member: Member, at: datetime) -> None:
    """The mill has confirmed by word: written down by a member. Raises OrderMoveRefused, ProposalsOpen."""
    order = locked_order(crew, id)
    confirm_lines(order, lines=None, by=Doer(member=member), at=at)


def confirm_lines(order: Order, *, lines: Sequence[int] | None, by: Doer, at: datetime) -> None:
    """Confirm these lines of a locked order, or all; with the last one the order is confirmed.

    A line with an open proposal waits for the crew. Raises InvalidInput, OrderMoveRefused, ProposalsOpen.
    """
    if order.state == OrderState.CONFIRMED:
        return
    refuse_unless(order, OrderState.SENT)
    held = {row.line: row for row in order.lines.select_for_update()}
    wanted = sorted(held) if lines is None else lines
    raise_if_any(
        [
            fault(f"/lines/{i}", "The order has no such line.", "unknown")
            for i, number in enumerate(wanted)
            if number not in held
        ]
    )
    waiting = order.proposals.filter(state=ProposalState.OPEN, line__line__in=wanted)
    if waiting.exists():
        raise ProposalsOpen
    fresh = [held[number] for number in dict.fromkeys(wanted) if held[number].confirmed_at is None]
    for row in fresh:
        change_row(row, fields={"confirmed_at": at}, at=at)
    if fresh:
        named = ", ".join(str(row.line) for row in fresh)
        note_on_order(order, what="lines_confirmed", by=by, at=at, detail=f"lines {named}")
    confirm_if_complete(order, by=by, at=at)


def confirm_if_complete(order: Order, *, by: Doer, at: datetime) -> None:
    """A sent order is confirmed once all its lines are and no proposal is open."""
    open_ones = order.proposals.filter(state=ProposalState.OPEN)
    missing = order.lines.filter(confirmed_at=None)
    if order.state == OrderState.SENT and not missing.exists() and not open_ones.exists():
        move_order(order, to=OrderState.CONFIRMED, what="confirmed", by=by, at=at)
        data = {"order": str(order.id), "mill": str(order.mill_id)}
        emit_event(order.crew, EventKind.ORDER_CONFIRMED, data, at)


@transaction.atomic
def withdraw_order(*, crew: Crew, id: UUID, member: Member, reason: str, at: datetime) -> None:
    """The order is off. Raises OrderMoveRefused once something was delivered."""
    order = locked_order(crew, id)
    by = Doer(member=member)
    move_order(order, to=OrderState.WITHDRAWN, what="withdrawn", by=by, at=at, detail=reason)


@transaction.atomic
def close_order(*, crew: Crew, id: UUID, member: Member, reason: str, at: datetime) -> None:
    """Nothing more is expected of the order. Raises OrderMoveRefused before anything was delivered."""
    order = locked_order(crew, id)
    by = Doer(member=member)
    move_order(order, to=OrderState.CLOSED, what="closed", by=by, at=at, detail=reason)
