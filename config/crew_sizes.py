"""Counts what each crew has stored, for its limit and for the operator."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db import connection, connections, transaction
from django.utils.timezone import now
from procrastinate.contrib.django import app

from config.archive.tables import tables
from crews.accounts.models import CrewSize
from crews.events.actions import QUEUE
from crews.history.models import Change

_EVERY = timedelta(minutes=10)


def bytes_of(crew: UUID) -> int:
    """The bytes of all rows of a crew that go into its archive, as they are stored; indexes come on top."""
    parts = [
        f"SELECT sum(pg_column_size(one.*)) FROM {table.name} one WHERE {table.held.rows}"
        for table in tables()
    ]
    with connection.cursor() as cursor:
        counted = f"SELECT coalesce(sum(sum), 0) FROM ({' UNION ALL '.join(parts)}) all_of_it"
        cursor.execute(counted.format(crew="%(crew)s"), {"crew": crew})
        return int(cursor.fetchone()[0])


def count_crews(*, at: datetime, changed_within: timedelta) -> int:
    """Count the crews in which something was changed lately; returns how many."""
    found = Change.objects.filter(at__gte=at - changed_within).values_list("crew", flat=True).distinct()
    for crew in list(found):
        with transaction.atomic():
            CrewSize.objects.update_or_create(
                crew_id=crew, defaults={"stored_bytes": bytes_of(crew), "counted_at": at}
            )
    return len(found)


@app.periodic(cron="*/10 * * * *")
@app.task(name="config.count_crews", queue=QUEUE, queueing_lock="count_crews")
def count_crews_lately(timestamp: int) -> None:  # noqa: ARG001 - when it was due
    """With some time to spare, for a worker that was late."""
    try:
        count_crews(at=now(), changed_within=2 * _EVERY)
    finally:
        connections.close_all()
