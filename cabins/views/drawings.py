"""Addresses of drawings of a cabin that need no plan."""

from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework.views import APIView

from cabins import queries
from cabins.queries import drawings
from cabins.serializers.queries import SETTLING_PARAMETERS, SettlingQuery
from config.api.describe import describe
from config.api.files import SVG, SvgOrProblem, drawn
from config.api.render import JsonRenderer
from crews.access import CrewRequest
from crews.models import Role


class FloorPlan(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_floor_plan",
        "The cabin's floor plan as a drawing",
        answers={200: OpenApiTypes.STR},
        media=SVG,
        refusals=[queries.NotLaidOut],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        return drawn(drawings.floor_plan(queries.cabin_of(request.crew, id)))


class SettlingDrawing(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_settling",
        "Heights measured over time, and where every round is expected once dry, as a drawing",
        answers={200: OpenApiTypes.STR},
        media=SVG,
        parameters=SETTLING_PARAMETERS,
        refusals=[queries.NotLaidOut, queries.CannotReckon],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        cabin = queries.cabin_of(request.crew, id)
        return drawn(drawings.settling_drawing(cabin, **SettlingQuery.parse(request)))
