"""The planning job in the worker: load, run the planner in a child process, keep progress and best, store.

The planner runs in a process of its own: it may use both cores, may be stopped within a second, and a
crash of it costs the job and not the worker. PlanningJob is the truth; the queue only wakes workers.
"""

import logging
import queue
from collections.abc import Mapping
from typing import Any
from uuid import UUID, uuid4

from django.conf import settings
from django.db import InterfaceError, OperationalError, connections
from django.utils.timezone import now
from procrastinate import JobContext
from procrastinate.contrib.django import app

from cabins.queries.errors import errors_used
from crews import events as crews_events
from planning import left_jobs
from planning.core.check import judge
from planning.core.files import read_plan, read_problem, write_plan, write_problem
from planning.core.reports import report_document, sure_rows
from planning.core.sawn_first import lay_sawn_pieces
from planning.material import draw_up
from planning.models import ENDED, JobState, PlanningJob
from planning.planner_process import PlannerProcess, keep_planner, take_planner
from planning.results import as_cut, end_job, keep_progress, store_result
from planning.staleness import tell_of_stale_plans

log = logging.getLogger(__name__)
_LISTEN_SECONDS = 0.25
# On a machine with more jobs than cores the last passes and the judge take their time.
_STOP_SECONDS = 60
# A planner that is killed each time takes more memory than there is, and would do so for ever.
_STARTS = 3


class Superseded(Exception):
    """Another worker has taken this job up."""


class PlannerKilled(RuntimeError):
    """The planner's process was ended from outside."""


@app.task(name="planning.make_plan", queue="planning", pass_context=True)
def make_plan_for(context: JobContext, job_id: str) -> None:
    """Run one planning job to its end."""
    try:
        run_job(UUID(job_id), should_abort=context.should_abort)
    finally:
        connections.close_all()


@app.periodic(cron="* * * * * */20")  # the seconds stand last
# In the queue of short tasks: it must run while every planner is busy.
@app.task(name="planning.take_up_left_jobs", queue=crews_events.QUEUE, queueing_lock="take_up_left_jobs")
async def look_for_left_jobs(timestamp: int) -> None:  # noqa: ARG001 - when it was due
    """Jobs whose worker died wait or run with nobody at them: wake another worker."""
    await left_jobs.take_up_left_jobs()


@app.periodic(cron="* * * * * */30")
@app.task(
    name="planning.look_for_stale_plans", queue=crews_events.QUEUE, queueing_lock="look_for_stale_plans"
)
def look_for_stale_plans(timestamp: int) -> None:  # noqa: ARG001 - when it was due
    """A log measured again or a layout changed is not planning's doing: look, and tell."""
    try:
        tell_of_stale_plans(at=now())
    finally:
        connections.close_all()


@app.periodic(cron="17 3 * * *")
@app.task(
    name="planning.look_for_all_stale_plans",
    queue=crews_events.QUEUE,
    queueing_lock="look_for_all_stale_plans",
)
def look_for_all_stale_plans(timestamp: int) -> None:  # noqa: ARG001 - when it was due
    """Once a night all of them: what changed while no worker ran."""
    try:
        tell_of_stale_plans(at=now(), changed_within=None)
    finally:
        connections.close_all()


def run_job(job_id: UUID, *, should_abort: Any = lambda: False) -> None:
    """Take the job up (from its best so far, if an earlier run left one), plan, store."""
    run = uuid4()
    taken = (
        PlanningJob.objects.filter(id=job_id)
        .exclude(state__in=ENDED)
        .update(state=JobState.RUNNING, run=run, started_at=now())
    )
    if not taken:
        return
    job = PlanningJob.objects.select_related("crew").get(id=job_id)
    if job.cancel_asked:
        end_job(job, state=JobState.CANCELLED, reason="Cancelled before it began.", at=now())
        return
    try:
        _plan_until_done(job, should_abort)
    except Superseded:
        log.info("planning job %s was taken up by another worker", job_id)
    except (OperationalError, InterfaceError):
        log.warning("planning job %s waits for its database, and is then taken up again", job_id)
        raise
    except Exception:
        log.exception("planning job %s failed", job_id)
        end_job(
            job, state=JobState.FAILED, reason="The planner failed; the log of the worker says how.", at=now()
        )


def _request_of(job: PlanningJob) -> dict[str, Any]:
    if job.problem is None:
        problem, made_from = draw_up(job)
        job.problem, job.made_from = write_problem(problem), made_from
        job.save(update_fields=["problem", "made_from"])
    return {
        "problem": job.problem,
        "seconds": max(1.0, job.seconds * (1 - job.fraction)),
        "moves": None,
        "seed": job.seed,
        "threads": settings.PLANNING_THREADS,
        "start": job.best,
        "trade_offs": job.trade_offs,
        "errors": errors_of_request(job.crew_id),
    }


def errors_of_request(crew: UUID) -> dict[str, float]:
    """How far the crew's readings and cuts may be off, as the planner takes it."""
    errors = errors_used(crew).errors
    return {"diameter_mm": errors.diameter_mm, "top_mm": errors.height_mm, "cut_mm": errors.cut_mm}


def _plan_until_done(job: PlanningJob, should_abort: Any) -> None:
    """Plan; a planner that was killed is started again from the best so far."""
    for start in range(1, _STARTS + 1):
        try:
            _plan(job, _request_of(job), should_abort)
            return
        except PlannerKilled:
            if start == _STARTS:
                raise
            log.warning("the planner of job %s was killed; another goes on from its best", job.id)
            job.refresh_from_db(fields=["fraction", "best"])


def _plan(job: PlanningJob, request: dict[str, Any], should_abort: Any) -> None:
    if not request["problem"]["logs"]:
        end_job(job, state=JobState.FAILED, reason="The yards chosen hold no log that is free.", at=now())
        return
    planner, answered = take_planner(), False
    try:
        planner.ask(request)
        answered = _follow(job, planner, should_abort)
    finally:
        if answered:
            keep_planner(planner)
        else:
            planner.kill()


def with_sawn_pieces_laid(job: PlanningJob, event: Mapping[str, Any]) -> tuple[Any, Any]:
    """The plan that the planner found and its report, no sawn piece wasted; as found where `keep` is 0."""
    document = as_cut(job.problem or {}, event["courses"])
    if not any(log.get("sawn") for log in document["logs"]):
        return event["plan"], event["report"]
    problem, found = read_problem(document), read_plan(event["plan"])
    plan = lay_sawn_pieces(problem, found) if problem.params.weights.keep > 0 else found
    if plan == found:
        return event["plan"], event["report"]
    judged = report_document(judge(problem, plan))
    sure = sure_rows(problem, plan, errors_of_request(job.crew_id))
    return write_plan(plan), event["report"] | judged | {"sure": sure}


def _follow(job: PlanningJob, planner: PlannerProcess, should_abort: Any) -> bool:
    """Keep what the planner tells until its answer; whether it then waits for another request."""
    done_before, stopping, cancelled = job.fraction, False, False
    while True:
        try:
            event = planner.next_event(timeout=_STOP_SECONDS if stopping else _LISTEN_SECONDS)
        except queue.Empty:
            if stopping:
                raise RuntimeError("the planner did not stop when told to") from None
            event = {}
        if event is None:
            status = planner.status()
            kind = PlannerKilled if status < 0 else RuntimeError
            raise kind(f"the planner ended without a result (status {status})")
        if event.get("event") == "done":
            state = JobState.CANCELLED if cancelled else JobState.DONE
            plan, report = with_sawn_pieces_laid(job, event)
            store_result(
                job,
                plan=plan,
                report=report,
                courses=event["courses"],
                state=state,
                at=now(),
            )
            return not event["last"]
        if event.get("event") == "failed":
            end_job(job, state=JobState.FAILED, reason=event["reason"], at=now())
            return not event["last"]
        found = keep_progress(job, event, done_before=done_before)
        if found is None:
            raise Superseded
        cancelled = found
        if should_abort() and not cancelled:
            # The worker is stopping: the job stays as it is, and another takes it up from its best.
            return False
        if cancelled and not stopping:
            stopping = True
            planner.stop()
