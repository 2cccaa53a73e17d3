"""Addresses of set logs; planning adds how one is set, for it looks at reservations and at the plan."""

from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.filters import SetLogFilters
from cabins.set_logs import queries
from cabins.set_logs.serializers import LogPiecesOut, SetLogOut, SetLogPage
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.history.sync import synced_page, synced_parameters

_ORDERS = {"set_at": "set_at", "round": "round"}


class SetLogs(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_set_logs",
        "Logs recorded as set, undone ones too",
        answers={200: SetLogPage},
        parameters=synced_parameters(SetLogFilters, _ORDERS),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(synced_page(request, queries.set_logs_listed, filters=SetLogFilters, orders=_ORDERS))


class OneSetLog(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe("show_set_log", "One set log", answers={200: SetLogOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.set_log_row(request.crew, id))


class LogPieces(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_log_pieces", "What is cut from a log, and what is left of it", answers={200: LogPiecesOut}
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response(queries.log_pieces(request.crew, id))
