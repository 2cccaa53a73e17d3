"""What a new crew finds on its first day; the apps above say what they bring."""

from collections.abc import Callable
from datetime import datetime

from crews.accounts.models import Crew

Furnish = Callable[[Crew, datetime], None]
_furnishers: list[Furnish] = []


def when_founded(furnish: Furnish) -> None:
    """Call `furnish` inside the transaction that founds a crew."""
    _furnishers.append(furnish)


def furnish_crew(crew: Crew, at: datetime) -> None:
    for furnish in _furnishers:
        furnish(crew, at)
