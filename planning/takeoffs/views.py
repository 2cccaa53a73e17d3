"""The address of take-offs: computed from what is sent and what lies in the yards, never stored."""

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.layouts.views import RECTANGLE
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import reckoned
from crews.api.describe import describe
from crews.api.files import WORKBOOK, WorkbookOrProblem, tabled
from crews.api.problems import InvalidInput
from crews.api.render import JsonRenderer
from planning.takeoffs.queries import take_off_answer, takeoff_workbook
from planning.takeoffs.serializers import TakeOffIn, TakeOffOut

_STORED_EXAMPLE = {
    "cabins": ["0f8b7c66-3f2e-4a6d-9d0c-7b1a5e2c4d10"],
    "yards": ["6c2d9e01-5b7a-4f38-8a1d-3e4f5a6b7c80"],
    "species": "Lodgepole pine",
    "class_step_mm": "2 ft",
    "spare": {"rounds": 2},
    "members": [
        {"id": "ridge", "kind": "ridge", "length_mm": "24 ft", "least_middle_mm": "12 in"},
        {"id": "P", "kind": "purlin", "length_mm": 7200, "least_middle_mm": 240, "count": 4},
    ],
}
_SKETCH_EXAMPLE = {
    "layouts": [{"name": "A rectangle with a door", "layout": RECTANGLE}],
    "class_step_mm": 500,
    "spare": {"percent": 10},
}


class TakeOffs(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "take_off",
        "How many logs cabins need, by length class and middle diameter, and what the yards cover",
        takes=TakeOffIn,
        answers={200: TakeOffOut},
        refusals=[InvalidInput],
        examples=[("A cabin against a yard", _STORED_EXAMPLE), ("Before any log exists", _SKETCH_EXAMPLE)],
        text="Computed and not stored. `order` has what the yards do not cover, as an order takes it.",
    )
    def post(self, request: CrewRequest) -> Response:
        return reckoned(
            take_off_answer(request.crew, TakeOffIn.parse(request, context={"crew": request.crew}))
        )


class TakeOffWorkbook(APIView):
    required_roles = {"POST": Role.LEARNER}
    renderer_classes = [JsonRenderer, WorkbookOrProblem]

    @describe(
        "download_take_off",
        "A take-off as an XLSX workbook: what is short and to be ordered as formulas that add up",
        takes=TakeOffIn,
        answers={200: OpenApiTypes.BINARY},
        answers_media=WORKBOOK,
        refusals=[InvalidInput],
        examples=[("A cabin against a yard", _STORED_EXAMPLE)],
    )
    def post(self, request: CrewRequest) -> HttpResponse:
        asked = TakeOffIn.parse(request, context={"crew": request.crew})
        return tabled(takeoff_workbook(request.crew, asked), name="take-off")
