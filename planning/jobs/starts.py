"""The independent starts of a planning job: taken up, followed and ended; the last one ends the job."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from planning.jobs.models import JobState, PlanningJob, PlanningStart
from planning.jobs.results import as_cut, is_layout_changed, store_plan


@dataclass(frozen=True, slots=True, kw_only=True)
class StartResult:
    """What a start came to. `courses`: how the plan cuts them, by cabin; where it says nothing of one, as the
    job's problem has it."""

    plan: dict[str, Any]
    report: dict[str, Any]
    courses: dict[str, Any]


def take_up(job: UUID, number: int, *, at: datetime) -> PlanningStart | None:
    """Begin a start, or go on with one that another worker left; None where it has ended."""
    run = uuid4()
    if not PlanningStart.objects.filter(job=job, number=number, ended_at=None).update(run=run):
        return None
    PlanningJob.objects.filter(id=job, state=JobState.WAITING).update(state=JobState.RUNNING, started_at=at)
    taken = PlanningStart.objects.select_related("job__crew").filter(job=job, number=number, run=run)
    return taken.order_by("number").first()


@transaction.atomic
def keep_progress(start: PlanningStart, event: dict[str, Any], *, done_before: float) -> bool | None:
    """Store what the planner told; whether the job is to be cancelled, None if not ours any more."""
    if event:
        _lock(start)
        fields: dict[str, Any] = {
            "fraction": done_before + (1 - done_before) * event["fraction"],
            "moves": event["moves"],
            "objective": event.get("objective"),
            "feasible": event.get("feasible"),
        }
        if event.get("plan"):
            fields["best"] = event["plan"]
        if event.get("courses"):
            fields["courses"] = event["courses"]
        if not PlanningStart.objects.filter(id=start.id, run=start.run).update(**fields):
            return None
        PlanningJob.objects.filter(id=start.job_id).update(**_so_far(start.job.searches.all()))
    elif not PlanningStart.objects.filter(id=start.id, run=start.run).exists():
        return None
    return PlanningJob.objects.values_list("cancel_asked", flat=True).get(id=start.job_id)


@transaction.atomic
def end_start(
    start: PlanningStart, *, at: datetime, found: StartResult | None = None, reason: str = ""
) -> None:
    """Keep what the start came to, unless another run has taken it over; end the job if it was the last."""
    job = _lock(start)
    fields: dict[str, Any] = {"ended_at": at, "reason": reason}
    if found is not None:
        fields |= {
            "fraction": 1,
            "objective": found.report["objective"],
            "feasible": found.report["feasible"],
            "best": found.plan,
            "courses": found.courses,
            "report": found.report,
        }
    if not PlanningStart.objects.filter(id=start.id, run=start.run, ended_at=None).update(**fields):
        return
    if job.cancel_asked:
        # Those that nobody began need no worker for it.
        job.searches.filter(run=None, ended_at=None).update(ended_at=at)
    if job.searches.filter(ended_at=None).exists():
        PlanningJob.objects.filter(id=job.id).update(**_so_far(job.searches.all()))
    else:
        _end_job(job, at=at)


def _lock(start: PlanningStart) -> PlanningJob:
    """The job, held before any of its starts: in the same order by all that write both."""
    return PlanningJob.objects.select_for_update(of=("self",)).select_related("crew").get(id=start.job_id)


def _best(starts: Iterable[PlanningStart]) -> PlanningStart | None:
    """The start whose plan the judge finds best so far: one that keeps every rule goes first."""
    judged = [start for start in starts if start.objective is not None]
    return min(judged, key=lambda start: (not start.feasible, start.objective, start.number), default=None)


def _so_far(searches: Iterable[PlanningStart]) -> dict[str, Any]:
    """The job's own figures: of all its starts together, and of the best."""
    starts = list(searches)
    best = _best(starts)
    return {
        "fraction": sum(start.fraction for start in starts) / len(starts),
        "moves": sum(start.moves for start in starts),
        "objective": None if best is None else best.objective,
        "feasible": None if best is None else best.feasible,
    }


def _end_job(job: PlanningJob, *, at: datetime) -> None:
    """Store the best plan of the job's starts with its pieces, and end the job."""
    starts = list(job.searches.order_by("number"))
    best = _best(start for start in starts if start.report is not None)
    reason = next((start.reason for start in starts if start.reason), "")
    state = JobState.CANCELLED if job.cancel_asked else JobState.FAILED
    fields: dict[str, Any] = {}
    if best is not None and is_layout_changed(job):
        state, reason = JobState.FAILED, "A layout was changed while the plan was made."
    elif best is not None and best.report is not None:
        problem = as_cut(job.problem or {}, best.courses or {})
        store_plan(
            job, id=uuid4(), plan=best.best or {}, report=best.report, problem=problem,
            made_from=job.made_from, at=at,
        )  # fmt: skip
        fields = _so_far(starts) | {"fraction": 1, "problem": problem, "best": best.best}
        state = JobState.CANCELLED if job.cancel_asked else JobState.DONE
        reason = "Cancelled; the best plan so far was kept." if job.cancel_asked else ""
    PlanningJob.objects.filter(id=job.id).update(state=state, reason=reason, ended_at=at, **fields)
    job.searches.all().delete()
