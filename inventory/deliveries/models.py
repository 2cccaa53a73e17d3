"""Deliveries of an order, and every log that came with them."""

from django.db import models

from crews.accounts.models import Crew, CrewOwned
from crews.history.triggers import AuditTrigger
from inventory.logs.models import Log, MillimetreField
from inventory.orders.models import Order, OrderLine
from inventory.yards.models import Rack


class DeliveryState(models.TextChoices):
    """How far a delivery has come."""

    ANNOUNCED = "announced"
    TALLIED = "tallied"
    RECEIVED = "received"


class Delivery(CrewOwned):
    """One truck, or what came with it."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="deliveries")
    expected_on = models.DateField(null=True)
    remarks = models.CharField(max_length=500, blank=True)
    state = models.CharField(max_length=10, choices=DeliveryState, default=DeliveryState.ANNOUNCED)
    tally_sha256 = models.BinaryField(max_length=32, null=True)
    received_at = models.DateTimeField(null=True)
    rack = models.ForeignKey(Rack, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [AuditTrigger(kind="delivery")]
        indexes = [models.Index(fields=["crew", "created_at", "id"], name="delivery_by_age")]


class DeliveredLog(CrewOwned):
    """A log of a tally: the mill's own figures, never changed by what the crew measures later."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    delivery = models.ForeignKey(Delivery, on_delete=models.CASCADE, related_name="logs", db_index=False)
    place = models.PositiveIntegerField()  # counted through the delivery
    line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, null=True, related_name="delivered")
    number = models.CharField(max_length=200, blank=True)
    species = models.CharField(max_length=200, blank=True)
    length_mm = MillimetreField()
    butt_mm = MillimetreField(null=True)
    middle_mm = MillimetreField(null=True)
    tip_mm = MillimetreField(null=True)
    sawn_thickness_mm = MillimetreField(null=True)
    board_feet = models.DecimalField(max_digits=14, decimal_places=4, null=True)
    volume_m3 = models.DecimalField(max_digits=14, decimal_places=4, null=True)
    remarks = models.CharField(max_length=200, blank=True)
    log = models.OneToOneField(Log, on_delete=models.PROTECT, null=True, related_name="delivered")
    # Who the yard's log says it was charted by until the crew measures it.
    charted_by = models.CharField(max_length=120, blank=True)
    rejected_at = models.DateTimeField(null=True)
    reject_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["delivery", "place"], name="place_once_in_delivery"),
            AuditTrigger(kind="delivered_log"),
        ]
        indexes = [models.Index(fields=["crew", "delivery", "place"], name="delivered_by_place")]
