"""The address of a cabin's gables: their logs, cuts and heights, and what bears on them."""

from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.walls.queries import NotLaidOut
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import reckoned
from crews.api.describe import describe
from planning.gables import sheets
from planning.gables.serializers import GablesOut
from planning.openings.views import PlanQuery
from planning.plans.adoption import PlanStale


class GablesView(APIView):
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
        return reckoned(sheets.gables_answer(request.crew, id, **PlanQuery.parse(request)))
