"""The address of a cabin's printed record."""

from uuid import UUID

from django.http import HttpResponse
from django.utils.timezone import now
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.views import APIView

from cabins import queries
from cabins.queries.record import record_file
from cabins.serializers.queries import SETTLING_PARAMETERS, SettlingQuery
from config.api.describe import describe
from config.api.files import PDF, PdfOrProblem, printed
from config.api.render import JsonRenderer
from crews.access import CrewRequest
from crews.models import Role
from inventory.core.printed.press import Paper
from inventory.drawn import paper_of
from inventory.serializers.printed import PAPER_HELP, PAPERS


class RecordQuery(SettlingQuery):
    paper = serializers.ChoiceField(PAPERS, required=False)


_PAPER = OpenApiParameter("paper", {"type": "string", "enum": [*Paper]}, description=PAPER_HELP)


class CabinRecord(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, PdfOrProblem]

    @describe(
        "print_cabin_record",
        "The cabin's record, to hand over with the building: as built, who set what, heights, settling",
        answers={200: OpenApiTypes.BINARY},
        media=PDF,
        parameters=[*SETTLING_PARAMETERS, _PAPER],
        refusals=[queries.NotLaidOut],
        text="Where settling cannot be reckoned, the record says why. Local code decides.",
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        cabin = queries.cabin_of(request.crew, id)
        asked = RecordQuery.parse(request)
        paper = paper_of(request.crew, asked.pop("paper", None))
        return printed(record_file(cabin, paper=paper, at=now(), **asked), name="cabin-record")
