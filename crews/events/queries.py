"""Reads of events."""

from typing import Any

from django.db.models import QuerySet

from crews.accounts.models import Crew
from crews.events.models import Event

_EVENT = ["id", "kind", "data", "at"]


def events_of(crew: Crew) -> QuerySet[Event, dict[str, Any]]:
    return Event.objects.filter(crew=crew).values(*_EVENT)
