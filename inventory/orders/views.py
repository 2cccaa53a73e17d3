"""Addresses of orders: their lines, figures, states, and the mill's form with the order in it."""

from functools import partial
from uuid import UUID

from django.http import HttpResponse
from django.utils.timezone import now
from django_filters import FilterSet
from drf_spectacular.types import OpenApiTypes
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.files import WORKBOOK, WorkbookOrProblem, tabled
from crews.api.paging import list_parameters, page
from crews.api.render import JsonRenderer
from crews.api.versions import VersionNeeded, VersionStale, if_match
from crews.history.sync import synced_page, synced_parameters
from inventory.filters import OrderFilters
from inventory.mills.serializers import FilledFormOut
from inventory.order_forms import queries as forms
from inventory.orders import actions, queries
from inventory.orders.parts import LineOrdersNoLog
from inventory.orders.serializers import (
    LinesIn,
    LinesOut,
    OrderEntryPage,
    OrderFiguresOut,
    OrderFiguresQuery,
    OrderIn,
    OrderOut,
    OrderPage,
    OrderReasonIn,
)
from inventory.orders.states import OrderMoveRefused
from inventory.yards.actions import NameTaken

_VERSIONS = (VersionNeeded, VersionStale)
_ORDERS = {"created_at": "created_at", "name": "name"}
_BY_STEP = {"step": "step"}
_ORDER = {
    "mill": "3f0c2f5e-6f0b-4a57-9a53-0d1c4f1f8a11",
    "name": "Bunkhouse, spring",
    "currency": "CAD",
    "price_by": "board_foot",
    "wanted_on": "2026-06-01",
}
_LINE = {
    "species": "white spruce",
    "length_mm": "20' 6\"",
    "least_middle_mm": "11 in",
    "largest_middle_mm": "13 in",
    "count": 24,
    "price": "0.85",
    "note": "straight, for sills",
}


class Orders(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_orders",
        "The crew's orders",
        answers={200: OrderPage},
        parameters=synced_parameters(OrderFilters, _ORDERS),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(
            synced_page(request, queries.orders_of(request.crew), filters=OrderFilters, orders=_ORDERS)
        )


class OneOrder(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.BUILDER}

    @describe("show_order", "One order", answers={200: OrderOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.order_row(request.crew, id))

    @describe(
        "put_order",
        "Begin an order, or change it; once sent only its date and remarks change",
        takes=OrderIn,
        answers={200: OrderOut, 201: OrderOut},
        versioned=True,
        refusals=[*_VERSIONS, NameTaken, OrderMoveRefused],
        examples=[("Paid by the board foot", _ORDER)],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = OrderIn.parse_put(request, partial(queries.order_row, request.crew, id))
        expected = if_match(request)
        created = actions.put_order(crew=request.crew, id=id, fields=fields, expected=expected, at=now())
        return answered(queries.order_row(request.crew, id), created=created)


class OrderLines(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.BUILDER}

    @describe("show_order_lines", "The lines of an order", answers={200: LinesOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.lines_of_order(request.crew, id))

    @describe(
        "put_order_lines",
        "Put all lines of a draft, in the order in which they are numbered",
        takes=LinesIn,
        answers={200: LinesOut},
        versioned=True,
        refusals=[*_VERSIONS, OrderMoveRefused],
        examples=[("One class", {"lines": [_LINE]})],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        lines, expected = LinesIn.parse(request)["lines"], if_match(request)
        actions.put_lines(crew=request.crew, id=id, lines=lines, expected=expected, at=now())
        return answered(queries.lines_of_order(request.crew, id))


class OrderFigures(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_order_figures",
        "Volume by the mill's rule, running lengths, weight range, truckloads and money of an order",
        answers={200: OrderFiguresOut},
        refusals=[LineOrdersNoLog],
        parameters=[OrderFiguresQuery],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        payload_kg = OrderFiguresQuery.parse(request).get("payload_kg")
        return Response(queries.figures_of(request.crew, id, payload_kg=payload_kg))


class OrderFiguresWorkbook(APIView):
    required_roles = {"GET": Role.LEARNER}
    renderer_classes = [JsonRenderer, WorkbookOrProblem]

    @describe(
        "download_order_figures",
        "The lines of an order with their figures as an XLSX workbook, amounts and sums as formulas",
        answers={200: OpenApiTypes.BINARY},
        refusals=[LineOrdersNoLog],
        media=WORKBOOK,
    )
    def get(self, request: CrewRequest, id: UUID) -> HttpResponse:
        return tabled(queries.figures_workbook(request.crew, id), name="order-figures")


class OrderHistory(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_order_history",
        "What became of an order, who did it and when",
        answers={200: OrderEntryPage},
        parameters=list_parameters(FilterSet, _BY_STEP),
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        rows = queries.history_of(request.crew, id)
        return Response(page(request, rows, filters=FilterSet, orders=_BY_STEP))


class SendOrder(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "send_order",
        "The order goes out to the mill; its form and terms are kept as they are",
        answers={200: OrderOut},
        refusals=[OrderMoveRefused, actions.OrderWithoutLines],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.send_order(crew=request.crew, id=id, member=request.member, at=now())
        return answered(queries.order_row(request.crew, id))


class ConfirmOrder(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "confirm_order",
        "Write down that the mill confirmed all lines, for a mill that says so by word",
        answers={200: OrderOut},
        refusals=[OrderMoveRefused, actions.ProposalsOpen],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.confirm_order(crew=request.crew, id=id, member=request.member, at=now())
        return answered(queries.order_row(request.crew, id))


class WithdrawOrder(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "withdraw_order",
        "The order is off, before anything was delivered",
        takes=OrderReasonIn,
        answers={200: OrderOut},
        refusals=[OrderMoveRefused],
        examples=[("Another mill", {"reason": "The other mill has them sooner."})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        reason = OrderReasonIn.parse(request)["reason"]
        actions.withdraw_order(crew=request.crew, id=id, member=request.member, reason=reason, at=now())
        return answered(queries.order_row(request.crew, id))


class CloseOrder(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "close_order",
        "Nothing more is expected of the order, even if it is short",
        takes=OrderReasonIn,
        answers={200: OrderOut},
        refusals=[OrderMoveRefused],
        examples=[("Settled", {"reason": "Two short; the mill takes them off the bill."})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        reason = OrderReasonIn.parse(request)["reason"]
        actions.close_order(crew=request.crew, id=id, member=request.member, reason=reason, at=now())
        return answered(queries.order_row(request.crew, id))


class OrderForm(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_order_form",
        "The order in the mill's own form, as rows of texts",
        answers={200: FilledFormOut},
        refusals=[forms.MillHasNoForm, LineOrdersNoLog],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response(forms.form_as_row(forms.order_to_show(request.crew, id)))
