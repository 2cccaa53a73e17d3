"""What is told to other programs: events, who wants to hear of them, and how each was delivered."""

from django.db import models

from crews.models import Crew, CrewOwned
from crews.triggers import AuditTrigger


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


class Webhook(CrewOwned):
    """Where a crew wants its events sent. The secret signs, so it is kept as it is."""

    url = models.CharField(max_length=500)
    kinds = models.JSONField()
    secret = models.CharField(max_length=80)
    # The secret before the last rotation signs as well, until receivers have the new one.
    old_secret = models.CharField(max_length=80, blank=True)
    old_secret_until = models.DateTimeField(null=True)
    removed_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [AuditTrigger(kind="webhook", leaving_out=["secret", "old_secret"])]


class DeliveryStanding(models.TextChoices):
    """How the delivery of an event to a webhook stands."""

    WAITING = "waiting"
    DELIVERED = "delivered"
    GIVEN_UP = "given_up"


class WebhookDelivery(models.Model):
    """One event on its way to one webhook."""

    id = models.UUIDField(primary_key=True)
    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    webhook = models.ForeignKey(Webhook, on_delete=models.CASCADE, related_name="deliveries", db_index=False)
    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="deliveries")
    state = models.CharField(max_length=10, choices=DeliveryStanding, default=DeliveryStanding.WAITING)
    created_at = models.DateTimeField()
    # How often it failed since it was last asked for, and when it is due; null once it is settled.
    failures = models.PositiveIntegerField(default=0)
    due_at = models.DateTimeField(null=True)
    # [{"at", "status" or null, "error", "duration_ms"}], the latest last
    attempts = models.JSONField(default=list)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["webhook", "event"], name="event_once_to_webhook"),
            models.CheckConstraint(
                condition=models.Q(state="waiting", due_at__isnull=False)
                | (~models.Q(state="waiting") & models.Q(due_at=None)),
                name="delivery_due_while_waiting",
            ),
        ]
        indexes = [
            models.Index(fields=["crew", "created_at", "id"], name="webhook_delivery_by_age"),
            models.Index(fields=["due_at"], condition=models.Q(state="waiting"), name="webhook_delivery_due"),
        ]
