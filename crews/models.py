"""Where Django finds the models of the crews app; each lies in the room of its noun."""

from crews.accounts.models import (
    AccessKey,
    Crew,
    CrewSize,
    KeptAnswer,
    Member,
    Person,
    RequestCount,
    SignInLink,
)
from crews.events.models import Event
from crews.history.models import Change
from crews.webhooks.models import Webhook, WebhookDelivery

__all__ = [
    "AccessKey",
    "Change",
    "Crew",
    "CrewSize",
    "Event",
    "KeptAnswer",
    "Member",
    "Person",
    "RequestCount",
    "SignInLink",
    "Webhook",
    "WebhookDelivery",
]
