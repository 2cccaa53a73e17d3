"""The feed of events, in an order in which nothing comes to stand before what was read.

An event's position is the number of the transaction that wrote it. A reader is shown what lies below the
oldest transaction that still runs: nothing can be written there any more. No lock is needed for that.
"""

import base64
import binascii
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, NamedTuple

import orjson
from django.db import connection
from django.db.models import Q

from crews.accounts.models import Crew
from crews.api.problems import InvalidQuery, fault
from crews.events.models import Event


class Cursor(NamedTuple):
    """How far a reader has read: all up to this event, and it too."""

    position: int
    ordinal: int

    def text(self) -> str:
        """As it is given to the reader."""
        return base64.urlsafe_b64encode(orjson.dumps(list(self))).decode().rstrip("=")


START = Cursor(0, 0)
END = "end"
_EVENT = ["id", "kind", "data", "at"]


def cursor_of(after: str) -> Cursor | None:
    """The cursor that a reader sends back; "" is the feed's start, `end` is None. Raises InvalidQuery."""
    if after in ("", END):
        return START if after == "" else None
    try:
        position, ordinal = orjson.loads(base64.urlsafe_b64decode(after + "=" * (-len(after) % 4)))
    except (ValueError, TypeError, binascii.Error):
        position = ordinal = None
    if not all(type(one) is int and 0 <= one < 2**63 for one in (position, ordinal)):
        raise InvalidQuery(errors=[fault("?after", "Not a cursor of this feed.")])
    return Cursor(position, ordinal)


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedPart:
    """Events in order, the cursor behind them, and whether more can be read at once."""

    items: list[dict[str, Any]]
    cursor: Cursor
    more: bool


def read_feed(crew: Crew, *, kinds: Collection[str], after: Cursor | None, limit: int) -> FeedPart:
    """At most `limit` events of the kinds (none: all) after the cursor (None: the feed's end)."""
    horizon, own = _horizon()
    if after is None:
        return FeedPart(items=[], cursor=Cursor(horizon, 0), more=False)
    # What this transaction wrote is there for itself.
    shown = Q(position__lt=horizon) if own is None else Q(position__lt=horizon) | Q(position=own)
    later = Q(position__gt=after.position) | Q(position=after.position, ordinal__gt=after.ordinal)
    rows = Event.objects.filter(shown, later, crew=crew, position__gte=after.position)
    if kinds:
        rows = rows.filter(kind__in=kinds)
    found = list(rows.order_by("position", "ordinal").values(*_EVENT, "position", "ordinal")[: limit + 1])
    items, more = found[:limit], len(found) > limit
    passed = [after, *(Cursor(row.pop("position"), row.pop("ordinal")) for row in items)]
    # At the end all below the horizon was read, of whatever kind: the next reader begins there.
    return FeedPart(items=items, cursor=max(passed if more else [*passed, Cursor(horizon, 0)]), more=more)


# A database that was carried to another server has not begun its next era before it writes an event there.
_HORIZON = """
    SELECT base + pg_snapshot_xmin(pg_current_snapshot())::text::bigint,
        base + pg_current_xact_id_if_assigned()::text::bigint
    FROM (
        SELECT CASE WHEN era IS NULL THEN 0 WHEN server = system_identifier THEN era ELSE era + 1 END << 44
            AS base
        FROM pg_control_system() LEFT JOIN crews_eventera ON true
    ) AS here
"""


def _horizon() -> tuple[int, int | None]:
    """The position below which nothing is written any more, and that of this transaction if it has one."""
    with connection.cursor() as cursor:
        cursor.execute(_HORIZON)
        horizon, own = cursor.fetchone()
    return horizon, own
