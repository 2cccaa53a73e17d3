"""The address of a cabin's gables: their logs, cuts and heights, and what bears on them."""

from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.queries import NotLaidOut
from cabins.serializers.gables import GablesOut
from config.api.describe import describe
from crews.access import CrewRequest
from crews.models import Role
from planning import gable_sheets
from planning.adoption import PlanStale
from planning.opening_views import PlanQuery


class Gables(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_gables",
        "Gables of logs under the roof line: each log's length, cuts and height; ridge and purlins",
        answers={200: GablesOut},
        parameters=[PlanQuery],
        refusals=[NotLaidOut, PlanStale],
        text="Without a roof line there are none. Structure is decided by local code and licensed practice.",
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response(gable_sheets.gables_answer(request.crew, id, **PlanQuery.parse(request)))
