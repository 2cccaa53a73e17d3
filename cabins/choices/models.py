"""What a crew chooses for its walls: the rule for settling, how notches are cut, what it makes of grain."""

from typing import Any

from django.db import models

from crews.accounts.models import CrewOwned
from crews.history.triggers import AuditTrigger
from inventory.logs.models import MillimetreField


class _PercentField(models.DecimalField):
    """A percentage with two places."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_digits": 5, "decimal_places": 2, "null": True, **kwargs})


class WallSettings(CrewOwned):
    """A crew's choices for settling, notches and errors; a column is null until the crew chooses."""

    rule = models.CharField(max_length=30, null=True)  # noqa: DJ001 - not chosen
    code_title = models.CharField(max_length=200, null=True)  # noqa: DJ001 - not chosen
    code_low_pct = _PercentField()
    code_high_pct = _PercentField()
    bedding_low_pct = _PercentField()
    bedding_high_pct = _PercentField()
    moisture_now_pct = _PercentField()
    moisture_expected_pct = _PercentField()
    underscribe_mm = MillimetreField(null=True)
    overscribe_mm = MillimetreField(null=True)
    slope = models.DecimalField(max_digits=5, decimal_places=4, null=True)
    back_slope = models.DecimalField(max_digits=5, decimal_places=4, null=True)
    # One standard deviation of reading a diameter, of reading a height, of cutting a notch.
    diameter_error_mm = MillimetreField(null=True)
    # How the crew reads tops: tape, storey pole, level (inventory/core/crew_errors.py).
    top_reading = models.CharField(max_length=20, null=True)  # noqa: DJ001 - not chosen
    height_error_mm = MillimetreField(null=True)
    cut_error_mm = MillimetreField(null=True)
    top_share = models.DecimalField(max_digits=5, decimal_places=4, null=True)
    # What a new layout takes for its openings where it does not say.
    cut_share = models.DecimalField(max_digits=5, decimal_places=4, null=True)
    run_wild_mm = MillimetreField(null=True)
    least_piece_mm = MillimetreField(null=True)
    # How logs may be cut, for the wall and for the planner: cabins.core.cutting.
    trim_each_end_mm = MillimetreField(null=True)
    kerf_mm = MillimetreField(null=True)
    most_pieces = models.PositiveSmallIntegerField(null=True)
    hazard_clear_mm = MillimetreField(null=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="wall_settings"),
            models.UniqueConstraint(fields=["crew"], name="wall_settings_chosen_once"),
        ]


class GrainSettings(CrewOwned):
    """What a crew makes of the rules of grain: its own weight for some of them, and its own bands."""

    # {"twist_low": "off"}: only the rules it switched.
    weights = models.JSONField(default=dict)
    straight_run = models.DecimalField(max_digits=5, decimal_places=1, null=True)
    moderate_run = models.DecimalField(max_digits=5, decimal_places=1, null=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="grain_settings"),
            models.UniqueConstraint(fields=["crew"], name="grain_switched_once"),
        ]
