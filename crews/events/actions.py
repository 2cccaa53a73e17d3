"""Telling what happened: a row in the transaction in which it happens; the worker delivers it afterwards."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from procrastinate.contrib.django import app
from procrastinate.exceptions import AlreadyEnqueued

from crews.accounts.models import Crew
from crews.accounts.versioned_rows import insert_rows
from crews.events.models import Event, EventKind
from crews.webhooks.models import Webhook, WebhookDelivery

TASK, QUEUE = "crews.deliver", "default"


def emit_event(crew: Crew, kind: EventKind, data: dict[str, Any], at: datetime) -> None:
    """Something happened. `data` are JSON values: ids and a few figures, with units in their names."""
    emit_events(crew, [(kind, data)], at)


def emit_events(crew: Crew, happened: Iterable[tuple[EventKind, dict[str, Any]]], at: datetime) -> None:
    """Many things happened at once. Undone with the transaction in which it is called."""
    events = [Event(id=uuid4(), crew=crew, kind=kind, data=data, at=at) for kind, data in happened]
    if events:
        _keep(crew, events, at)


@transaction.atomic(savepoint=False)
def _keep(crew: Crew, events: list[Event], at: datetime) -> None:
    """The events, and a delivery to each webhook that asked for their kind."""
    insert_rows(events)
    webhooks = list(Webhook.objects.of(crew).filter(removed_at=None))
    deliveries = [
        WebhookDelivery(id=uuid4(), crew=crew, webhook=webhook, event=event, created_at=at, due_at=at)
        for webhook in webhooks
        for event in events
        if event.kind in webhook.kinds
    ]
    WebhookDelivery.objects.bulk_create(deliveries)
    for id in {delivery.webhook_id for delivery in deliveries}:
        # After the commit: a wake-up is unique in the queue, and one transaction would wait for another.
        wake_after_commit(id, crew=crew.id)


def wake_after_commit(webhook: UUID, *, crew: UUID) -> None:
    """Wake a worker once the transaction is stored. If that fails, the worker finds out by itself, later."""

    def wake() -> None:  # a partial has no name, which Django tells when it logs the failure
        wake_for(webhook, crew=crew)

    transaction.on_commit(wake, robust=True)


def wake_for(webhook: UUID, *, crew: UUID) -> None:
    """Wake a worker for what the webhook has to be sent; once is enough, and one of a crew's at a time.

    So a crew whose receivers are slow holds one place of the worker, and leaves the others to other crews.
    """
    try:
        with transaction.atomic():
            app.configure_task(
                TASK, queue=QUEUE, queueing_lock=f"deliver {webhook}", lock=f"deliver to webhooks of {crew}"
            ).defer(webhook_id=str(webhook))
    except AlreadyEnqueued:
        return
