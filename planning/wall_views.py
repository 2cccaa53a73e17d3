"""Addresses at the wall: logs set as the plan knows them, the next log, the round's setting sheet."""

from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.models import Cabin
from config.api.describe import describe
from crews.access import CrewRequest
from crews.keeping import one_of
from crews.models import Role
from planning import sheets
from planning.adoption import PlanStale
from planning.serializers import NextLogOut, RoundQuery, SettingSheetOut


class CabinSettingSheet(APIView):
    needs = {"GET": Role.LEARNER}

    @describe(
        "show_setting_sheet",
        "The setting sheet of a round: the adopted plan's logs, heights from what was really measured",
        answers={200: SettingSheetOut},
        parameters=[RoundQuery],
        refusals=[sheets.NoPlanYet, PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        asked = RoundQuery.parse(request)
        cabin = one_of(Cabin, crew=request.crew, id=id)
        return Response(sheets.setting_sheet(sheets.current_plan(cabin), cabin, asked["round"]))


class NextLog(APIView):
    needs = {"GET": Role.LEARNER}

    @describe(
        "show_next_log",
        "The log to set next: its sheet, and what each end must reach from the heights measured",
        answers={200: NextLogOut},
        refusals=[sheets.NoPlanYet, PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        cabin = one_of(Cabin, crew=request.crew, id=id)
        return Response(sheets.next_log(sheets.current_plan(cabin), cabin))
