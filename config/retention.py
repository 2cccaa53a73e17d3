"""What is kept for a time only: once a night what is older goes, a portion at a time."""

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.db import connection, connections, transaction
from django.utils.timezone import now
from procrastinate.contrib.django import app

from crews.events.actions import QUEUE

log = logging.getLogger(__name__)
_PORTION = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """Rows that go when they are `days` old: `found` chooses their ids, `first` goes before them."""

    what: str
    days: int
    table: str
    found: str
    first: tuple[tuple[str, str], ...] = ()


def kept() -> list[Kept]:
    """In the order in which they go: each before what it names."""
    return [
        Kept(
            what="deliveries of events",
            days=settings.DELIVERIES_DAYS,
            table="crews_webhookdelivery",
            found="SELECT id FROM crews_webhookdelivery WHERE state <> 'waiting' AND created_at < %(before)s",
        ),
        Kept(
            what="events",
            days=settings.EVENTS_DAYS,
            table="crews_event",
            found="SELECT id FROM crews_event event WHERE at < %(before)s AND NOT EXISTS"
            " (SELECT 1 FROM crews_webhookdelivery WHERE event_id = event.id)",
        ),
        Kept(
            what="plans that were never adopted",
            days=settings.PLANS_DAYS,
            table="planning_plan",
            found="SELECT id FROM planning_plan plan WHERE state = 'proposed' AND created_at < %(before)s"
            " AND NOT EXISTS (SELECT 1 FROM planning_reservation WHERE plan_id = plan.id)"
            " AND NOT EXISTS (SELECT 1 FROM planning_currentplan WHERE plan_id = plan.id)",
            first=(("planning_plannedpiece", "plan_id"),),
        ),
        Kept(
            what="planning jobs that ended without a plan that is kept",
            days=settings.PLANS_DAYS,
            table="planning_planningjob",
            found="SELECT id FROM planning_planningjob job WHERE ended_at < %(before)s"
            " AND state IN ('done', 'failed', 'cancelled')"
            " AND NOT EXISTS (SELECT 1 FROM planning_plan WHERE job_id = job.id)",
            first=(("planning_planningstart", "job_id"),),
        ),
        Kept(
            what="entries of the history",
            days=settings.HISTORY_DAYS,
            table="crews_change",
            found="SELECT id FROM crews_change WHERE at < %(before)s",
        ),
    ]


def forget_what_is_old(*, at: datetime) -> dict[str, int]:
    """Delete what has been kept long enough; returns how many rows of each. 0 days: it is kept."""
    gone = {}
    for one in kept():
        if one.days:
            gone[one.what] = _forget(one, before=at - timedelta(days=one.days))
    return gone


def _forget(one: Kept, *, before: datetime) -> int:
    number = 0
    while True:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"{one.found} LIMIT {_PORTION} FOR UPDATE SKIP LOCKED", {"before": before})
            ids = [id for (id,) in cursor.fetchall()]
            for table, names in one.first:
                cursor.execute(f"DELETE FROM {table} WHERE {names} = ANY(%s)", [ids])
            cursor.execute(f"DELETE FROM {one.table} WHERE id = ANY(%s)", [ids])
        number += len(ids)
        if len(ids) < _PORTION:
            return number


@app.periodic(cron="41 3 * * *")
@app.task(name="config.forget_what_is_old", queue=QUEUE, queueing_lock="forget_what_is_old")
def forget_every_night(timestamp: int) -> None:  # noqa: ARG001 - when it was due
    """Tells in the log what went."""
    try:
        for what, number in forget_what_is_old(at=now()).items():
            if number:
                log.info("%d %s were older than is kept, and are gone", number, what)
    finally:
        connections.close_all()
