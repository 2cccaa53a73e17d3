"""Reads of planning jobs."""

from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.api.problems import NotFound
from planning.jobs.models import PlanningJob

_JOB = [
    "id", "cabins", "yards", "excluded", "pinned", "scope", "preset", "weights", "trade_offs", "spare_rounds",
    "seconds", "seed", "starts", "asked_by", "state", "cancel_asked", "reason", "fraction", "moves",
    "objective", "feasible", "started_at", "ended_at", "version", "created_at", "changed_at",
]  # fmt: skip


def jobs_of(crew: Crew) -> QuerySet[PlanningJob, Any]:
    return PlanningJob.objects.of(crew).values(*_JOB, plan_id=F("plan__id"))


def job_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(jobs_of(crew), id)


def job_problem(crew: Crew, id: UUID) -> dict[str, Any]:
    """The problem file of a job that a worker has taken up."""
    problem = PlanningJob.objects.of(crew).filter(id=id).values_list("problem", flat=True).first()
    if problem is None:
        raise NotFound("This job has no problem yet: no worker has taken it up.")
    return problem
