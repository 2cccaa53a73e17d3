"""Addresses that say how far cabins are."""

from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.cabins import queries as cabin_queries
from cabins.progress import queries as progress_queries
from cabins.progress.serializers import CrewProgressOut, ProgressOut, RoundsOut
from cabins.walls import queries as wall_queries
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import reckoned
from crews.api.describe import describe


class CabinProgress(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_progress", "How far a cabin is: rounds, logs, level and height", answers={200: ProgressOut}
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return reckoned(progress_queries.cabin_progress(cabin_queries.cabin_of(request.crew, id)))


class CrewProgress(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_crew_progress",
        "How far all cabins of the crew are, in one answer",
        answers={200: CrewProgressOut},
    )
    def get(self, request: CrewRequest) -> Response:
        return reckoned({"cabins": progress_queries.crew_progress(request.crew)})


class Rounds(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_rounds",
        "Every round of a cabin: what is filled, when it was complete, how high its walls stand",
        answers={200: RoundsOut},
        refusals=[wall_queries.NotLaidOut],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return reckoned({"rounds": progress_queries.cabin_rounds(cabin_queries.cabin_of(request.crew, id))})
