"""Addresses of drawings of the yard."""

from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework.views import APIView

from config.api.describe import describe
from config.api.files import SVG, SvgOrProblem, drawn
from config.api.render import JsonRenderer
from crews.access import CrewRequest
from crews.models import Role
from inventory.queries.drawings import yard_drawing


class YardDrawing(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, SvgOrProblem]

    @describe(
        "draw_yard",
        "The yard's logs by middle and by length, free and promised, as a drawing",
        answers={200: OpenApiTypes.STR},
        media=SVG,
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        return drawn(yard_drawing(request.crew, id))
