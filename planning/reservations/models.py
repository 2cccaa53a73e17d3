"""Reservations: which log is kept for which place since a plan was adopted."""

from django.db import models
from django.db.models import Q

from cabins.cabins.models import Cabin
from crews.accounts.models import CrewOwned
from crews.history.triggers import AuditTrigger
from inventory.logs.models import Log
from planning.plans.models import Plan


class PromiseEnd(models.TextChoices):
    """How a promise ended."""

    KEPT = "kept"
    REPLACED = "replaced"
    RELEASED = "released"
    # It was set in another cabin's wall all the same.
    TAKEN = "taken"
    # It was written off.
    LOG_GONE = "log_gone"


class Promise(CrewOwned):
    """A log promised to a cabin by an adopted plan. One log, one promise at a time."""

    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="promises")
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, related_name="promises", db_index=False)
    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="promises")
    ended_at = models.DateTimeField(null=True)
    ended_because = models.CharField(max_length=10, choices=PromiseEnd, blank=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="promise"),
            models.UniqueConstraint(fields=["log"], condition=Q(ended_at=None), name="log_promised_once"),
        ]
        indexes = [models.Index(fields=["cabin", "ended_at"], name="promise_by_cabin")]
