"""Pieces prepared before they are set: sawn, peeled, notched, at the wall."""

from django.db import models
from django.db.models import F, Q

from cabins.cabins.models import Cabin
from crews.accounts.models import Crew, CrewOwned, Member
from crews.history.triggers import AuditTrigger
from inventory.logs.models import Log, MillimetreField


class PieceMark(models.TextChoices):
    """What was done to a piece before it is set."""

    SAWN = "sawn"
    PEELED = "peeled"
    NOTCHED = "notched"
    AT_WALL = "at_wall"


class PreparedPiece(CrewOwned):
    """Part of a log that was sawn to length, peeled, notched or moved to the wall before it is set.

    Once sawn it is a piece of its own: no plan joins it to its log again. Undone only with a reason.
    """

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="prepared_pieces", db_index=False)
    # From the log's butt end.
    near_butt_mm = MillimetreField()
    near_tip_mm = MillimetreField()
    # What it was made for: a place of a wall, a member, or nothing yet. Words, as a set log's are.
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, null=True, related_name="prepared_pieces")
    wall = models.CharField(max_length=40, blank=True)
    round = models.PositiveIntegerField(null=True)
    piece = models.PositiveIntegerField(null=True)
    member = models.CharField(max_length=50, blank=True)
    # Of PieceMark, in its order, each once.
    marks = models.JSONField(default=list)
    # Metal lay near a cut as charted; whoever sawed states that it was taken out first.
    metal_removed = models.BooleanField(default=False)
    prepared_at = models.DateTimeField()
    prepared_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    remarks = models.TextField(blank=True)
    warnings = models.JSONField(default=list)
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    undo_reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="prepared_piece"),
            models.CheckConstraint(
                condition=Q(near_tip_mm__gt=F("near_butt_mm")), name="prepared_piece_has_length"
            ),
            models.CheckConstraint(
                condition=Q(undone_at=None) | ~Q(undo_reason=""), name="preparing_undone_with_a_reason"
            ),
        ]
        indexes = [
            models.Index(fields=["log", "undone_at"], name="prepared_by_log"),
            models.Index(fields=["crew", "prepared_at", "id"], name="prepared_by_time"),
        ]
