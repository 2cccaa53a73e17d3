"""Logs set in their places."""

from django.db import models
from django.db.models import Q

from cabins.cabins.models import Cabin
from cabins.layouts.models import Place
from crews.accounts.models import Crew, CrewOwned, Member
from crews.history.triggers import AuditTrigger
from inventory.logs.models import Log, MillimetreField


class End(models.TextChoices):
    """An end of a wall: its start or its end corner."""

    START = "start"
    END = "end"


class SetLog(CrewOwned):
    """A log lifted into its place, scribed, notched and left there; undone only with a reason."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, related_name="set_logs", db_index=False)
    # Where it lies. The words stay when a later layout has no such place and the log was undone before.
    wall = models.CharField(max_length=40)
    round = models.PositiveIntegerField()
    piece = models.PositiveIntegerField()
    place = models.ForeignKey(Place, on_delete=models.SET_NULL, null=True, related_name="set_logs")
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="set_pieces")
    # From the log's butt end to the piece's end nearest the butt; the piece is as long as its place.
    from_butt_mm = MillimetreField()
    butt_at = models.CharField(max_length=5, choices=End)
    set_at = models.DateTimeField()
    set_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    checked_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    # As cut, where someone measured it.
    gap_mm = MillimetreField(null=True)
    notch_start_mm = MillimetreField(null=True)
    notch_end_mm = MillimetreField(null=True)
    # Metal lay near a cut or notch as charted; whoever set the log states that it was taken out first.
    metal_removed = models.BooleanField(default=False)
    remarks = models.TextField(blank=True)
    # What was doubtful when it was recorded: codes and sentences.
    warnings = models.JSONField(default=list)
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    undo_reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="set_log"),
            models.UniqueConstraint(fields=["place"], condition=Q(undone_at=None), name="place_filled_once"),
            models.CheckConstraint(
                condition=Q(undone_at=None) | ~Q(undo_reason=""), name="undone_with_a_reason"
            ),
            models.CheckConstraint(
                condition=Q(undone_at__isnull=False) | Q(place__isnull=False), name="set_in_a_place"
            ),
        ]
        indexes = [
            models.Index(fields=["cabin", "undone_at"], name="set_by_cabin"),
            models.Index(fields=["crew", "set_at", "id"], name="set_by_time"),
        ]
