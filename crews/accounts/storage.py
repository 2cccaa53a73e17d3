"""How much a crew may store: it is counted now and then, and a crew that has too much writes no more."""

import time
from collections.abc import Mapping
from typing import ClassVar
from uuid import UUID

from django.conf import settings

from crews.accounts.models import CrewSize
from crews.api.problems import StorageFull

# How long a web process believes what it read last.
_BELIEVED_S = 10.0


class CrewFull(StorageFull):
    """The crew has stored as much as this server keeps for one; nothing was stored."""

    headers: ClassVar[Mapping[str, str]] = {"Retry-After": "3600"}


class _FullCrews:
    """The crews that have stored too much, looked up once in a while."""

    def __init__(self) -> None:
        self.crews: frozenset[UUID] = frozenset()
        self.looked = float("-inf")

    def has(self, crew: UUID) -> bool:
        if time.monotonic() - self.looked > _BELIEVED_S:
            over = CrewSize.objects.filter(stored_bytes__gt=settings.CREW_MB * 1024**2)
            self.crews, self.looked = frozenset(over.values_list("crew", flat=True)), time.monotonic()
        return crew in self.crews


full_crews = _FullCrews()


def refuse_if_full(crew: UUID) -> None:
    """Raises CrewFull if the crew has stored more than it may."""
    if settings.CREW_MB and full_crews.has(crew):
        raise CrewFull(
            f"This server keeps {settings.CREW_MB} MB for a crew, and yours has more."
            " What is there can be read and taken out; its operator can raise ROUNDLAY_CREW_MB."
        )
