"""Where in the order of all transactions something was written, so that whoever reads on misses nothing.

A position is the number of the transaction that wrote it, and the era of the database before it: on another
server, where that count may be lower, the next era begins. A reader is shown what lies below the oldest
transaction that still runs: nothing can be written there any more. No lock is needed for that.
"""

import base64
import binascii
from typing import NamedTuple

import orjson
from django.db import connection

from crews.api.problems import InvalidQuery, fault


class Cursor(NamedTuple):
    """How far a reader has read: all up to this event, and it too."""

    position: int
    ordinal: int

    def text(self) -> str:
        """As it is given to the reader."""
        return base64.urlsafe_b64encode(orjson.dumps(list(self))).decode().rstrip("=")


START = Cursor(0, 0)


def cursor_of(text: str, *, parameter: str) -> Cursor:
    """The cursor that a reader sends back. Raises InvalidQuery."""
    try:
        position, ordinal = orjson.loads(base64.urlsafe_b64decode(text + "=" * (-len(text) % 4)))
    except (ValueError, TypeError, binascii.Error):
        position = ordinal = None
    if not all(type(one) is int and 0 <= one < 2**63 for one in (position, ordinal)):
        raise InvalidQuery(errors=[fault(f"?{parameter}", "Not a cursor that this service gave.")])
    return Cursor(position, ordinal)


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


def horizon() -> tuple[int, int | None]:
    """The position below which nothing is written any more, and that of this transaction if it has one."""
    with connection.cursor() as cursor:
        cursor.execute(_HORIZON)
        below, own = cursor.fetchone()
    return below, own
