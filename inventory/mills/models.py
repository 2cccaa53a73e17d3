"""Mills, and the forms in which they take orders."""

from django.db import models
from django.db.models.functions import Lower

from crews.accounts.models import CrewOwned
from crews.history.triggers import AuditTrigger
from inventory.core.log_rules import BoardRule
from inventory.core.order import PriceBy
from inventory.core.volume import CubicRule
from inventory.logs.models import MillimetreField

# Choices of the core's words, named once for the schema.
BOARD_RULES = [(rule.value, rule.value) for rule in BoardRule]

CUBIC_RULES = [(rule.value, rule.value) for rule in CubicRule]

PRICE_BY = [(by.value, by.value) for by in PriceBy]


class Mill(CrewOwned):
    """A mill that a crew orders from, and how it reckons what is paid."""

    name = models.CharField(max_length=60)
    contact = models.TextField(blank=True)
    board_rule = models.CharField(max_length=30, choices=BOARD_RULES)
    cubic_rule = models.CharField(max_length=20, choices=CUBIC_RULES)
    # How a log is scaled for the log rule: trim that is not paid, step of length, longest piece.
    trim_mm = MillimetreField()
    length_step_ft = models.PositiveSmallIntegerField()
    longest_ft = models.PositiveSmallIntegerField()
    taper_mm_per_m = models.DecimalField(max_digits=4, decimal_places=1)

    class Meta:
        constraints = [
            models.UniqueConstraint("crew", Lower("name"), name="mill_once_in_crew"),
            AuditTrigger(kind="mill"),
        ]


class MillForm(CrewOwned):
    """One version of a mill's own form; earlier ones stay for the orders that went out in them.

    A change is a new row with the next `version`; no row changes.
    """

    mill = models.ForeignKey(Mill, on_delete=models.CASCADE, related_name="forms")
    document = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["mill", "version"], name="form_version_once"),
            AuditTrigger(kind="mill_form"),
        ]
