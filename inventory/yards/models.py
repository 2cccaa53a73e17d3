"""Where logs lie and what wood they are: species, yards, racks."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from crews.accounts.models import CrewOwned
from crews.history.triggers import AuditTrigger


class Species(CrewOwned):
    """A species with the figures its weight and shrinkage follow from; seeded, each crew edits its own."""

    name = models.CharField(max_length=80)
    basic_gravity = models.DecimalField(max_digits=4, decimal_places=3)
    moisture_heart_pct = models.DecimalField(max_digits=5, decimal_places=1, null=True)
    moisture_sap_pct = models.DecimalField(max_digits=5, decimal_places=1, null=True)
    shrink_radial_pct = models.DecimalField(max_digits=4, decimal_places=2, null=True)
    shrink_tangential_pct = models.DecimalField(max_digits=4, decimal_places=2, null=True)
    fibre_saturation_pct = models.DecimalField(max_digits=4, decimal_places=1, default=30)
    sapwood_mm = models.DecimalField(max_digits=4, decimal_places=1, null=True)
    # Published coefficients of dimensional change, per point of moisture between 6 and 14 %.
    change_radial = models.DecimalField(max_digits=6, decimal_places=5, null=True)
    change_tangential = models.DecimalField(max_digits=6, decimal_places=5, null=True)
    # A weight of green logs, published or the crew's own, kept beside what gravity and moisture give.
    green_density_kg_m3 = models.DecimalField(max_digits=5, decimal_places=1, null=True)
    source = models.TextField(blank=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="species"),
            models.UniqueConstraint("crew", Lower("name"), name="species_once_in_crew"),
            models.CheckConstraint(
                condition=Q(basic_gravity__gt=0, basic_gravity__lte=1.5), name="species_gravity_is_wood"
            ),
        ]


class Yard(CrewOwned):
    """Where logs lie."""

    name = models.CharField(max_length=80)
    remarks = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint("crew", Lower("name"), name="yard_once_in_crew"),
            AuditTrigger(kind="yard"),
        ]


class Rack(CrewOwned):
    """A rack, or a stack on bunks, in a yard."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="racks")
    name = models.CharField(max_length=80)
    remarks = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint("yard", Lower("name"), name="rack_once_in_yard"),
            AuditTrigger(kind="rack"),
        ]
