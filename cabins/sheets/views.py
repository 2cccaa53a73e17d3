"""Addresses of a cabin's sheets, drawings and record."""

from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.cabins import queries as cabin_queries
from cabins.sheets import drawings, texts
from cabins.sheets import queries as sheet_queries
from cabins.sheets import settling as sheet_settling
from cabins.sheets.parameters import (
    CORNER_PARAMETERS,
    SETTLING_PARAMETERS,
    SHEET_PARAMETERS,
    CornerQuery,
    SettlingQuery,
    SheetQuery,
)
from cabins.sheets.record import record_file
from cabins.sheets.serializers import CornerSheetOut, SettlingSheetOut, SheetOut
from cabins.walls import queries as wall_queries
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.accounts.versioned_rows import one_of
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
from crews.api.render import JsonRenderer
from crews.api.times import ZONE_HELP, ZoneField, now_there
from inventory.core.printed.press import Paper
from inventory.logs.drawing_values import paper_of, units_of
from inventory.logs.models import Log
from inventory.sheets.serializers import PAPER_HELP, PAPERS


class Sheet(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "try_log",
        "The sheet of any log tried in any place: heights to reach, notches for them, what is in the way",
        answers={200: SheetOut},
        parameters=SHEET_PARAMETERS,
        refusals=[wall_queries.NotLaidOut],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        cabin = cabin_queries.cabin_of(request.crew, id)
        asked = SheetQuery.parse(request)
        place = cabin_queries.place_of(cabin, asked.pop("wall"), asked.pop("round"), asked.pop("piece"))
        log = one_of(Log, crew=request.crew, id=asked.pop("log"))
        answer = sheet_queries.next_sheet(cabin, place, log, **asked)
        return reckoned(texts.sheet_told(units_of(request.crew), answer))


class CornerSheetView(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_corner",
        "The sheet of a corner or tee: every notch and what remains; it adds up to the wall's height",
        answers={200: CornerSheetOut},
        parameters=CORNER_PARAMETERS,
        refusals=[wall_queries.NotLaidOut],
    )
    def get(self, request: CrewRequest, id: UUID, corner: str) -> Response:
        cabin = cabin_queries.cabin_of(request.crew, id)
        answer = sheet_queries.corner_answer(cabin, corner, **CornerQuery.parse(request))
        return reckoned(texts.corner_told(units_of(request.crew), answer))


class Settling(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_settling",
        "How much space to leave by a named rule, and how far the walls will come down",
        answers={200: SettlingSheetOut},
        parameters=SETTLING_PARAMETERS,
        refusals=[wall_queries.NotLaidOut, sheet_queries.CannotReckon],
        text="Two different things, side by side: the allowance by a rule (local code first), and the "
        "prediction by shrinkage and bedding down, with its range. Local code and licensed practice decide.",
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        cabin = cabin_queries.cabin_of(request.crew, id)
        answer = sheet_settling.settling_answer(cabin, **SettlingQuery.parse(request))
        return reckoned(texts.settling_told(units_of(request.crew), answer))


class RecordQuery(SettlingQuery):
    paper = serializers.ChoiceField(PAPERS, required=False)
    zone = ZoneField(required=False, max_length=60)


_PAPER = OpenApiParameter("paper", {"type": "string", "enum": [*Paper]}, description=PAPER_HELP)
_ZONE = OpenApiParameter("zone", {"type": "string", "maxLength": 60, "minLength": 1}, description=ZONE_HELP)


class CabinRecordView(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, PdfOrProblem]

    @describe(
        "print_cabin_record",
        "The cabin's record, to hand over with the building: as built, who set what, heights, settling",
        answers={200: OpenApiTypes.BINARY},
        media=PDF,
        parameters=[*SETTLING_PARAMETERS, _PAPER, _ZONE],
        refusals=[wall_queries.NotLaidOut],
        text="Where settling cannot be reckoned, the record says why. Local code decides.",
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        cabin = cabin_queries.cabin_of(request.crew, id)
        asked = RecordQuery.parse(request)
        paper, at = paper_of(request.crew, asked.pop("paper", None)), now_there(asked)
        asked.pop("zone", None)
        return printed(record_file(cabin, paper=paper, at=at, **asked), name="cabin-record")


class FloorPlan(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_floor_plan",
        "The cabin's floor plan as a drawing",
        answers={200: OpenApiTypes.STR},
        media=SVG,
        refusals=[wall_queries.NotLaidOut],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        return drawn(drawings.floor_plan(cabin_queries.cabin_of(request.crew, id)))


class FloorPlanForCad(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, DxfOrProblem]

    @describe(
        "download_floor_plan",
        "The cabin's floor plan as DXF, in true millimetres",
        answers={200: OpenApiTypes.BINARY},
        media=DXF,
        refusals=[wall_queries.NotLaidOut],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        plan = drawings.floor_plan_for_cad(cabin_queries.cabin_of(request.crew, id))
        return drawn_for_cad(plan, name="floor-plan")


class SettlingDrawing(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_settling",
        "Heights measured over time, and where every round is expected once dry, as a drawing",
        answers={200: OpenApiTypes.STR},
        media=SVG,
        parameters=SETTLING_PARAMETERS,
        refusals=[wall_queries.NotLaidOut, sheet_queries.CannotReckon],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        cabin = cabin_queries.cabin_of(request.crew, id)
        return drawn(drawings.settling_drawing(cabin, **SettlingQuery.parse(request)))
