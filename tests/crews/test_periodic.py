"""What the worker does by the clock: how often it falls due, and that the queue's books stay small."""

from itertools import pairwise

import pytest
from asgiref.sync import async_to_sync
from croniter import croniter
from django.db import connection
from procrastinate.contrib.django import app
from procrastinate.contrib.django.models import ProcrastinateJob

from crews.webhooks import tasks
from planning.jobs import tasks as planning_worker

NOON = 1_767_268_800
EVERY_S = {
    "crews.look_for_due_deliveries": 15,
    "crews.forget_what_is_over": 300,
    "crews.forget_ended_jobs": 300,
    "planning.take_up_left_jobs": 20,
    "planning.look_for_stale_plans": 30,
    "planning.look_for_all_stale_plans": 24 * 3600,
}


def test_every_periodic_task_falls_due_as_often_as_written_here_all_the_hour_round():
    assert planning_worker.app is tasks.app
    gaps = {}

    for one in app.periodic_registry.periodic_tasks.values():
        due = croniter(one.cron, NOON)
        first = [due.get_next() for _ in range(300)]
        gaps[one.task.name] = {later - earlier for earlier, later in pairwise(first)}

    assert {name: gaps.get(name) for name in EVERY_S} == {name: {every} for name, every in EVERY_S.items()}


def put_into_the_books(lock: str, status: str, hours_ago: int) -> None:
    """A job that ended so long ago."""
    app.configure_task("crews.deliver", queue="default", queueing_lock=lock).defer(webhook_id="1")
    job = ProcrastinateJob.objects.get(queueing_lock=lock)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_jobs SET status = %s WHERE id = %s", [status, job.id])
        cursor.execute(
            "UPDATE procrastinate_events SET at = now() - %s * interval '1 hour' WHERE job_id = %s",
            [hours_ago, job.id],
        )


@pytest.mark.django_db(transaction=True)
def test_ended_jobs_leave_the_books_failed_ones_after_a_month(db):
    put_into_the_books("books: done long ago", "succeeded", 2)
    put_into_the_books("books: cancelled long ago", "cancelled", 2)
    put_into_the_books("books: failed long ago", "failed", 31 * 24)
    put_into_the_books("books: done just now", "succeeded", 0)
    put_into_the_books("books: failed yesterday", "failed", 24)
    put_into_the_books("books: still to do", "todo", 50 * 24)

    async_to_sync(tasks.forget_ended_jobs.func)(0)

    left = ProcrastinateJob.objects.filter(queueing_lock__startswith="books")
    assert sorted(left.values_list("queueing_lock", flat=True)) == [
        "books: done just now", "books: failed yesterday", "books: still to do",
    ]  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM procrastinate_jobs WHERE queueing_lock LIKE 'books%'")
