"""Charts: a yard's logs as CSV, in and out; one log's line as it is said."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse, StreamingHttpResponse
from django.utils.timezone import now
from drf_spectacular.types import OpenApiTypes
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.describe import describe
from crews.api.files import WORKBOOK, CsvOrProblem, WorkbookOrProblem, tabled
from crews.api.render import CsvParser, JsonRenderer
from inventory.charts.actions import Chart, import_chart
from inventory.charts.queries import chart_of_yard, chart_workbook, spoken_log
from inventory.charts.serializers import ChartOut, ChartOutQuery, ChartQuery, SpokenLineIn, SpokenLineOut
from inventory.core.measure import Unit
from inventory.logs.checks import DoubtsUnconfirmed

_EXAMPLE = """number,rack,length,butt,middle,tip,hazards,remarks
A1,R1,19' 4",12 1/2,11 5/8,10 3/4,,straight
A2,R1,17' 0",11-7/8",11 1/4,10 1/2,"metal 14' 2"" face left","wire, grown in"
"""


class YardChart(APIView):
    required_roles = {"GET": Role.LEARNER, "POST": Role.LEARNER}
    parser_classes = [CsvParser]
    renderer_classes = [JsonRenderer, CsvOrProblem]

    @describe(
        "export_chart",
        "The yard's logs as a chart that imports to the same yard",
        answers={200: OpenApiTypes.STR},
        parameters=[ChartOutQuery],
        media="text/csv",
        streamed=True,
    )
    def get(self, request: CrewRequest, id: UUID) -> StreamingHttpResponse:
        unit = Unit(ChartOutQuery.parse(request).get("unit", request.crew.length_unit))
        parts = chart_of_yard(request.crew, id, unit=unit)
        headers = {"Content-Disposition": 'attachment; filename="chart.csv"'}
        return StreamingHttpResponse(parts, content_type="text/csv; charset=utf-8", headers=headers)

    @describe(
        "import_chart",
        "Bring the yard's logs to what a chart says",
        takes=OpenApiTypes.STR,
        media="text/csv",
        answers={200: ChartOut},
        parameters=[ChartQuery],
        refusals=[DoubtsUnconfirmed],
        examples=[("In feet and inches", _EXAMPLE)],
        text="Every row is checked before any is stored. The same chart again changes nothing; a changed row "
        "changes its log and keeps the earlier measurement. Faults and doubts carry `row`, `column` and "
        "`read`.",
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        asked = ChartQuery.parse(request)
        confirmed, check_only = asked.pop("confirm_doubtful"), asked.pop("check_only")
        unit = Unit(asked.pop("unit", request.crew.length_unit))
        file: Any = request.data or b""  # without a body there is nothing to parse, and an empty dict
        return Response(
            import_chart(
                Chart(file=file, unit=unit, **asked),
                crew=request.crew,
                member=request.member,
                yard=id,
                confirmed=confirmed,
                check_only=check_only,
                at=now(),
            )
        )


_SAID = (
    "seventeen, butt fifteen, middle thirteen and three quarters, tip thirteen, length seventeen eight, "
    "slight crown, wire four foot two from the butt, top"
)


class SpokenLine(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "read_chart_line",
        "A log's line as it is said or typed, read into fields",
        takes=SpokenLineIn,
        answers={200: SpokenLineOut},
        examples=[("As it is said", {"line": _SAID})],
        text="Nothing is stored. What is not sure is asked, never guessed.",
    )
    def post(self, request: CrewRequest) -> Response:
        asked = SpokenLineIn.parse(request)
        return Response(spoken_log(request.crew, asked["line"], yard=asked["yard"]))


class YardChartWorkbook(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, WorkbookOrProblem]

    @describe(
        "download_chart",
        "The yard's logs as an XLSX workbook, lengths and diameters as numbers",
        answers={200: OpenApiTypes.BINARY},
        parameters=[ChartOutQuery],
        media=WORKBOOK,
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        unit = Unit(ChartOutQuery.parse(request).get("unit", request.crew.length_unit))
        return tabled(chart_workbook(request.crew, id, unit=unit), name="chart")
