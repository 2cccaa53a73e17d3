"""Jobs that nobody is at: their worker was killed, or the queue forgot them."""

import logging

from asgiref.sync import sync_to_async
from django.db import connections, transaction
from django.db.models import Sum
from django.utils.timezone import now
from procrastinate.contrib.django import app
from procrastinate.contrib.django.models import ProcrastinateJob
from procrastinate.exceptions import AlreadyEnqueued, UniqueViolation
from procrastinate.jobs import Status

from planning.jobs.models import ENDED, PlanningJob, PlanningStart

log = logging.getLogger(__name__)
TASK, QUEUE = "planning.make_plan", "planning"
HEARTBEAT_LOST_SECONDS = 30


async def take_up_left_jobs() -> None:
    """Put the jobs of lost workers back into the queue, and every planning job that nobody holds."""
    for stalled in await app.job_manager.get_stalled_jobs(seconds_since_heartbeat=HEARTBEAT_LOST_SECONDS):
        if stalled.id is not None:
            await _put_back(stalled.id)
    await sync_to_async(_requeue_and_close)()


async def _put_back(id: int) -> None:
    """Into the queue once more; if the same work waits there already, this run of it has failed."""
    try:
        await app.job_manager.retry_job_by_id_async(id, retry_at=now())
        log.warning("job %s of a lost worker goes back into the queue", id)
    except UniqueViolation:
        # Left as it was, it would hold its lock for ever, and the one in the queue would never begin.
        await app.job_manager.finish_job_by_id_async(id, status=Status.FAILED, delete_job=False)
        log.warning("job %s of a lost worker gives way to the same work in the queue", id)


def _requeue_and_close() -> None:
    try:
        requeue_unheld_jobs()
    finally:
        connections.close_all()


def requeue_unheld_jobs() -> int:
    """Wake a worker for every start of a planning job that is not ended and that the queue does not hold."""
    held = ProcrastinateJob.objects.filter(task_name=TASK, status__in=["todo", "doing"])
    held_starts = {(args["job_id"], args.get("start", 0)) for args in held.values_list("args", flat=True)}
    under_way = PlanningJob.objects.exclude(state__in=ENDED).defer("problem", "made_from", "best")
    left = [
        start
        for job in under_way.prefetch_related("searches")
        for start in job.searches.all()
        if start.ended_at is None and (str(job.id), start.number) not in held_starts
    ]
    for start in left:
        log.warning(
            "start %s of planning job %s had nobody at it and goes back into the queue",
            start.number,
            start.job_id,
        )
        wake_worker(start)
    return len(left)


def wake_worker(start: PlanningStart) -> None:
    """Put a start into the queue, inside the caller's transaction; once is enough.

    Behind it stand the crew's own earlier starts: each further one of a crew gives way to every other crew's
    first ones, so that twenty jobs of one crew do not hold up another crew's single one.
    """
    job = start.job
    before = PlanningJob.objects.filter(crew=job.crew_id, created_at__lt=job.created_at)
    starts = before.exclude(state__in=ENDED).aggregate(before=Sum("starts", default=0))
    priority = -(starts["before"] + start.number)
    lock = f"plan {job.id} {start.number}"
    task = app.configure_task(TASK, queue=QUEUE, queueing_lock=lock, priority=priority)
    try:
        with transaction.atomic():
            task.defer(job_id=str(job.id), start=start.number)
    except AlreadyEnqueued:
        log.info("start %s of planning job %s is in the queue already", start.number, job.id)
