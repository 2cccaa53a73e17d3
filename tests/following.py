"""What a test reads of the feed of events after a commit."""

import time

from django.db import connection


def until_the_feed_shows_all() -> None:
    """Wait for transactions that began before: of other tests too, which share the database server.

    Nothing to wait for within a test's own transaction, which sees what it wrote.
    """
    if connection.in_atomic_block:
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_current_xact_id()::text::bigint")
        latest = cursor.fetchone()[0]
        while True:
            cursor.execute("SELECT pg_snapshot_xmin(pg_current_snapshot())::text::bigint")
            if cursor.fetchone()[0] > latest:
                return
            time.sleep(0.02)
