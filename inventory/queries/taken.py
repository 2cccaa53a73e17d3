"""Which of some new logs could not be stored, because their id or their number is taken."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.db import connection

from inventory.models import Log

_field: Any = Log._meta.get_field("number_order")
_ORDER = _field.expression.extra["template"] % {"expressions": "asked.number"}
# Looked up log by log through both indexes: to read all logs there are would be the other way.
_TAKEN = f"""
    SELECT asked.id FROM unnest(%s::uuid[], %s::uuid[], %s::text[]) AS asked (id, yard, number)
    CROSS JOIN LATERAL (
        SELECT FROM inventory_log log WHERE log.id = asked.id
        UNION ALL
        SELECT FROM inventory_log log WHERE log.yard_id = asked.yard AND log.number_order = {_ORDER}
        LIMIT 1
    ) AS taken
"""


def logs_taken(asked: Sequence[tuple[UUID, UUID, str]]) -> set[UUID]:
    """Those ids of (id, yard, number) that any log has, or whose number another log of the yard has."""
    ids, yards, numbers = zip(*asked, strict=True) if asked else ((), (), ())
    with connection.cursor() as cursor:
        cursor.execute(_TAKEN, [list(ids), list(yards), list(numbers)])
        return {id for (id,) in cursor.fetchall()}
