"""Moves of an order from state to state, each written down with who did it and when."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of
from crews.api.problems import Refusal, register_constraint_errors
from inventory.deliveries.models import DeliveredLog, DeliveryState
from inventory.orders.models import ORDER_MOVES, MillKey, Order, OrderEvent, OrderState

# While an order is in one of these, logs of it may come or go back.
DELIVERABLE = (OrderState.SENT, OrderState.CONFIRMED, OrderState.PART_DELIVERED, OrderState.DELIVERED)


class OrderMoveRefused(Refusal):
    """The order is in a state from which this cannot follow."""


register_constraint_errors({"order_state_known": (OrderMoveRefused, "An order has no such state.")})


@dataclass(frozen=True, slots=True, kw_only=True)
class Doer:
    """Who does something to an order: a member of the crew, or the mill by its key."""

    member: Member | None = None
    mill_key: MillKey | None = None


def locked_order(crew: Crew, id: UUID) -> Order:
    """The crew's order, locked until the transaction ends. Raises NotFound."""
    return one_of(Order, crew=crew, id=id, lock=True)


def move_order(order: Order, *, to: OrderState, what: str, by: Doer, at: datetime, detail: str = "") -> None:
    """Move a locked order and write it down, unless it is there already. Raises OrderMoveRefused."""
    if order.state == to:
        return
    if to not in ORDER_MOVES[order.state]:
        raise OrderMoveRefused(f"The order is {OrderState(order.state).label.lower()}.")
    before = order.state
    change_row(order, fields={"state": to}, at=at)
    _write_down(order, what=what, before=before, by=by, at=at, detail=detail)


def note_on_order(order: Order, *, what: str, by: Doer, at: datetime, detail: str = "") -> None:
    """Write down what happened to an order that stays in its state."""
    _write_down(order, what=what, before=order.state, by=by, at=at, detail=detail)


def refuse_unless(order: Order, *states: OrderState) -> None:
    """Refuse what can be done only in these states. Raises OrderMoveRefused."""
    if order.state not in states:
        raise OrderMoveRefused(f"The order is {OrderState(order.state).label.lower()}.")


def settle_state(order: Order, *, by: Doer, at: datetime) -> None:
    """A locked order is delivered once no line lacks a log in the yard, and part delivered before."""
    received = DeliveredLog.objects.filter(
        delivery__order=order, delivery__state=DeliveryState.RECEIVED, rejected_at=None, line__isnull=False
    )
    if not order.deliveries.filter(state=DeliveryState.RECEIVED).exists():
        return
    here = list(received.values_list("line", flat=True))
    lines = list(order.lines.all())
    whole = all(here.count(row.id) >= row.count for row in lines)
    to = OrderState.DELIVERED if whole else OrderState.PART_DELIVERED
    move_order(order, to=to, what=to.value, by=by, at=at)


def _write_down(order: Order, *, what: str, before: str, by: Doer, at: datetime, detail: str) -> None:
    OrderEvent.objects.create(
        id=uuid4(),
        crew_id=order.crew_id,
        order=order,
        step=order.events.count() + 1,
        what=what,
        state_before=before,
        state_after=order.state,
        detail=detail[:300],
        member=by.member,
        mill_key=by.mill_key,
        created_at=at,
        changed_at=at,
    )
