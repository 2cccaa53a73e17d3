"""Addresses of the plan's printed sheets: setting sheet, cut list, storey-pole marks."""

from uuid import UUID

from django.http import HttpResponse
from django.utils.timezone import now
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.views import APIView

from config.api.describe import describe
from config.api.files import PDF, PdfOrProblem, printed
from config.api.render import JsonRenderer
from crews.access import CrewRequest
from crews.models import Role
from inventory.drawn import paper_of
from inventory.serializers.printed import PaperQuery
from planning import sheet_files
from planning.adoption import PlanStale
from planning.sheets import NoPlanYet


class PlanSheetQuery(PaperQuery):
    plan = serializers.UUIDField(default=None, help_text="The cabin's current plan if not given.")


class RoundSheetQuery(PlanSheetQuery):
    round = serializers.IntegerField(min_value=0, max_value=1000)


class SettingSheetFile(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, PdfOrProblem]

    @describe(
        "print_setting_sheet",
        "The setting sheet of a round in big type, with boxes for what is built",
        answers={200: OpenApiTypes.BINARY},
        media=PDF,
        parameters=[RoundSheetQuery],
        refusals=[NoPlanYet, PlanStale],
        text="Weights are estimates: plan every lift on the top of the range, under local rules.",
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = RoundSheetQuery.parse(request)
        paper = paper_of(request.crew, asked.get("paper"))
        pdf = sheet_files.setting_sheet_file(
            request.crew, id, plan=asked["plan"], round_number=asked["round"], paper=paper, at=now()
        )
        return printed(pdf, name=f"setting-sheet-round-{asked['round']}")


class CutListFile(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, PdfOrProblem]

    @describe(
        "print_cut_list",
        "Every log still to be cut for a cabin, with each cut from its butt end",
        answers={200: OpenApiTypes.BINARY},
        media=PDF,
        parameters=[PlanSheetQuery],
        refusals=[NoPlanYet, PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = PlanSheetQuery.parse(request)
        paper = paper_of(request.crew, asked.get("paper"))
        pdf = sheet_files.cut_list_file(request.crew, id, plan=asked["plan"], paper=paper, at=now())
        return printed(pdf, name="cut-list")


class StoreyPoleFile(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, PdfOrProblem]

    @describe(
        "print_storey_pole",
        "Marks for a storey pole at each corner: the tops to reach, from the heights measured",
        answers={200: OpenApiTypes.BINARY},
        media=PDF,
        parameters=[PlanSheetQuery],
        refusals=[NoPlanYet, PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = PlanSheetQuery.parse(request)
        paper = paper_of(request.crew, asked.get("paper"))
        pdf = sheet_files.storey_pole_file(request.crew, id, plan=asked["plan"], paper=paper, at=now())
        return printed(pdf, name="storey-pole")
