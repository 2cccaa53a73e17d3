"""Heights measured on the wall."""

from django.db import models
from django.db.models import Q

from cabins.cabins.models import Cabin
from crews.accounts.models import Crew, CrewOwned, Member
from crews.history.triggers import AuditTrigger
from inventory.logs.models import MillimetreField


class MeasuredHeight(CrewOwned):
    """One reading of the top of a wall's round at one of its ends or tees, above the deck.

    The readings of one top are kept together and their mean counts (cabins/core/top_readings.py). Round 0 is
    what the wall starts on: the deck, a half log, a raised deck. Undone only with a reason.
    """

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, related_name="heights", db_index=False)
    wall = models.CharField(max_length=40)
    round = models.PositiveIntegerField()
    # `start`, `end`, or a tee between them by its crossing's name: `P-A`.
    end = models.CharField(max_length=81)
    height_mm = MillimetreField()
    # What was computed for it when it was recorded, from a reading so many rounds below: the crew's record.
    computed_mm = MillimetreField(null=True)
    rounds_since = models.PositiveSmallIntegerField(null=True)
    # How far it is off the readings of this top before it (repeat_miss_mm); null for the first one.
    repeat_mm = MillimetreField(null=True)
    measured_at = models.DateTimeField()
    measured_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    remarks = models.TextField(blank=True)
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    undo_reason = models.TextField(blank=True, default="", db_default="")

    class Meta:
        constraints = [
            AuditTrigger(kind="height", leaving_out=["computed_mm", "rounds_since", "repeat_mm"]),
            models.CheckConstraint(
                condition=Q(undone_at=None) | ~Q(undo_reason=""), name="height_undone_with_a_reason"
            ),
        ]
        indexes = [
            models.Index(fields=["cabin", "wall", "round", "end", "-measured_at"], name="height_by_corner"),
            models.Index(fields=["crew", "measured_at", "id"], name="height_by_time"),
        ]
