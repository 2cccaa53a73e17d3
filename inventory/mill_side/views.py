"""What a mill's key opens: its order, confirming, proposing, announcing, and the tally. Nothing else."""

from functools import partial
from uuid import UUID

from django.http import HttpResponse
from django.utils.timezone import now
from django_filters import FilterSet
from drf_spectacular.types import OpenApiTypes
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.files import WORKBOOK
from crews.api.paging import list_parameters, page
from crews.api.render import CsvParser
from crews.api.versions import VersionNeeded, VersionStale, if_match
from inventory.deliveries import actions as delivering
from inventory.deliveries.queries import delivery_row
from inventory.deliveries.serializers import DeliveryOut, MillDeliveryIn
from inventory.deliveries.views import TALLY_EXAMPLE, TALLY_REFUSALS, TALLY_TEXT, WorkbookParser, sent_bytes
from inventory.mill_side import actions, queries
from inventory.mill_side.access import MillKeyAuthentication, MillKeyOpens, MillRequest
from inventory.mill_side.serializers import ConfirmIn, MillOrderOut, ProposalIn, ProposalOut, ProposalPage
from inventory.mills.serializers import FilledFormOut
from inventory.order_forms import queries as forms
from inventory.order_forms.views import FILE_RENDERERS, sent_file
from inventory.orders.actions import ProposalsOpen
from inventory.orders.states import Doer, OrderMoveRefused

_VERSIONS = (VersionNeeded, VersionStale)
_BY_AGE = {"created_at": "created_at"}


class _MillView(APIView):
    """An address that a mill's key opens, and no other key."""

    authentication_classes = [MillKeyAuthentication]
    permission_classes = [MillKeyOpens]


class MillOrder(_MillView):
    @describe("show_mill_order", "The order this key opens", answers={200: MillOrderOut})
    def get(self, request: MillRequest) -> Response:
        return answered(queries.order_for_mill(request.order))


class MillOrderForm(_MillView):
    @describe(
        "show_mill_order_form",
        "The order in your own form, as rows of texts",
        answers={200: FilledFormOut},
        refusals=[forms.MillHasNoForm],
    )
    def get(self, request: MillRequest) -> Response:
        return Response(forms.form_as_row(request.order))


class MillOrderCsv(_MillView):
    renderer_classes = FILE_RENDERERS["csv"]

    @describe(
        "download_mill_order_csv",
        "The order in your own form as CSV",
        answers={200: OpenApiTypes.STR},
        media="text/csv",
        refusals=[forms.MillHasNoForm],
    )
    def get(self, request: MillRequest) -> HttpResponse:
        return sent_file(forms.csv_of(request.order))


class MillOrderWorkbook(_MillView):
    renderer_classes = FILE_RENDERERS["xlsx"]

    @describe(
        "download_mill_order_workbook",
        "The order in your own form as an XLSX workbook",
        answers={200: OpenApiTypes.BINARY},
        media=WORKBOOK,
        refusals=[forms.MillHasNoForm],
    )
    def get(self, request: MillRequest) -> HttpResponse:
        return sent_file(forms.workbook_of(request.order))


class MillOrderPdf(_MillView):
    renderer_classes = FILE_RENDERERS["pdf"]

    @describe(
        "download_mill_order_sheet",
        "The order in your own form as a PDF to print",
        answers={200: OpenApiTypes.BINARY},
        media="application/pdf",
        refusals=[forms.MillHasNoForm],
    )
    def get(self, request: MillRequest) -> HttpResponse:
        return sent_file(forms.sheet_of(request.order))


class MillConfirm(_MillView):
    @describe(
        "confirm_lines",
        "Confirm lines of the order; with the last one the order is confirmed",
        takes=ConfirmIn,
        answers={200: MillOrderOut},
        refusals=[OrderMoveRefused, ProposalsOpen],
        examples=[("Two lines", {"lines": [1, 2]})],
    )
    def post(self, request: MillRequest) -> Response:
        lines = ConfirmIn.parse(request)["lines"]
        actions.mill_confirms(key=request.mill_key, lines=lines, at=now())
        request.order.refresh_from_db()
        return answered(queries.order_for_mill(request.order))


class MillProposals(_MillView):
    @describe(
        "list_own_proposals",
        "What was proposed for this order, and what the crew said",
        answers={200: ProposalPage},
        parameters=list_parameters(FilterSet, _BY_AGE),
    )
    def get(self, request: MillRequest) -> Response:
        rows = queries.proposals_of(request.order.crew, request.order.id)
        return Response(page(request, rows, filters=FilterSet, orders=_BY_AGE))


class MillProposal(_MillView):
    @describe(
        "propose_change",
        "Propose another length or count of a line, or another date; the crew answers",
        takes=ProposalIn,
        answers={200: ProposalOut, 201: ProposalOut},
        refusals=[OrderMoveRefused, actions.ProposalFixed],
        examples=[("Two fewer", {"line": 1, "count": 22, "reason": "No more of that thickness this month."})],
    )
    def put(self, request: MillRequest, id: UUID) -> Response:
        fields = ProposalIn.parse(request)
        created = actions.propose_change(key=request.mill_key, id=id, fields=fields, at=now())
        row = queries.proposal_row(request.order.crew, id, order=request.order.id)
        return answered(row, created=created)


class MillDelivery(_MillView):
    @describe("show_own_delivery", "One delivery of this order", answers={200: DeliveryOut})
    def get(self, request: MillRequest, id: UUID) -> Response:
        return answered(delivery_row(request.order.crew, id, order=request.order.id))

    @describe(
        "announce_delivery",
        "Announce a truck",
        takes=MillDeliveryIn,
        answers={200: DeliveryOut, 201: DeliveryOut},
        versioned=True,
        refusals=[*_VERSIONS, OrderMoveRefused],
        examples=[("A truck", {"expected_on": "2026-06-03", "remarks": "Needs a loader at the gate."})],
    )
    def put(self, request: MillRequest, id: UUID) -> Response:
        order, crew = request.order, request.order.crew
        sent = MillDeliveryIn.parse_put(request, partial(delivery_row, crew, id, order=order.id))
        fields, by = {"order": order.id, **sent}, Doer(mill_key=request.mill_key)
        created = delivering.announce_delivery(
            crew=crew, id=id, fields=fields, by=by, expected=if_match(request), at=now()
        )
        return answered(delivery_row(crew, id, order=order.id), created=created)


class MillTally(_MillView):
    parser_classes = [CsvParser, WorkbookParser]

    @describe(
        "post_own_tally",
        "The tally of a delivery, in your own columns",
        takes=OpenApiTypes.STR,
        media="text/csv",
        answers={200: DeliveryOut},
        versioned=True,
        refusals=TALLY_REFUSALS,
        examples=[("In feet and inches", TALLY_EXAMPLE)],
        text=TALLY_TEXT,
    )
    def put(self, request: MillRequest, id: UUID) -> Response:
        crew, by = request.order.crew, Doer(mill_key=request.mill_key)
        delivery_row(crew, id, order=request.order.id)  # another order's delivery is not there for this key
        delivering.post_tally(
            crew=crew, id=id, file=sent_bytes(request), by=by, expected=if_match(request), at=now()
        )
        return answered(delivery_row(crew, id, order=request.order.id))
