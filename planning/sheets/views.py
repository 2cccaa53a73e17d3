"""Addresses of a plan's printed sheets and drawings."""

from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.views import APIView

from cabins.core.drawings.whole import SIDES
from cabins.walls.queries import NotLaidOut
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.describe import describe
from crews.api.files import (
    DXF,
    GLB,
    PDF,
    SVG,
    DxfOrProblem,
    GlbOrProblem,
    PdfOrProblem,
    SvgOrProblem,
    drawn,
    drawn_for_cad,
    modelled,
    printed,
)
from crews.api.reading import QueryIn
from crews.api.render import JsonRenderer
from crews.api.times import now_there
from inventory.logs.drawing_values import paper_of
from inventory.sheets.serializers import PaperQuery
from planning.plans.adoption import PlanStale
from planning.sheets import drawings, files
from planning.sheets.queries import NoPlanYet


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
        pdf = files.setting_sheet_file(
            request.crew,
            id,
            plan=asked["plan"],
            round_number=asked["round"],
            paper=paper,
            at=now_there(asked),
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
        pdf = files.cut_list_file(request.crew, id, plan=asked["plan"], paper=paper, at=now_there(asked))
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
        pdf = files.storey_pole_file(request.crew, id, plan=asked["plan"], paper=paper, at=now_there(asked))
        return printed(pdf, name="storey-pole")


_SHOWN = (
    "What is set, reserved by the adopted plan (or proposed by the plan named) and empty is told apart by "
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


class ElevationForCad(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, DxfOrProblem]

    @describe(
        "download_elevation",
        "A wall's elevation as DXF, in true millimetres: a block for each log with its notches",
        answers={200: OpenApiTypes.BINARY},
        media=DXF,
        parameters=[ElevationQuery],
        refusals=[NotLaidOut, PlanStale],
        text="Notches and structure are decided by local code and licensed practice.",
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = ElevationQuery.parse(request)
        wall = asked.pop("wall")
        shown = drawings.wall_shown(request.crew, id, **asked)
        return drawn_for_cad(drawings.elevation_for_cad(shown, wall), name="elevation")


class WholeDrawingQuery(ShownQuery):
    side = serializers.ChoiceField(SIDES, default=1, help_text="From which of four sides.")


class WholeDrawing(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_whole_cabin",
        "The whole cabin with its real logs from above one of its corners, as a drawing",
        answers={200: OpenApiTypes.STR},
        media=SVG,
        parameters=[WholeDrawingQuery],
        refusals=[NotLaidOut, PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = WholeDrawingQuery.parse(request)
        side = asked.pop("side")
        return drawn(drawings.whole_of(drawings.wall_shown(request.crew, id, **asked), side))


class CabinModel(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, GlbOrProblem]

    @describe(
        "make_cabin_model",
        "The whole cabin with its real logs as a 3D file (GLB), which any viewer opens",
        answers={200: OpenApiTypes.BINARY},
        media=GLB,
        parameters=[ShownQuery],
        refusals=[NotLaidOut, PlanStale],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        shown = drawings.wall_shown(request.crew, id, **ShownQuery.parse(request))
        return modelled(drawings.model_of(shown), name="cabin")


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
