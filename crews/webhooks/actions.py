"""Writes of webhooks: subscribe, rotate the secret, stop, deliver again."""

from datetime import datetime, timedelta
from functools import partial
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction

from crews.accounts.models import Crew
from crews.accounts.versioned_rows import change_row, one_of, put_row
from crews.api.problems import NotFound, Refusal, fault
from crews.api.reading import raise_if_any
from crews.api.versions import Expected
from crews.events.actions import wake_after_commit
from crews.webhooks.models import DeliveryStanding, Webhook, WebhookDelivery
from crews.webhooks.queries import webhook_row
from crews.webhooks.sending import new_signing_secret, url_fault

MOST = 20
OLD_SECRET_SIGNS_FOR = timedelta(hours=24)


class TooManyWebhooks(Refusal):
    """A crew has at most 20 webhooks; remove one first."""


class WebhookRemoved(Refusal):
    """This webhook was removed; nothing is sent to it any more."""


@transaction.atomic
def put_webhook(
    *, crew: Crew, id: UUID, url: str, kinds: list[str], expected: Expected | None, at: datetime
) -> tuple[bool, str | None]:
    """Subscribe to kinds of events, or change it; returns (created, secret). The secret is shown once."""
    wrong = url_fault(url, private_allowed=settings.WEBHOOKS_TO_PRIVATE)
    raise_if_any([fault("/url", wrong)] if wrong else [])
    Crew.objects.select_for_update().get(id=crew.id)
    held = Webhook.objects.of(crew).filter(id=id).first()
    if held is None and Webhook.objects.of(crew).filter(removed_at=None).count() >= MOST:
        raise TooManyWebhooks
    if held is not None and held.removed_at is not None:
        raise WebhookRemoved
    secret = held.secret if held else new_signing_secret()
    _, created = put_row(
        Webhook,
        crew=crew,
        id=id,
        fields={"url": url, "kinds": sorted(set(kinds)), "secret": secret},
        expected=expected,
        at=at,
        row_of=partial(webhook_row, crew),
    )
    return created, secret if created else None


@transaction.atomic
def rotate_secret(*, crew: Crew, id: UUID, at: datetime) -> str:
    """A new secret, shown this once; for a day the old one signs beside it."""
    held = _living(crew, id)
    fields = {
        "secret": new_signing_secret(),
        "old_secret": held.secret,
        "old_secret_until": at + OLD_SECRET_SIGNS_FOR,
    }
    change_row(held, fields=fields, at=at)
    return held.secret


@transaction.atomic
def remove_webhook(*, crew: Crew, id: UUID, at: datetime) -> None:
    """Nothing is sent there from now on; what was sent stays readable."""
    held = one_of(Webhook, crew=crew, id=id, lock=True)
    if held.removed_at is None:
        change_row(held, fields={"removed_at": at}, at=at)
        waiting = WebhookDelivery.objects.filter(webhook=held, state=DeliveryStanding.WAITING)
        waiting.update(state=DeliveryStanding.GIVEN_UP, due_at=None)


@transaction.atomic
def deliver_again(*, crew: Crew, id: UUID, at: datetime) -> None:
    """Send the event again at once, whatever became of it before; with the same webhook-id."""
    rows: Any = WebhookDelivery.objects.select_for_update(of=("self",)).select_related("webhook")
    held = rows.filter(crew=crew, id=id).first()
    if held is None:
        raise NotFound
    if held.webhook.removed_at is not None:
        raise WebhookRemoved
    held.state, held.due_at, held.failures = DeliveryStanding.WAITING, at, 0
    held.save(update_fields=["state", "due_at", "failures"])
    wake_after_commit(held.webhook_id, crew=held.crew_id)


def _living(crew: Crew, id: UUID) -> Webhook:
    held = one_of(Webhook, crew=crew, id=id, lock=True)
    if held.removed_at is not None:
        raise WebhookRemoved
    return held
