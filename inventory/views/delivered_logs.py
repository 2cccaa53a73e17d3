"""Addresses of delivered logs: the mill's figures, rejected, taken after all, counted for another line."""

from uuid import UUID

from django.utils.timezone import now
from django_filters import FilterSet
from rest_framework.response import Response
from rest_framework.views import APIView

from config.api.answers import answered
from config.api.describe import describe
from config.api.pages import list_parameters, page
from crews.access import CrewRequest
from crews.models import Role
from inventory.actions import delivered_logs as actions
from inventory.actions.logs import LogInUse
from inventory.actions.moves import LogMoveRefused
from inventory.actions.order_states import OrderMoveRefused
from inventory.queries import deliveries as queries
from inventory.serializers.deliveries import CountForIn, DeliveredLogOut, DeliveredLogPage, RejectIn

_BY_PLACE = {"place": "place"}


class DeliveredLogs(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_delivered_logs",
        "The logs of a delivery with the mill's own figures",
        answers={200: DeliveredLogPage},
        parameters=list_parameters(FilterSet, _BY_PLACE),
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        rows = queries.delivered_logs_of(request.crew, id)
        return Response(page(request, rows, filters=FilterSet, orders=_BY_PLACE))


class RejectLog(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "reject_delivered_log",
        "A delivered log goes back to the mill and is not paid",
        takes=RejectIn,
        answers={200: DeliveredLogOut},
        refusals=[OrderMoveRefused, LogInUse, LogMoveRefused],
        examples=[("Rot", {"reason": "Rot at the butt, a third across."})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        reason = RejectIn.parse(request)["reason"]
        actions.reject_log(crew=request.crew, id=id, reason=reason, member=request.member, at=now())
        return answered(queries.delivered_log_row(request.crew, id))


class AcceptLog(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "accept_delivered_log",
        "A rejected log is taken after all",
        answers={200: DeliveredLogOut},
        refusals=[OrderMoveRefused, actions.LogTakenBack, LogInUse, LogMoveRefused],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.accept_log(crew=request.crew, id=id, member=request.member, at=now())
        return answered(queries.delivered_log_row(request.crew, id))


class CountFor(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "count_delivered_log_for_line",
        "A delivered log counts for another line of its order than the one it seemed to be for",
        takes=CountForIn,
        answers={200: DeliveredLogOut},
        refusals=[OrderMoveRefused],
        examples=[("For the second line", {"line": 2})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        line = CountForIn.parse(request)["line"]
        actions.count_for_line(crew=request.crew, id=id, line=line, member=request.member, at=now())
        return answered(queries.delivered_log_row(request.crew, id))
