"""Reads of reservations."""

from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from planning.reservations.models import Reservation


def reservations_of(crew: Crew) -> QuerySet[Reservation, Any]:
    return Reservation.objects.of(crew).values(
        "id", "log", "cabin", "plan", "ended_at", "ended_because", "version", "created_at", "changed_at",
        log_number=F("log__number"), cabin_name=F("cabin__name"),
    )  # fmt: skip


def reservation_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(reservations_of(crew), id)
