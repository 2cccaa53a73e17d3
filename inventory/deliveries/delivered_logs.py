"""Writes of delivered logs: rejected, taken after all, counted for another line of their order."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of
from crews.api.problems import Refusal, fault
from crews.api.reading import raise_if_any
from inventory.deliveries.models import DeliveredLog, DeliveryState
from inventory.logs.actions import return_to_rack, write_off
from inventory.orders.models import Order
from inventory.orders.states import (
    DELIVERABLE,
    Doer,
    locked_order,
    note_on_order,
    refuse_unless,
    settle_state,
)


class LogTakenBack(Refusal):
    """The log was rejected before the delivery was received and went back on its truck."""


@transaction.atomic
def reject_log(*, crew: Crew, id: UUID, reason: str, member: Member, at: datetime) -> None:
    """A delivered log goes back to the mill and is not paid; in the yard it is gone. Raises LogInUse."""
    order, row = _delivered_log(crew, id)
    if row.rejected_at is not None and row.reject_reason == reason:
        return
    if row.log_id is not None:
        write_off(crew=crew, id=row.log_id, reason=f"rejected: {reason}"[:200], at=at)
    change_row(row, fields={"rejected_at": at, "reject_reason": reason}, at=at)
    detail = f"log {row.number or row.place}: {reason}"
    note_on_order(order, what="log_rejected", by=Doer(member=member), at=at, detail=detail)
    settle_state(order, by=Doer(member=member), at=at)


@transaction.atomic
def accept_log(*, crew: Crew, id: UUID, member: Member, at: datetime) -> None:
    """A rejected log is taken after all and lies on its rack. Raises LogTakenBack, OrderMoveRefused."""
    order, row = _delivered_log(crew, id)
    if row.rejected_at is None:
        return
    received = row.delivery.state == DeliveryState.RECEIVED
    if received and row.log_id is None:
        raise LogTakenBack
    if row.log_id is not None:
        return_to_rack(crew=crew, id=row.log_id, rack=None, at=at)
    change_row(row, fields={"rejected_at": None, "reject_reason": ""}, at=at)
    detail = f"log {row.number or row.place}"
    note_on_order(order, what="log_accepted", by=Doer(member=member), at=at, detail=detail)
    settle_state(order, by=Doer(member=member), at=at)


def _delivered_log(crew: Crew, id: UUID) -> tuple[Order, DeliveredLog]:
    """A delivered log, locked after its order. A closed order's account stays as it is."""
    order = locked_order(crew, one_of(DeliveredLog, crew=crew, id=id).delivery.order_id)
    refuse_unless(order, *DELIVERABLE)
    return order, one_of(DeliveredLog, crew=crew, id=id, lock=True)


@transaction.atomic
def count_for_line(*, crew: Crew, id: UUID, line: int | None, member: Member, at: datetime) -> None:
    """A delivered log counts for this line of its order; None: for what was not ordered.

    For a tally that names no lines, where the nearest one is not the one the mill meant. Raises InvalidInput,
    OrderMoveRefused.
    """
    order, row = _delivered_log(crew, id)
    found = order.lines.filter(line=line).first() if line is not None else None
    if line is not None and found is None:
        raise_if_any([fault("/line", "The order has no such line.", "unknown")])
    if row.line == found:
        return
    change_row(row, fields={"line": found}, at=at)
    detail = f"log {row.number or row.place}: " + (f"line {line}" if line is not None else "not ordered")
    by = Doer(member=member)
    note_on_order(order, what="log_counted_for_line", by=by, at=at, detail=detail)
    settle_state(order, by=by, at=at)
