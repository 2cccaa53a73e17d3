"""The mill's form with an order in it as files: CSV, a workbook, a sheet to print."""

from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.describe import describe
from crews.api.files import WORKBOOK, CsvOrProblem, PdfOrProblem, WorkbookOrProblem
from crews.api.render import JsonRenderer
from inventory.order_forms import queries as forms
from inventory.order_forms.queries import FormFile
from inventory.orders.parts import LineOrdersNoLog

FILE_RENDERERS: dict[str, list[type[JsonRenderer]]] = {
    "csv": [JsonRenderer, CsvOrProblem],
    "xlsx": [JsonRenderer, WorkbookOrProblem],
    "pdf": [JsonRenderer, PdfOrProblem],
}


def sent_file(file: FormFile) -> HttpResponse:
    """The file as a download."""
    kind = f"{file.media}; charset=utf-8" if file.media.startswith("text/") else file.media
    headers = {"Content-Disposition": f'attachment; filename="order.{file.ending}"'}
    return HttpResponse(file.content, content_type=kind, headers=headers)


class OrderCsv(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = FILE_RENDERERS["csv"]

    @describe(
        "download_order_csv",
        "The order in the mill's own form as CSV",
        answers={200: OpenApiTypes.STR},
        media="text/csv",
        refusals=[forms.MillHasNoForm, LineOrdersNoLog],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        return sent_file(forms.csv_of(forms.order_to_show(request.crew, id)))


class OrderWorkbook(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = FILE_RENDERERS["xlsx"]

    @describe(
        "download_order_workbook",
        "The order in the mill's own form as an XLSX workbook",
        answers={200: OpenApiTypes.BINARY},
        media=WORKBOOK,
        refusals=[forms.MillHasNoForm, LineOrdersNoLog],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        return sent_file(forms.workbook_of(forms.order_to_show(request.crew, id)))


class OrderPdf(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = FILE_RENDERERS["pdf"]

    @describe(
        "download_order_sheet",
        "The order in the mill's own form as a PDF to print",
        answers={200: OpenApiTypes.BINARY},
        media="application/pdf",
        refusals=[forms.MillHasNoForm, LineOrdersNoLog],
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        return sent_file(forms.sheet_of(forms.order_to_show(request.crew, id)))
