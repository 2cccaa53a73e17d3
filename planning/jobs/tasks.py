"""A start of a planning job in the worker: run the planner in a child process, keep progress and best, store.

The planner runs in a process of its own: it may use both cores, may be stopped within a second, and a
crash of it costs the start and not the worker. PlanningStart is the truth; the queue only wakes workers.
"""

import logging
import queue
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import InterfaceError, OperationalError, connections
from django.utils.timezone import now
from procrastinate import JobContext
from procrastinate.contrib.django import app

from cabins.choices.errors import errors_used
from crews.api.request_ids import at_work
from crews.events import actions as crews_events
from planning.core.check import judge
from planning.core.files import read_plan, read_problem, write_plan, write_problem
from planning.core.reports import report_document, sure_rows
from planning.core.sawn_first import lay_sawn_pieces
from planning.jobs import abandoned_jobs
from planning.jobs.fair_slots import giving_way
from planning.jobs.models import PlanningJob, PlanningStart
from planning.jobs.planner_process import PlannerProcess, keep_planner, take_planner
from planning.jobs.problem import draw_up
from planning.jobs.results import as_cut
from planning.jobs.starts import StartResult, end_start, keep_progress, take_up
from planning.plans.staleness import tell_of_stale_plans

log = logging.getLogger(__name__)
_LISTEN_SECONDS = 0.25
# On a machine with more jobs than cores the last passes and the judge take their time.
_STOP_SECONDS = 60
# A planner that is killed each time takes more memory than there is, and would do so for ever.
_STARTS = 3


class Superseded(Exception):
    """Another worker has taken this start up."""


class PlannerKilled(RuntimeError):
    """The planner's process was ended from outside."""


@app.task(name="planning.make_plan", queue="planning", pass_context=True)
def make_plan_for(context: JobContext, job_id: str, start: int = 0) -> None:
    """Run one start of a planning job to its end, or until another crew's turn; then it waits once more."""
    gives_way = giving_way(context.job.id or 0)
    try:
        run_start(UUID(job_id), start, should_abort=lambda: context.should_abort() or gives_way())
        if gives_way():
            wait_again(UUID(job_id), start)
    finally:
        connections.close_all()


@app.periodic(cron="* * * * * */20")  # the seconds stand last
# In the queue of short tasks: it must run while every planner is busy.
@app.task(name="planning.take_up_left_jobs", queue=crews_events.QUEUE, queueing_lock="take_up_left_jobs")
async def look_for_left_jobs(timestamp: int) -> None:  # noqa: ARG001 - when it was due
    """Jobs whose worker died wait or run with nobody at them: wake another worker."""
    await abandoned_jobs.take_up_left_jobs()


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


def run_start(job_id: UUID, number: int = 0, *, should_abort: Any = lambda: False) -> None:
    """Take a start up (from its best so far, if an earlier run left one), plan, store."""
    start = take_up(job_id, number, at=now())
    if start is None:
        return
    with at_work(job=str(job_id), crew=str(start.job.crew_id)):
        _run(start, number, should_abort)


def _run(start: PlanningStart, number: int, should_abort: Any) -> None:
    job_id = start.job_id
    if start.job.cancel_asked:
        end_start(start, reason="Cancelled before it began.", at=now())
        return
    log.info("start %s of planning job %s begins", number, job_id)
    try:
        _plan_until_done(start, should_abort)
        log.info("start %s of planning job %s ended", number, job_id)
    except Superseded:
        log.info("start %s of planning job %s was taken up by another worker", number, job_id)
    except (OperationalError, InterfaceError):
        log.warning(
            "start %s of planning job %s waits for its database, and is then taken up again", number, job_id
        )
        raise
    except Exception:
        log.exception("start %s of planning job %s failed", number, job_id)
        end_start(start, reason="The planner failed; the log of the worker says how.", at=now())


def wait_again(job_id: UUID, number: int) -> None:
    """Back into the queue behind who waits; the start goes on from its best when its turn comes."""
    left = (
        PlanningStart.objects.select_related("job").filter(job=job_id, number=number, ended_at=None).first()
    )
    if left is not None:
        log.info("start %s of planning job %s gives its slot to another crew", number, job_id)
        abandoned_jobs.wake_worker(left)


def _problem_of(start: PlanningStart) -> dict[str, Any]:
    """The job's problem, which its first start draws up for all, as this start's best cuts it."""
    job = start.job
    if job.problem is None:
        problem, made_from = draw_up(job)
        PlanningJob.objects.filter(id=job.id, problem__isnull=True).update(
            problem=write_problem(problem), made_from=made_from
        )
        job.refresh_from_db(fields=["problem", "made_from"])
    return as_cut(job.problem or {}, start.courses or {})


def _request_of(start: PlanningStart) -> dict[str, Any]:
    job = start.job
    return {
        "problem": _problem_of(start),
        "seconds": max(1.0, job.seconds * (1 - start.fraction)),
        "moves": None,
        "seed": job.seed + start.number,
        "threads": settings.PLANNING_THREADS,
        "start": start.best,
        "trade_offs": job.trade_offs,
        "errors": errors_of_request(job.crew_id),
    }


def errors_of_request(crew: UUID) -> dict[str, float]:
    """How far the crew's readings and cuts may be off, as the planner takes it."""
    errors = errors_used(crew).errors
    return {"diameter_mm": errors.diameter_mm, "top_mm": errors.height_mm, "cut_mm": errors.cut_mm}


def _plan_until_done(start: PlanningStart, should_abort: Any) -> None:
    """Plan; a planner that was killed is started again from the best so far."""
    for trial in range(1, _STARTS + 1):
        try:
            _plan(start, _request_of(start), should_abort)
            return
        except PlannerKilled:
            if trial == _STARTS:
                raise
            log.warning(
                "the planner of start %s of job %s was killed; another goes on from its best",
                start.number,
                start.job_id,
            )
            start.refresh_from_db(fields=["fraction", "best", "courses"])


def _plan(start: PlanningStart, request: dict[str, Any], should_abort: Any) -> None:
    if not request["problem"]["logs"]:
        end_start(start, reason="The yards chosen hold no log that is free.", at=now())
        return
    planner, answered = take_planner(), False
    try:
        planner.ask(request)
        answered = _follow(start, planner, should_abort)
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


def _follow(start: PlanningStart, planner: PlannerProcess, should_abort: Any) -> bool:
    """Keep what the planner tells until its answer; whether it then waits for another request."""
    done_before, stopping = start.fraction, False
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
            plan, report = with_sawn_pieces_laid(start.job, event)
            found = StartResult(plan=plan, report=report, courses=event["courses"])
            end_start(start, found=found, at=now())
            return not event["last"]
        if event.get("event") == "failed":
            end_start(start, reason=event["reason"], at=now())
            return not event["last"]
        cancelled = keep_progress(start, event, done_before=done_before)
        if cancelled is None:
            raise Superseded
        if should_abort() and not cancelled:
            # The worker is stopping: the start stays as it is, and another takes it up from its best.
            return False
        if cancelled and not stopping:
            stopping = True
            planner.stop()
