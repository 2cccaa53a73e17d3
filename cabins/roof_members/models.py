"""Roof members installed: parts of logs given to ridge, purlins and posts."""

from django.db import models
from django.db.models import Q

from cabins.cabins.models import Cabin
from cabins.core.members import MemberKind
from crews.accounts.models import Crew, CrewOwned, Member
from crews.history.triggers import AuditTrigger
from inventory.logs.models import Log, MillimetreField

# Choices of the core's words, named once for the schema.
MEMBER_KINDS = [(kind.value, kind.value) for kind in MemberKind]


class RoofMember(CrewOwned):
    """A member beyond the walls that was made from part of a log; undone only with a reason."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, related_name="roof_members")
    # Its name, kind and length as in the layout when it was made.
    member = models.CharField(max_length=50)
    kind = models.CharField(max_length=20, choices=MEMBER_KINDS)
    length_mm = MillimetreField()
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="member_pieces")
    # From the log's butt end to the piece's end nearest the butt.
    from_butt_mm = MillimetreField()
    installed_at = models.DateTimeField()
    installed_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    # As for a set log: metal near a cut was found and taken out.
    metal_removed = models.BooleanField(default=False)
    remarks = models.TextField(blank=True)
    warnings = models.JSONField(default=list)
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    undo_reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="roof_member"),
            models.UniqueConstraint(
                fields=["cabin", "member"], condition=Q(undone_at=None), name="member_installed_once"
            ),
            models.CheckConstraint(
                condition=Q(undone_at=None) | ~Q(undo_reason=""), name="member_undone_with_a_reason"
            ),
            models.CheckConstraint(condition=Q(length_mm__gt=0), name="roof_member_has_length"),
        ]
        indexes = [models.Index(fields=["crew", "installed_at", "id"], name="installed_by_time")]
