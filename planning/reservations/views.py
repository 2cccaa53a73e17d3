"""Addresses of reservations, and of logs that are written off although reserved."""

from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered, answered_row
from crews.api.describe import describe
from crews.history.sync import synced_page, synced_parameters
from inventory.logs.queries import log_answer
from inventory.logs.serializers import LogOut, ReasonIn
from inventory.logs.views import MOVE_REFUSALS
from planning.filters import ReservationFilters
from planning.plans import adoption
from planning.reservations import queries as reservation_queries
from planning.reservations.losses import write_off_log
from planning.reservations.serializers import ReservationOut, ReservationPage

_BY_AGE = {"created_at": "created_at"}

_BY_PLACE = {"place": "id"}


class Reservations(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_reservations",
        "Which log is reserved for which cabin",
        answers={200: ReservationPage},
        parameters=synced_parameters(ReservationFilters, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = reservation_queries.reservations_of(request.crew)
        return Response(synced_page(request, rows, filters=ReservationFilters, orders=_BY_AGE))


class ReleaseReservation(APIView):
    required_roles = {"POST": Role.LEAD}

    @describe(
        "release_reservation",
        "Take a log back from the cabin it is reserved for",
        answers={200: ReservationOut},
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        adoption.release_reservation(crew=request.crew, id=id, at=now())
        return answered(reservation_queries.reservation_row(request.crew, id))


class WriteOff(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "write_off_log",
        "A log is gone: split, sold, stolen, rotten, burnt",
        takes=ReasonIn,
        answers={200: LogOut},
        refusals=MOVE_REFUSALS,
        examples=[("Sold", {"reason": "Sold to a neighbour for a bench."})],
        text="If it was reserved for a cabin, the reservation ends with `log_gone`, and the sheets of that "
        "cabin say that its place wants another log.",
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        write_off_log(crew=request.crew, id=id, at=now(), **ReasonIn.parse(request))
        return answered_row(log_answer(request.crew, id))
