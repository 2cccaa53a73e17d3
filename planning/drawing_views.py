"""Addresses of drawings that show what is planned beside what stands."""

from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.views import APIView

from cabins.queries import NotLaidOut
from config.api.describe import describe
from config.api.files import SVG, SvgOrProblem, drawn
from config.api.reading import QueryIn
from config.api.render import JsonRenderer
from crews.access import CrewRequest
from crews.models import Role
from planning import drawings
from planning.adoption import PlanStale

_SHOWN = (
    "What is set, promised by the adopted plan (or proposed by the plan named) and empty is told apart by "
    "line and hatch; heights are those measured, else those that the logs give."
)


class ShownQuery(QueryIn):
    plan = serializers.UUIDField(
        default=None, help_text="A plan to draw; the cabin's current one if not given."
    )
    as_built = serializers.BooleanField(default=False, help_text="Leave out what is only planned.")


class ElevationQuery(ShownQuery):
    wall = serializers.CharField(help_text="The wall's id.")


class CornerDrawingQuery(ShownQuery):
    corner = serializers.CharField(help_text="A corner's id, or a tee's: `P-A`.")


class ElevationDrawing(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_elevation",
        "A wall's elevation as a drawing: its real logs with their taper and height",
        answers={200: OpenApiTypes.STR},
        media=SVG,
        parameters=[ElevationQuery],
        refusals=[NotLaidOut, PlanStale],
        text=_SHOWN,
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = ElevationQuery.parse(request)
        wall = asked.pop("wall")
        return drawn(drawings.elevation_of(drawings.wall_shown(request.crew, id, **asked), wall))


class CornerDrawing(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_corner",
        "A corner's stack of logs from both sides as a drawing: every notch with its depth, and the heights",
        answers={200: OpenApiTypes.STR},
        media=SVG,
        parameters=[CornerDrawingQuery],
        refusals=[NotLaidOut, PlanStale],
        text=_SHOWN,
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = CornerDrawingQuery.parse(request)
        corner = asked.pop("corner")
        return drawn(drawings.corner_of(drawings.wall_shown(request.crew, id, **asked), corner))


class LevelsDrawing(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_levels",
        "Level of each wall round by round as a drawing",
        answers={200: OpenApiTypes.STR},
        media=SVG,
        parameters=[ShownQuery],
        refusals=[NotLaidOut, PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        shown = drawings.wall_shown(request.crew, id, **ShownQuery.parse(request))
        return drawn(drawings.levels_of(shown))


class LogDrawing(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_log",
        "A log as a drawing: stations, crown, dangers, pieces cut and to be cut, balance points",
        answers={200: OpenApiTypes.STR},
        media=SVG,
        text="Balance points are estimates; lift plans are made by competent people under local rules.",
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        return drawn(drawings.log_drawing(request.crew, id))
