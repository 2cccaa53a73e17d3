"""Reservations: which log is kept for which place since a plan was adopted."""

from django.db import models
from django.db.models import Q

from cabins.cabins.models import Cabin
from crews.accounts.models import CrewOwned
from crews.history.triggers import AuditTrigger
from inventory.logs.models import Log
from planning.plans.models import Plan


class ReservationEnd(models.TextChoices):
    """How a reservation ended."""

    KEPT = "kept"
    REPLACED = "replaced"
    RELEASED = "released"
    # It was set in another cabin's wall all the same.
    TAKEN = "taken"
    # It was written off.
    LOG_GONE = "log_gone"


class Reservation(CrewOwned):
    """A log reserved for a cabin by an adopted plan. One log, one reservation at a time."""

    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="reservations")
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, related_name="reservations", db_index=False)
    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="reservations")
    ended_at = models.DateTimeField(null=True)
    ended_because = models.CharField(max_length=10, choices=ReservationEnd, blank=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="reservation"),
            models.UniqueConstraint(fields=["log"], condition=Q(ended_at=None), name="log_reserved_once"),
        ]
        indexes = [models.Index(fields=["cabin", "ended_at"], name="reservation_by_cabin")]
