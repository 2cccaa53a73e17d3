"""Delivering what is due: oldest first, tried again with longer and longer pauses, every attempt noted."""

import time
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction

from crews.api.render import json_bytes
from crews.events.models import Event
from crews.webhooks.models import DeliveryStanding, Webhook, WebhookDelivery
from crews.webhooks.sending import NotSent, send

# Pauses after each failure, in seconds: a receiver that is down for three days misses nothing.
PAUSES = (5, 300, 1800, 7200, 18000, 36000, 50400, 72000, 86400)
_AT_ONCE = 100
# A turn ends after these: whoever receives slowly waits behind the others for the next.
_TURN_S = 2.0
_ATTEMPTS_KEPT = 50
Clock = Callable[[], datetime]


def event_body(event: Event) -> bytes:
    """The event as it is sent, and signed; the same as in the feed."""
    return json_bytes({"id": event.id, "kind": event.kind, "data": event.data, "at": event.at})


def deliver_due(webhook_id: UUID, *, clock: Clock) -> bool:
    """Send what is due to one webhook, for a turn; True if more is due at once.

    Without any answer the rest waits for the next round, so that a receiver that is down is not stormed.
    """
    webhook = Webhook.objects.get(id=webhook_id)
    due = WebhookDelivery.objects.filter(webhook=webhook, state=DeliveryStanding.WAITING, due_at__lte=clock())
    if webhook.removed_at is not None:
        due.update(state=DeliveryStanding.GIVEN_UP, due_at=None)
        return False
    found = list(due.select_related("event").order_by("created_at", "id")[: _AT_ONCE + 1])
    began = time.monotonic()
    for at, delivery in enumerate(found[:_AT_ONCE]):
        if at and time.monotonic() - began > _TURN_S:
            return True
        attempt = _attempt(webhook, delivery.event, at=clock())
        _note(delivery.id, attempt, at=clock())
        if attempt["status"] is None:
            return False
    return len(found) > _AT_ONCE


def _attempt(webhook: Webhook, event: Event, *, at: datetime) -> dict[str, Any]:
    keys = [webhook.secret]
    if webhook.old_secret_until is not None and webhook.old_secret_until > at:
        keys.append(webhook.old_secret)
    began, status, error = time.perf_counter(), None, ""
    try:
        status = send(
            url=webhook.url,
            id=str(event.id),
            body=event_body(event),
            timestamp=int(at.timestamp()),
            keys=keys,
            private_allowed=settings.WEBHOOKS_TO_PRIVATE,
        )
    except NotSent as why:
        error = str(why)
    if status is not None and not 200 <= status < 300:
        error = f"The receiver answered {status}."
    duration_ms = round((time.perf_counter() - began) * 1000, 1)
    return {"at": at.isoformat(), "status": status, "error": error, "duration_ms": duration_ms}


@transaction.atomic
def _note(id: UUID, attempt: dict[str, Any], *, at: datetime) -> None:
    held = WebhookDelivery.objects.select_for_update().get(id=id)
    held.attempts = [*held.attempts, attempt][-_ATTEMPTS_KEPT:]
    if not attempt["error"]:
        held.state, held.due_at = DeliveryStanding.DELIVERED, None
    elif held.failures >= len(PAUSES):
        held.state, held.due_at = DeliveryStanding.GIVEN_UP, None
    else:
        held.due_at = at + timedelta(seconds=PAUSES[held.failures])
        held.failures += 1
    held.save(update_fields=["attempts", "state", "due_at", "failures"])


def webhooks_due(*, at: datetime) -> list[tuple[UUID, UUID]]:
    """The webhooks that have something due, each with its crew."""
    waiting = WebhookDelivery.objects.filter(state=DeliveryStanding.WAITING, due_at__lte=at)
    return list(waiting.values_list("webhook", "crew").distinct())
