"""Addresses of plans: read, compared, adopted."""

from typing import Any
from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.accounts.versioned_rows import one_of
from crews.api.answers import answered, reckoned, without_noise
from crews.api.describe import describe
from crews.api.paging import fast_page, list_parameters
from crews.history.sync import synced_page, synced_parameters
from inventory.logs.drawing_values import units_of
from planning.filters import PieceFilters, PlanFilters
from planning.plans import adoption
from planning.plans import queries as plan_queries
from planning.plans.models import Plan
from planning.plans.serializers import PlannedPiecePage, PlanPage, WholePlanOut
from planning.sheets import queries as sheets
from planning.sheets import texts
from planning.sheets.serializers import HeightsQuery, PlanHeightsOut, SettingSheetOut, SheetOfPlanQuery

_BY_AGE = {"created_at": "created_at"}

_BY_PLACE = {"place": "id"}


class Plans(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_plans",
        "Plans of the crew",
        answers={200: PlanPage},
        parameters=synced_parameters(PlanFilters, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        return reckoned(
            synced_page(request, plan_queries.plans_of(request.crew), filters=PlanFilters, orders=_BY_AGE)
        )


class OnePlan(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe("show_plan", "One plan: how good it is and what it is short of", answers={200: WholePlanOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(without_noise(plan_queries.plan_row(request.crew, id)))


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
        given: dict[str, Any] = {"crew": request.crew.id, "plan": id}
        return Response(
            fast_page(request, plan_queries.pieces_listed, filters=PieceFilters, orders=_BY_PLACE, **given)
        )


class PlanFile(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_plan_file",
        "The plan as a file `wall-plan/1`",
        answers={200: {"type": "object", "additionalProperties": True}},
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response(plan_queries.plan_file(request.crew, id))


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
        return reckoned(texts.plan_heights_told(units_of(request.crew), answer))


class PlanSettingSheet(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_plan_setting_sheet",
        "The setting sheet of a round as this plan has it",
        answers={200: SettingSheetOut},
        parameters=[SheetOfPlanQuery],
        refusals=[adoption.PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        asked = SheetOfPlanQuery.parse(request)
        plan, cabin = sheets.plan_and_cabin(request.crew, id, asked["cabin"])
        sheet = sheets.setting_sheet(plan, cabin, asked["round"], rig=SheetOfPlanQuery.rig(asked))
        return reckoned(texts.setting_sheet_told(units_of(request.crew), sheet))


class AdoptPlan(APIView):
    required_roles = {"POST": Role.LEAD}

    @describe(
        "adopt_plan",
        "Adopt a plan: its logs are reserved for its cabins",
        answers={200: WholePlanOut},
        refusals=[adoption.PlanStale, adoption.LogAlreadyReserved, adoption.PlanAlreadyReplaced],
        text="Adopting the same plan again changes nothing.",
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        adoption.adopt_plan(crew=request.crew, id=id, adopted_by=request.member, at=now())
        return answered(without_noise(plan_queries.plan_row(request.crew, id)))
