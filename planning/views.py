"""Addresses of planning jobs, plans and promises."""

from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from config.api.answers import answered
from config.api.describe import describe
from config.api.pages import fast_page, list_parameters, page
from crews.access import CrewRequest
from crews.models import Role
from crews.versioned_rows import one_of
from inventory.drawn import units_of
from planning import actions, adoption, queries, sheet_texts, sheets
from planning.filters import JobFilters, PieceFilters, PlanFilters, PromiseFilters
from planning.models import Plan
from planning.presets import presets
from planning.serializers import (
    PlannedPiecePage,
    PlanningJobIn,
    PlanningJobOut,
    PlanningJobPage,
    PlanPage,
    PresetsOut,
    PromiseOut,
    PromisePage,
    WholePlanOut,
)
from planning.sheet_serializers import HeightsQuery, PlanHeightsOut, SettingSheetOut, SheetQuery

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
        return Response(page(request, queries.jobs_of(request.crew), filters=JobFilters, orders=_BY_AGE))

    @describe(
        "ask_for_plan",
        "Ask for a plan: which log goes where in these cabins",
        takes=PlanningJobIn,
        answers={202: PlanningJobOut},
        examples=[("Half a minute for one cabin", _JOB_EXAMPLE)],
        text="Taken into the queue; follow it at the address in `Location`. The same id gives the same job.",
    )
    def post(self, request: CrewRequest) -> Response:
        asked = PlanningJobIn.parse(request)
        job, _ = actions.ask_for_plan(
            crew=request.crew, id=asked.pop("id"), asked=asked, asked_by=request.member, at=now()
        )
        answer = answered(queries.job_row(request.crew, job.id), status=202)
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

    @describe("show_planning_job", "How far a planning job is", answers={200: PlanningJobOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.job_row(request.crew, id))


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
        return answered(queries.job_row(request.crew, id))


class JobProblem(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_planning_problem",
        "The problem of a planning job as a file `wall-problem/1`",
        answers={200: {"type": "object", "additionalProperties": True}},
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response(queries.job_problem(request.crew, id))


class Plans(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_plans",
        "Plans of the crew",
        answers={200: PlanPage},
        parameters=list_parameters(PlanFilters, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(page(request, queries.plans_of(request.crew), filters=PlanFilters, orders=_BY_AGE))


class OnePlan(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe("show_plan", "One plan: how good it is and what it is short of", answers={200: WholePlanOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.plan_row(request.crew, id))


class PlanPieces(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_plan_pieces",
        "Which part of which log goes where",
        answers={200: PlannedPiecePage},
        parameters=list_parameters(PieceFilters, _BY_PLACE),
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        one_of(Plan, crew=request.crew, id=id)
        given = {"crew": request.crew.id, "plan": id}
        return Response(
            fast_page(request, queries.pieces_listed, filters=PieceFilters, orders=_BY_PLACE, **given)
        )


class PlanFile(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_plan_file",
        "The plan as a file `wall-plan/1`",
        answers={200: {"type": "object", "additionalProperties": True}},
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response(queries.plan_file(request.crew, id))


class PlanHeights(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_plan_heights",
        "Heights at every corner after every round, notches and levels of a plan",
        answers={200: PlanHeightsOut},
        parameters=[HeightsQuery],
        refusals=[adoption.PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        asked = HeightsQuery.parse(request)
        answer = sheets.plan_heights(*sheets.plan_and_cabin(request.crew, id, asked["cabin"]))
        return Response(sheet_texts.plan_heights_told(units_of(request.crew), answer))


class PlanSettingSheet(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_plan_setting_sheet",
        "The setting sheet of a round as this plan has it",
        answers={200: SettingSheetOut},
        parameters=[SheetQuery],
        refusals=[adoption.PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        asked = SheetQuery.parse(request)
        plan, cabin = sheets.plan_and_cabin(request.crew, id, asked["cabin"])
        sheet = sheets.setting_sheet(plan, cabin, asked["round"], rig=SheetQuery.rig(asked))
        return Response(sheet_texts.setting_sheet_told(units_of(request.crew), sheet))


class AdoptPlan(APIView):
    required_roles = {"POST": Role.LEAD}

    @describe(
        "adopt_plan",
        "Adopt a plan: its logs are promised to its cabins",
        answers={200: WholePlanOut},
        refusals=[adoption.PlanStale, adoption.LogAlreadyPromised, adoption.PlanAlreadyReplaced],
        text="Adopting the same plan again changes nothing.",
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        adoption.adopt_plan(crew=request.crew, id=id, adopted_by=request.member, at=now())
        return answered(queries.plan_row(request.crew, id))


class Promises(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_promises",
        "Which log is promised to which cabin",
        answers={200: PromisePage},
        parameters=list_parameters(PromiseFilters, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = queries.promises_of(request.crew)
        return Response(page(request, rows, filters=PromiseFilters, orders=_BY_AGE))


class ReleasePromise(APIView):
    required_roles = {"POST": Role.LEAD}

    @describe(
        "release_promise", "Take a log back from the cabin it is promised to", answers={200: PromiseOut}
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        adoption.release_promise(crew=request.crew, id=id, at=now())
        return answered(queries.promise_row(request.crew, id))
