"""Reads of deliveries and of their logs."""

from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from inventory.deliveries.models import DeliveredLog, Delivery

_DELIVERY = [
    "id",
    "order",
    "expected_on",
    "remarks",
    "state",
    "received_at",
    "rack",
    "version",
    "created_at",
    "changed_at",
]
# The mill's own figures of a log, as tallied.
TALLIED = [
    "number",
    "species",
    "length_mm",
    "butt_mm",
    "middle_mm",
    "tip_mm",
    "sawn_thickness_mm",
    "board_feet",
    "volume_m3",
    "remarks",
]
_DELIVERED = ["id", "delivery", "place", *TALLIED, "log", "rejected_at", "reject_reason", "version"]


def deliveries_of(crew: Crew) -> QuerySet[Delivery, dict[str, Any]]:
    return Delivery.objects.of(crew).values(*_DELIVERY)


def delivery_row(crew: Crew, id: UUID, *, order: UUID | None = None) -> dict[str, Any]:
    """One delivery, of this order if one is named. Raises NotFound."""
    rows = deliveries_of(crew)
    return row_or_not_found(rows if order is None else rows.filter(order=order), id)


def delivered_logs_of(crew: Crew, delivery: UUID) -> QuerySet[DeliveredLog, dict[str, Any]]:
    """The logs of a delivery with the mill's figures; NotFound for one that is not the crew's."""
    row_or_not_found(Delivery.objects.of(crew).values("id"), delivery)
    return _delivered_logs(crew).filter(delivery=delivery)


def delivered_log_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(_delivered_logs(crew), id)


def _delivered_logs(crew: Crew) -> QuerySet[DeliveredLog, dict[str, Any]]:
    return DeliveredLog.objects.of(crew).values(
        *_DELIVERED, line_number=F("line__line"), yard_number=F("log__number")
    )
