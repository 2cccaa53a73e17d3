"""Addresses that say how far cabins are."""

from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from cabins import queries
from cabins.serializers.progress import CrewProgressOut, ProgressOut, RoundsOut
from config.api.describe import describe
from crews.access import CrewRequest
from crews.models import Role


class CabinProgress(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_progress", "How far a cabin is: rounds, logs, level and height", answers={200: ProgressOut}
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response(queries.cabin_progress(queries.cabin_of(request.crew, id)))


class CrewProgress(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_crew_progress",
        "How far all cabins of the crew are, in one answer",
        answers={200: CrewProgressOut},
    )
    def get(self, request: CrewRequest) -> Response:
        return Response({"cabins": queries.crew_progress(request.crew)})


class Rounds(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_rounds",
        "Every round of a cabin: what is filled, when it was complete, how high its walls stand",
        answers={200: RoundsOut},
        refusals=[queries.NotLaidOut],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response({"rounds": queries.cabin_rounds(queries.cabin_of(request.crew, id))})
