"""A cursor for SQL that is the same every time: PostgreSQL parses and plans it once on each connection.

Django's own cursor writes the values into the text, so that each statement is a new one to PostgreSQL.
"""

from typing import Any, Self

import psycopg
from django.db import connection
from django.db.backends.utils import CursorWrapper


class PreparedCursor(psycopg.Cursor[Any]):
    """psycopg's own cursor; whatever it executes outside of a transaction stays prepared.

    PostgreSQL refuses what was prepared before a migration changed the type of a column that it reads. It is
    prepared anew then; a transaction would be lost with it, so nothing prepared is asked within one.
    """

    def execute(self, query: Any, params: Any = None, **more: Any) -> Self:
        alone = self.connection.autocommit
        given = {**more, "prepare": alone}
        try:
            return super().execute(query, params, **given)
        except psycopg.errors.FeatureNotSupported:
            if not alone:
                raise
            self.connection.execute("DEALLOCATE ALL")
            return super().execute(query, params, **given)

    def _send_query_prepared(self, name: bytes, pgq: Any, **more: Any) -> None:
        self._query = pgq  # Django's log of queries looks there
        super()._send_query_prepared(name, pgq, **more)


def prepared_cursor() -> CursorWrapper:
    """A cursor like Django's, with its counts and errors, whose statements may stay prepared."""
    connection.ensure_connection()
    with connection.wrap_database_errors:
        cursor: Any = PreparedCursor(connection.connection)
    if connection.queries_logged:
        return connection.make_debug_cursor(cursor)
    return connection.make_cursor(cursor)
