"""Addresses of the yard's printed sheets and drawings."""

from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.describe import describe
from crews.api.files import PDF, SVG, PdfOrProblem, SvgOrProblem, drawn, printed
from crews.api.render import JsonRenderer
from crews.api.times import now_there
from inventory.logs.drawing_values import paper_of
from inventory.sheets.queries import blank_chart_file, labels_file, yard_chart_file, yard_drawing
from inventory.sheets.serializers import PaperQuery, YardSheetQuery


class YardChartSheet(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, PdfOrProblem]

    @describe(
        "print_yard_chart",
        "The logs that lie in a yard as a sheet to print",
        answers={200: OpenApiTypes.BINARY},
        media=PDF,
        parameters=[YardSheetQuery],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = YardSheetQuery.parse(request)
        paper = paper_of(request.crew, asked.get("paper"))
        return printed(
            yard_chart_file(request.crew, id, rack=asked["rack"], paper=paper, at=now_there(asked)),
            name="yard-chart",
        )


class Labels(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, PdfOrProblem]

    @describe(
        "print_labels",
        "Labels for the logs of a yard, each with a QR code that leads to its log",
        answers={200: OpenApiTypes.BINARY},
        media=PDF,
        parameters=[YardSheetQuery],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        asked = YardSheetQuery.parse(request)
        file = labels_file(
            request.crew,
            id,
            rack=asked["rack"],
            address_of=lambda log: request.build_absolute_uri(f"/logs/{log}"),
            paper=paper_of(request.crew, asked.get("paper")),
            at=now_there(asked),
        )
        return printed(file, name="labels")


class BlankChart(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, PdfOrProblem]

    @describe(
        "print_blank_chart",
        "A chart to fill in by hand, in the crew's units",
        answers={200: OpenApiTypes.BINARY},
        media=PDF,
        parameters=[PaperQuery],
    )
    def get(self, request: CrewRequest) -> HttpResponse:
        asked = PaperQuery.parse(request)
        paper = paper_of(request.crew, asked.get("paper"))
        return printed(blank_chart_file(request.crew, paper=paper, at=now_there(asked)), name="blank-chart")


class YardDrawing(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_yard",
        "The yard's logs by middle and by length, free and reserved, as a drawing",
        answers={200: OpenApiTypes.STR},
        media=SVG,
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        return drawn(yard_drawing(request.crew, id))
