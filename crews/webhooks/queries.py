"""Reads of webhooks and their deliveries."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.webhooks.models import Webhook, WebhookDelivery

_WEBHOOK = ["id", "url", "kinds", "old_secret_until", "removed_at", "version", "created_at", "changed_at"]

_DELIVERY = ["id", "webhook", "event", "state", "created_at", "failures", "due_at"]


def webhooks_of(crew: Crew) -> QuerySet[Webhook, dict[str, Any]]:
    return Webhook.objects.of(crew).values(*_WEBHOOK)


def webhook_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(webhooks_of(crew), id)


def deliveries_of(crew: Crew) -> QuerySet[WebhookDelivery, dict[str, Any]]:
    return _deliveries(crew, *_DELIVERY)


def delivery_row(crew: Crew, id: UUID) -> dict[str, Any]:
    """One delivery with its attempts."""
    row = row_or_not_found(_deliveries(crew, *_DELIVERY, "attempts"), id)
    attempts = [{**one, "at": datetime.fromisoformat(one["at"])} for one in row["attempts"]]
    return {**row, "attempts": attempts}


def _deliveries(crew: Crew, *fields: str) -> QuerySet[WebhookDelivery, dict[str, Any]]:
    return WebhookDelivery.objects.filter(crew=crew).values(*fields, kind=F("event__kind"))
