"""Addresses of a cabin's openings: their sheets as an answer, drawn and printed."""

from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.openings.serializers import OpeningSheetsOut
from cabins.walls.queries import NotLaidOut
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import reckoned
from crews.api.describe import describe
from crews.api.files import (
    DXF,
    PDF,
    SVG,
    DxfOrProblem,
    PdfOrProblem,
    SvgOrProblem,
    drawn,
    drawn_for_cad,
    printed,
)
from crews.api.reading import QueryIn
from crews.api.render import JsonRenderer
from crews.api.times import now_there
from inventory.logs.drawing_values import paper_of
from inventory.sheets.serializers import PaperQuery
from planning.openings import sheets
from planning.plans.adoption import PlanStale

_CAUTION = (
    "What may be cut out of a header, and how wide an opening may be, is decided by local code and licensed "
    "practice."
)


class PlanQuery(QueryIn):
    plan = serializers.UUIDField(default=None, help_text="A plan; the cabin's current one if not given.")


class OpeningQuery(PlanQuery):
    opening = serializers.CharField(help_text="The opening's id.")


class OpeningFileQuery(PaperQuery):
    plan = serializers.UUIDField(default=None, help_text="A plan; the cabin's current one if not given.")
    opening = serializers.CharField(help_text="The opening's id.")


class CabinOpenings(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_openings",
        "The sheet of every opening: the hole to leave, what is cut of which log, and what is out of order",
        answers={200: OpeningSheetsOut},
        parameters=[PlanQuery],
        refusals=[NotLaidOut, PlanStale],
        text=_CAUTION,
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return reckoned(sheets.opening_sheets(request.crew, id, **PlanQuery.parse(request)))


class OpeningDrawing(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_opening",
        "One opening with the real logs around it as a drawing, dimensioned",
        answers={200: OpenApiTypes.STR},
        media=SVG,
        parameters=[OpeningQuery],
        refusals=[NotLaidOut, PlanStale],
        text=_CAUTION,
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        return drawn(sheets.opening_drawing(request.crew, id, **OpeningQuery.parse(request)))


class OpeningForCad(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, DxfOrProblem]

    @describe(
        "download_opening",
        "One opening with the real logs around it as DXF, in true millimetres",
        answers={200: OpenApiTypes.BINARY},
        media=DXF,
        parameters=[OpeningQuery],
        refusals=[NotLaidOut, PlanStale],
        text=_CAUTION,
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = OpeningQuery.parse(request)
        return drawn_for_cad(sheets.opening_for_cad(request.crew, id, **asked), name="opening")


class OpeningFile(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, PdfOrProblem]

    @describe(
        "print_opening",
        "The sheet of one opening with its drawing, to be printed",
        answers={200: OpenApiTypes.BINARY},
        media=PDF,
        parameters=[OpeningFileQuery],
        refusals=[NotLaidOut, PlanStale],
        text=_CAUTION,
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = OpeningFileQuery.parse(request)
        paper = paper_of(request.crew, asked.get("paper"))
        pdf = sheets.opening_file(
            request.crew, id, plan=asked["plan"], opening=asked["opening"], paper=paper, at=now_there(asked)
        )
        return printed(pdf, name="opening")
