"""Events: what happened in a crew, for its feed and its webhooks."""

from django.db import models

from crews.accounts.models import Crew


class EventKind(models.TextChoices):
    """What can happen that other programs may want to hear of."""

    ORDER_SENT = "order_sent"
    ORDER_CONFIRMED = "order_confirmed"
    DELIVERY_ANNOUNCED = "delivery_announced"
    DELIVERED = "delivered"
    ROUND_COMPLETE = "round_complete"
    PLAN_READY = "plan_ready"
    PLAN_STALE = "plan_stale"
    LOG_CULLED = "log_culled"
    LOG_HAZARDOUS = "log_hazardous"


class Event(models.Model):
    """Something that happened, written in the transaction in which it happened."""

    id = models.UUIDField(primary_key=True)
    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    kind = models.CharField(max_length=30, choices=EventKind)
    data = models.JSONField()
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["crew", "at", "id"], name="event_by_time")]
