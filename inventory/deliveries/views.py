"""Addresses of deliveries and of the logs they brought."""

from functools import partial
from uuid import UUID

from django.utils.timezone import now
from django_filters import FilterSet
from drf_spectacular.types import OpenApiTypes
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.files import WORKBOOK
from crews.api.render import CsvParser
from crews.api.versions import VersionNeeded, VersionStale, if_match
from crews.history.sync import synced_page, synced_parameters
from inventory.deliveries import actions, delivered_logs, queries
from inventory.deliveries.reconciliation import account_of
from inventory.deliveries.serializers import (
    CountForIn,
    DeliveredLogOut,
    DeliveredLogPage,
    DeliveryIn,
    DeliveryOut,
    DeliveryPage,
    ReceiveIn,
    ReconciliationOut,
    RejectIn,
)
from inventory.filters import DeliveryFilters
from inventory.logs.actions import LogInUse
from inventory.logs.moves import LogMoveRefused
from inventory.orders.parts import LineOrdersNoLog
from inventory.orders.states import Doer, OrderMoveRefused

_VERSIONS = (VersionNeeded, VersionStale)

_BY_AGE = {"created_at": "created_at"}

_BY_PLACE = {"place": "place"}

TALLY_REFUSALS = (
    *_VERSIONS,
    OrderMoveRefused,
    actions.DeliveryReceived,
    actions.MillFormReadsNoTally,
)

TALLY_TEXT = (
    f"The file is CSV, or a workbook (`{WORKBOOK}`), in the columns of the form the order went out in. "
    "Every row is checked before any is stored; faults carry `row`, `column` and `read`. The same file again "
    "changes nothing; another one before the delivery is received replaces it and needs `If-Match`."
)

TALLY_EXAMPLE = "Species,Length,Mid (in),Pcs,BF\nwhite spruce,20' 6\",12 1/8,1,91\n"


class WorkbookParser(CsvParser):
    """Hands a workbook on as bytes."""

    media_type = WORKBOOK


def sent_bytes(request: Request) -> bytes:
    """The body as it came; both parsers hand it on as bytes."""
    return bytes(request.data)  # type: ignore[arg-type]  # DRF types what its own parsers give


class Deliveries(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_deliveries",
        "The crew's deliveries",
        answers={200: DeliveryPage},
        parameters=synced_parameters(DeliveryFilters, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = queries.deliveries_of(request.crew)
        return Response(synced_page(request, rows, filters=DeliveryFilters, orders=_BY_AGE))


class OneDelivery(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.BUILDER}

    @describe("show_delivery", "One delivery", answers={200: DeliveryOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.delivery_row(request.crew, id))

    @describe(
        "put_delivery",
        "A truck is to come, for a mill that says so by word",
        takes=DeliveryIn,
        answers={200: DeliveryOut, 201: DeliveryOut},
        versioned=True,
        refusals=[*_VERSIONS, OrderMoveRefused],
        examples=[
            ("A truck", {"order": "3f0c2f5e-6f0b-4a57-9a53-0d1c4f1f8a11", "expected_on": "2026-06-03"})
        ],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = DeliveryIn.parse_put(request, partial(queries.delivery_row, request.crew, id))
        by = Doer(member=request.member)
        created = actions.announce_delivery(
            crew=request.crew, id=id, fields=fields, by=by, expected=if_match(request), at=now()
        )
        return answered(queries.delivery_row(request.crew, id), created=created)


class DeliveryTally(APIView):
    required_roles = {"PUT": Role.BUILDER}
    parser_classes = [CsvParser, WorkbookParser]

    @describe(
        "put_tally",
        "The mill's tally of a delivery, in the mill's own columns",
        takes=OpenApiTypes.STR,
        media="text/csv",
        answers={200: DeliveryOut},
        versioned=True,
        refusals=TALLY_REFUSALS,
        examples=[("In feet and inches", TALLY_EXAMPLE)],
        text=TALLY_TEXT,
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        file, by = sent_bytes(request), Doer(member=request.member)
        actions.post_tally(crew=request.crew, id=id, file=file, by=by, expected=if_match(request), at=now())
        return answered(queries.delivery_row(request.crew, id))


class ReceiveDelivery(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "receive_delivery",
        "The logs of a tally lie on a rack, numbered on in the yard's sequence",
        takes=ReceiveIn,
        answers={200: DeliveryOut},
        refusals=[OrderMoveRefused, actions.DeliveryNotTallied],
        examples=[("Onto a rack", {"rack": "3f0c2f5e-6f0b-4a57-9a53-0d1c4f1f8a11", "first_number": "C1"})],
        text="Each log starts with the mill's figures, `charted_by` the tally of its mill, until the crew "
        "measures it; what the mill did not measure is filled in by the taper of the order's terms.",
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        asked = ReceiveIn.parse(request)
        actions.receive_delivery(crew=request.crew, id=id, member=request.member, at=now(), **asked)
        return answered(queries.delivery_row(request.crew, id))


class OrderAccount(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_reconciliation",
        "Ordered against delivered: what the mill still owes, what is to be paid, the mill's scale and ours",
        answers={200: ReconciliationOut},
        text="Adds up to the log (`ordered + over = accepted + short`, `delivered = accepted + rejected`) "
        "and to the cent (`billed = to pay + rejected`, `to pay = ours + difference`); totals sum the lines.",
        refusals=[LineOrdersNoLog],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response(account_of(request.crew, id))


class DeliveredLogs(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_delivered_logs",
        "The logs of a delivery with the mill's own figures",
        answers={200: DeliveredLogPage},
        parameters=synced_parameters(FilterSet, _BY_PLACE),
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        rows = queries.delivered_logs_of(request.crew, id)
        return Response(synced_page(request, rows, filters=FilterSet, orders=_BY_PLACE))


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
        delivered_logs.reject_log(crew=request.crew, id=id, reason=reason, member=request.member, at=now())
        return answered(queries.delivered_log_row(request.crew, id))


class AcceptLog(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "accept_delivered_log",
        "A rejected log is taken after all",
        answers={200: DeliveredLogOut},
        refusals=[OrderMoveRefused, delivered_logs.LogTakenBack, LogInUse, LogMoveRefused],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        delivered_logs.accept_log(crew=request.crew, id=id, member=request.member, at=now())
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
        delivered_logs.count_for_line(crew=request.crew, id=id, line=line, member=request.member, at=now())
        return answered(queries.delivered_log_row(request.crew, id))
