"""Addresses of planning jobs."""

from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered, reckoned, without_noise
from crews.api.describe import describe
from crews.api.paging import list_parameters, page
from crews.api.waiting import PREFER, answer_when
from planning.filters import JobFilters
from planning.jobs import actions
from planning.jobs import queries as job_queries
from planning.jobs.presets import presets
from planning.jobs.serializers import PlanningJobIn, PlanningJobOut, PlanningJobPage, PresetsOut

_BY_AGE = {"created_at": "created_at"}

_BY_PLACE = {"place": "id"}

_JOB_EXAMPLE = {
    "id": "b5a7c1de-0c1b-4d3a-8f6e-2f6a3c9d1e00",
    "cabins": ["0f8b7c66-3f2e-4a6d-9d0c-7b1a5e2c4d10"],
    "yards": ["6c2d9e01-5b7a-4f38-8a1d-3e4f5a6b7c80"],
    "seconds": 30,
    "seed": 7,
}


class PlanningJobs(APIView):
    required_roles = {"GET": Role.LEARNER, "POST": Role.BUILDER}

    @describe(
        "list_planning_jobs",
        "Planning jobs of the crew",
        answers={200: PlanningJobPage},
        parameters=list_parameters(JobFilters, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        return reckoned(page(request, job_queries.jobs_of(request.crew), filters=JobFilters, orders=_BY_AGE))

    @describe(
        "ask_for_plan",
        "Ask for a plan: which log goes where in these cabins",
        takes=PlanningJobIn,
        answers={202: PlanningJobOut},
        refusals=[actions.TooManyPlanningJobs],
        examples=[("Half a minute for one cabin", _JOB_EXAMPLE)],
        text="Taken into the queue; follow it at the address in `Location`. The same id gives the same job.",
    )
    def post(self, request: CrewRequest) -> Response:
        asked = PlanningJobIn.parse(request)
        job, _ = actions.ask_for_plan(
            crew=request.crew, id=asked.pop("id"), asked=asked, asked_by=request.member, at=now()
        )
        answer = answered(job_queries.job_row(request.crew, job.id), status=202)
        answer["Location"] = f"/api/v1/planning-jobs/{job.id}"
        return answer


class PlanningPresets(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_planning_presets", "Named sets of weights and what each is for", answers={200: PresetsOut}
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(presets())


class OnePlanningJob(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_planning_job",
        "How far a planning job is",
        answers={200: PlanningJobOut},
        parameters=[PREFER],
        text="Who waits is answered once the job has ended.",
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answer_when(
            request,
            lambda: job_queries.job_row(request.crew, id),
            there=lambda job: job["ended_at"] is not None,
            tell=lambda job: answered(without_noise(job)),
        )


class CancelPlanning(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "cancel_planning",
        "Stop a planning job; its best plan so far is kept",
        answers={200: PlanningJobOut},
        refusals=[actions.JobEnded],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.cancel_planning(crew=request.crew, id=id)
        return answered(without_noise(job_queries.job_row(request.crew, id)))


class JobProblem(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_planning_problem",
        "The problem of a planning job as a file `wall-problem/1`",
        answers={200: {"type": "object", "additionalProperties": True}},
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response(job_queries.job_problem(request.crew, id))
