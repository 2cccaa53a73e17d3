"""The layouts a cabin had, and the places that the one in force lays out."""

from django.db import models
from django.db.models import F, Q

from cabins.cabins.models import Cabin
from crews.accounts.models import CrewOwned, Member
from inventory.logs.models import MillimetreField


class PastLayout(CrewOwned):
    """A layout as it stood under an earlier or the present version."""

    cabin = models.ForeignKey(Cabin, on_delete=models.CASCADE, related_name="past_layouts")
    layout_version = models.PositiveIntegerField()
    layout = models.JSONField()
    laid_out_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["cabin", "layout_version"], name="layout_once_per_version")
        ]


class Place(models.Model):
    """One position to be filled: (wall, round, piece), with the stretch of wall that its piece covers."""

    cabin = models.ForeignKey(Cabin, on_delete=models.CASCADE, related_name="places", db_index=False)
    wall = models.CharField(max_length=40)
    round = models.PositiveIntegerField()
    piece = models.PositiveIntegerField()
    # Along the wall, from the centre of its start corner; negative in the overhang.
    start_mm = MillimetreField()
    end_mm = MillimetreField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["cabin", "round", "wall", "piece"], name="place_once_in_cabin"),
            models.CheckConstraint(condition=Q(end_mm__gt=F("start_mm")), name="place_has_length"),
        ]
