"""Cabins that a crew builds."""

from django.db import models

from crews.accounts.models import CrewOwned
from crews.history.triggers import AuditTrigger


class Cabin(CrewOwned):
    """A cabin under way or planned."""

    name = models.CharField(max_length=80)
    remarks = models.TextField(blank=True)
    # The layout document as it was checked; null until one is laid out.
    layout = models.JSONField(null=True)
    layout_version = models.PositiveIntegerField(default=0)
    rounds = models.PositiveIntegerField(null=True)
    # How its courses are cut now, {wall: {round: [[start, end], ...]}} in mm: the stretches of its places.
    courses = models.JSONField(null=True)
    # Grows with every log set, undone or height measured: plans made before are stale.
    built_version = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["crew", "name"], name="cabin_once_in_crew"),
            AuditTrigger(kind="cabin", leaving_out=["built_version", "courses"]),
        ]
        indexes = [models.Index(fields=["crew", "created_at", "id"], name="cabin_by_age")]
