"""The address where a log is written off, for planning knows what it was promised to."""

from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from config.api.answers import answered_row
from config.api.describe import describe
from crews.access import CrewRequest
from crews.models import Role
from inventory.queries.logs import log_answer
from inventory.serializers.logs import LogOut, ReasonIn
from inventory.views.logs import MOVE_REFUSALS
from planning.losses import write_off_log


class WriteOff(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "write_off_log",
        "A log is gone: split, sold, stolen, rotten, burnt",
        takes=ReasonIn,
        answers={200: LogOut},
        refusals=MOVE_REFUSALS,
        examples=[("Sold", {"reason": "Sold to a neighbour for a bench."})],
        text="If it was promised to a cabin, the promise ends with `log_gone`, and the sheets of that cabin "
        "say that its place wants another log.",
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        write_off_log(crew=request.crew, id=id, at=now(), **ReasonIn.parse(request))
        return answered_row(log_answer(request.crew, id))
