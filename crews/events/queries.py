"""The feed of events, in an order in which nothing comes to stand before what was read.

An event has the position of the transaction that wrote it.
"""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from crews.accounts.models import Crew
from crews.api.positions import START, Cursor, cursor_of, horizon
from crews.events.models import Event

END = "end"
_EVENT = ["id", "kind", "data", "at"]


def cursor_asked(after: str) -> Cursor | None:
    """The cursor that a reader sends back; "" is the feed's start, `end` is None. Raises InvalidQuery."""
    if after in ("", END):
        return START if after == "" else None
    return cursor_of(after, parameter="after")


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedPart:
    """Events in order, the cursor behind them, and whether more can be read at once."""

    items: list[dict[str, Any]]
    cursor: Cursor
    more: bool


def read_feed(crew: Crew, *, kinds: Collection[str], after: Cursor | None, limit: int) -> FeedPart:
    """At most `limit` events of the kinds (none: all) after the cursor (None: the feed's end)."""
    below, own = horizon()
    if after is None:
        return FeedPart(items=[], cursor=Cursor(below, 0), more=False)
    # What this transaction wrote is there for itself.
    shown = Q(position__lt=below) if own is None else Q(position__lt=below) | Q(position=own)
    later = Q(position__gt=after.position) | Q(position=after.position, ordinal__gt=after.ordinal)
    rows = Event.objects.filter(shown, later, crew=crew, position__gte=after.position)
    if kinds:
        rows = rows.filter(kind__in=kinds)
    found = list(rows.order_by("position", "ordinal").values(*_EVENT, "position", "ordinal")[: limit + 1])
    items, more = found[:limit], len(found) > limit
    passed = [after, *(Cursor(row.pop("position"), row.pop("ordinal")) for row in items)]
    # At the end all below the horizon was read, of whatever kind: the next reader begins there.
    return FeedPart(items=items, cursor=max(passed if more else [*passed, Cursor(below, 0)]), more=more)
