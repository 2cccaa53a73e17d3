"""Every change of every kept row, as the database wrote it down."""

from __future__ import annotations

from django.contrib.postgres.indexes import BrinIndex
from django.db import models
from django.db.models import Func

from crews.accounts.models import Crew, Member


class Change(models.Model):
    """One change of one row, written by the database's triggers and by nothing else."""

    crew = models.ForeignKey(
        Crew, on_delete=models.CASCADE, related_name="+", db_constraint=False, db_index=False
    )
    kind = models.CharField(max_length=20)
    object = models.UUIDField()
    version = models.PositiveIntegerField(null=True)
    # The columns that changed: as they were, and as they are; a new row has no before.
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)
    at = models.DateTimeField()
    made_at = models.DateTimeField(null=True)
    member = models.ForeignKey(
        Member, on_delete=models.DO_NOTHING, null=True, related_name="+", db_constraint=False, db_index=False
    )
    key = models.UUIDField(null=True)
    request_id = models.CharField(max_length=100)
    # Of the transaction that changed it; 0: before positions were kept, and before any cursor was given.
    position = models.BigIntegerField(db_default=Func(function="roundlay_event_position"))

    class Meta:
        indexes = [
            models.Index(fields=["crew", "at", "id"], name="change_by_time"),
            models.Index(fields=["object", "at", "id"], name="change_by_object"),
            models.Index(fields=["crew", "position"], name="change_by_position"),
            # Rows come in the order of `at`, so that a few bytes for each hundred pages find the latest.
            BrinIndex(fields=["at"], autosummarize=True, name="change_lately"),
        ]
