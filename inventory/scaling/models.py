"""How a crew has its logs scaled for board feet, unless a question says otherwise."""

from django.db import models

from crews.accounts.models import CrewOwned
from crews.history.triggers import AuditTrigger
from inventory.core.log_rules import OddFeet
from inventory.logs.models import MillimetreField

# Choices of the core's words, named once for the schema.
ODD_FEET = [(end.value, end.value) for end in OddFeet]


class ScalingSettings(CrewOwned):
    """A crew's way of scaling; a column is null until the crew chooses."""

    trim_mm = MillimetreField(null=True)
    length_step_ft = models.PositiveSmallIntegerField(null=True)
    longest_ft = models.PositiveSmallIntegerField(null=True)
    odd_feet = models.CharField(max_length=10, choices=ODD_FEET, null=True)  # noqa: DJ001 - not chosen

    class Meta:
        constraints = [
            AuditTrigger(kind="scaling_settings"),
            models.UniqueConstraint(fields=["crew"], name="scaling_chosen_once"),
        ]
