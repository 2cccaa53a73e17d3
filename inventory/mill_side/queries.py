"""Reads of the mill's side: keys, proposals, and the order as its mill sees it."""

from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from inventory.orders.models import MillKey, Order, Proposal
from inventory.orders.queries import line_rows

_KEPT = ["version", "created_at", "changed_at"]
_KEY = ["id", "order", "name", "hint", "expires_at", "last_used_at", "revoked_at", *_KEPT]
_PROPOSAL = ["id", "order", "length_mm", "count", "wanted_on", "reason", "state", "decided_at", *_KEPT]


def mill_keys_of(crew: Crew, order: UUID) -> QuerySet[MillKey, dict[str, Any]]:
    """The keys of an order, without their secrets; NotFound for an order that is not the crew's."""
    row_or_not_found(Order.objects.of(crew).values("id"), order)
    return _mill_keys(crew).filter(order=order)


def mill_key_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(_mill_keys(crew), id)


def _mill_keys(crew: Crew) -> QuerySet[MillKey, dict[str, Any]]:
    return MillKey.objects.of(crew).values(*_KEY)


def proposals_of(crew: Crew, order: UUID) -> QuerySet[Proposal, dict[str, Any]]:
    """What the mill proposed for an order; NotFound for one that is not the crew's."""
    row_or_not_found(Order.objects.of(crew).values("id"), order)
    return _proposals(crew).filter(order=order)


def proposal_row(crew: Crew, id: UUID, *, order: UUID | None = None) -> dict[str, Any]:
    """One proposal, of this order if one is named. Raises NotFound."""
    rows = _proposals(crew)
    return row_or_not_found(rows if order is None else rows.filter(order=order), id)


def _proposals(crew: Crew) -> QuerySet[Proposal, dict[str, Any]]:
    return Proposal.objects.of(crew).values(
        *_PROPOSAL, line_number=F("line__line"), decided_by_name=F("decided_by__name")
    )


def order_for_mill(order: Order) -> dict[str, Any]:
    """The order with its lines as its mill reads it."""
    return {
        "id": order.id,
        "name": order.name,
        "crew": order.crew.name,
        "mill": order.mill.name,
        "state": order.state,
        "sent_on": order.sent_on,
        "wanted_on": order.wanted_on,
        "remarks": order.remarks,
        "currency": order.currency,
        "price_by": order.price_by,
        "lines": line_rows(order.id),
        "version": order.version,
    }
