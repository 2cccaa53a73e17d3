"""Webhooks and what was delivered to them."""

from django.db import models

from crews.accounts.models import Crew, CrewOwned
from crews.events.models import Event
from crews.history.triggers import AuditTrigger


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
