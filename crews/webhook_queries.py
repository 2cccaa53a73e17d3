"""Reads of events, webhooks and deliveries."""

from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from crews.models import Crew
from crews.models_webhooks import Event, Webhook, WebhookDelivery
from crews.queries import one_row

_EVENT = ["id", "kind", "data", "at"]
_WEBHOOK = ["id", "url", "kinds", "old_secret_until", "removed_at", "version", "created_at", "changed_at"]
_DELIVERY = ["id", "webhook", "event", "state", "created_at", "failures", "due_at"]


def events_of(crew: Crew) -> QuerySet[Event, dict[str, Any]]:
    return Event.objects.filter(crew=crew).values(*_EVENT)


def webhooks_of(crew: Crew) -> QuerySet[Webhook, dict[str, Any]]:
    return Webhook.objects.of(crew).values(*_WEBHOOK)


def webhook_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return one_row(webhooks_of(crew), id)


def deliveries_of(crew: Crew) -> QuerySet[WebhookDelivery, dict[str, Any]]:
    return _deliveries(crew, *_DELIVERY)


def delivery_row(crew: Crew, id: UUID) -> dict[str, Any]:
    """One delivery with its attempts."""
    return one_row(_deliveries(crew, *_DELIVERY, "attempts"), id)


def _deliveries(crew: Crew, *fields: str) -> QuerySet[WebhookDelivery, dict[str, Any]]:
    return WebhookDelivery.objects.filter(crew=crew).values(*fields, kind=F("event__kind"))
