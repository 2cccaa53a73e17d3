"""The worker's part: events to webhooks, and what is kept for a time only."""

from uuid import UUID

from django.db import connections
from django.utils.timezone import now
from procrastinate.contrib.django import app

from crews.accounts.idempotency import forget_old_answers
from crews.accounts.limits import forget_old_counts
from crews.events.actions import QUEUE, TASK, wake_for
from crews.webhooks.delivering import deliver_due, webhooks_due
from crews.webhooks.models import Webhook

# How long the queue's books keep what ended well, and what failed.
_KEPT_HOURS, _FAILED_KEPT_HOURS = 1, 30 * 24


@app.task(name=TASK, queue=QUEUE)
def deliver(webhook_id: str) -> None:
    """Send what is due to one webhook."""
    try:
        id = UUID(webhook_id)
        if deliver_due(id, clock=now):
            wake_for(id, crew=Webhook.objects.get(id=id).crew_id)
    finally:
        connections.close_all()


@app.periodic(cron="* * * * * */15")  # the seconds stand last
@app.task(name="crews.look_for_due_deliveries", queue=QUEUE, queueing_lock="look_for_due_deliveries")
def look_for_due_deliveries(timestamp: int) -> None:  # noqa: ARG001 - when it was due
    """Deliveries whose pause is over, or whose wake-up was lost in a crash."""
    try:
        for webhook, crew in webhooks_due(at=now()):
            wake_for(webhook, crew=crew)
    finally:
        connections.close_all()


@app.periodic(cron="*/5 * * * *")
@app.task(name="crews.forget_what_is_over", queue=QUEUE, queueing_lock="forget_what_is_over")
def forget_what_is_over(timestamp: int) -> None:  # noqa: ARG001 - when it was due
    """Kept answers a day old, counts of minutes gone by."""
    try:
        forget_old_answers(at=now())
        forget_old_counts(at=now())
    finally:
        connections.close_all()


@app.periodic(cron="*/5 * * * *")
@app.task(name="crews.forget_ended_jobs", queue=QUEUE, queueing_lock="forget_ended_jobs")
async def forget_ended_jobs(timestamp: int) -> None:  # noqa: ARG001 - when it was due
    """The tasks of this file alone would leave ten thousand rows a day in the queue's books."""
    books = app.job_manager
    await books.delete_old_jobs(nb_hours=_KEPT_HOURS, include_cancelled=True, include_aborted=True)
    await books.delete_old_jobs(nb_hours=_FAILED_KEPT_HOURS, include_failed=True)
