"""Rows for JSON at little more than the cost of their query: the largest lists, and what is asked most.

The usual way Django writes the SQL anew for every query and makes a Decimal, a UUID or a date of every value,
in Python, of which `json_bytes` then makes text again: three quarters of the time of a page of 500 logs. Here
the query runs on a cursor that leaves text as text and reads numbers, times and documents by compiled code,
which is faster than PostgreSQL's own `row_to_json`; and SQL that is the same every time is written once in a
process. Only the text of a query is kept, never an answer. What `json_bytes` writes of such rows is, byte for
byte, what it writes of the usual ones (tests/test_fast_rows.py).
"""

from collections.abc import Callable, Sequence
from inspect import signature
from typing import Any
from uuid import UUID, uuid4

import orjson
from django.core.exceptions import EmptyResultSet
from django.db import connection
from django.db.models import QuerySet
from psycopg.abc import Buffer
from psycopg.adapt import Loader
from psycopg.types.datetime import TimestamptzLoader
from psycopg.types.numeric import FloatLoader
from psycopg.types.string import TextLoader


class _DocumentLoader(Loader):
    """A JSON document."""

    def load(self, data: Buffer) -> Any:
        return orjson.loads(data)


# By PostgreSQL's name of the type. What is not here is read as always.
_LOADERS: dict[str, type[Loader]] = {
    "numeric": FloatLoader,
    "uuid": TextLoader,
    "date": TextLoader,
    "timestamptz": TimestamptzLoader,
    "jsonb": _DocumentLoader,
}


def rows_to_write(rows: QuerySet[Any, Any]) -> list[dict[str, Any]]:
    """The rows of a `.values()` query for `json_bytes`: ids and days are text, decimals floats."""
    try:
        sql, given = rows.query.get_compiler(connection=connection).as_sql()
    except EmptyResultSet:  # a filter that no row can pass
        return []
    return _read(list(rows.query.selected or ()), sql, given)


class AskedAgain:
    """Makes a function that gives a `.values()` query for some ids into one that asks it: its rows, to write.

    The SQL is written the first time. Only the ids may differ, so its form may not hang on what they are.
    """

    def __init__(self, make: Callable[..., QuerySet[Any, Any]]) -> None:
        self._make = make
        # Django writes the query for these, and each is then replaced by the id that is asked for.
        self._stand_ins = {uuid4(): name for name in signature(make).parameters}
        self._written: tuple[list[str], str, Sequence[Any]] | None = None

    def __call__(self, **ids: UUID) -> list[dict[str, Any]]:
        names, sql, given = self._written = self._written or self._write()
        asked = {id: ids[name] for id, name in self._stand_ins.items()}
        return _read(names, sql, [asked.get(one, one) if isinstance(one, UUID) else one for one in given])

    def _write(self) -> tuple[list[str], str, Sequence[Any]]:
        rows = self._make(**{name: id for id, name in self._stand_ins.items()})
        sql, given = rows.query.get_compiler(connection=connection).as_sql()
        return list(rows.query.selected or ()), sql, given


def _read(names: Sequence[str], sql: str, given: Sequence[Any]) -> list[dict[str, Any]]:
    with connection.cursor() as cursor:
        for kind, loader in _LOADERS.items():
            cursor.cursor.adapters.register_loader(kind, loader)
        cursor.execute(sql, given)
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]
