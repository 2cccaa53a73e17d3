"""Addresses of logs and of their measurements."""

from collections.abc import Sequence
from functools import partial
from typing import Any
from uuid import UUID

import orjson
from django.http import HttpRequest
from django.utils.timezone import now
from django_filters import FilterSet
from rest_framework.exceptions import APIException
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered_row
from crews.api.describe import describe
from crews.api.paging import list_parameters, page
from crews.api.problems import Refusal
from crews.api.versions import VersionNeeded, VersionStale, if_match
from crews.history.sync import synced_page, synced_parameters
from inventory.filters import LogFilters
from inventory.logs import actions, queries
from inventory.logs.checks import DoubtsUnconfirmed
from inventory.logs.moves import LogMoveRefused
from inventory.logs.new_logs import LogAsked, chart_new_logs
from inventory.logs.queries import log_answers
from inventory.logs.serializers import LogIn, LogOut, LogPage, MeasurementPage, ReasonIn, ReturnIn

_CHART_REFUSALS = (VersionNeeded, VersionStale, DoubtsUnconfirmed, actions.LogNumberTaken)

MOVE_REFUSALS = (actions.LogInUse, LogMoveRefused)

_ORDERS = {
    "number": "number_order",
    "middle": "middle_mm",
    "length": "length_mm",
    "created_at": "created_at",
}

_BY_VERSION = {"measures_version": "measures_version"}

_EXAMPLE = {
    "yard": "3f0c2f5e-6f0b-4a57-9a53-0d1c4f1f8a11",
    "number": "A12",
    "length_mm": "19' 4\"",
    "butt_mm": "12 1/2 in",
    "middle_mm": "11 5/8 in",
    "tip_mm": 272,
    "crown_mm": 18,
    "crown_side": "top",
    "hazards": [{"kind": "metal", "from_butt_mm": 4310, "face": "left"}],
}


def asked_of(sent: Any, request: HttpRequest | Request, *, partial: bool = False) -> dict[str, Any]:
    """What an action needs to know of a request about a log's measures, beside who asks."""
    fields = LogIn.read(sent, partial=partial)
    confirmed = fields.pop("confirm_doubtful", False)
    return {
        "fields": fields,
        "confirmed": confirmed,
        "expected": if_match(request),
        "at": now(),
    }


class Logs(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_logs",
        "The crew's logs",
        answers={200: LogPage},
        parameters=synced_parameters(LogFilters, _ORDERS),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(synced_page(request, queries.logs_listed, filters=LogFilters, orders=_ORDERS))


class OneLog(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.LEARNER, "PATCH": Role.LEARNER}

    @describe("show_log", "One log", answers={200: LogOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered_row(queries.log_answer(request.crew, id))

    @describe(
        "put_log",
        "Chart a log, or change it as a whole",
        takes=LogIn,
        answers={200: LogOut, 201: LogOut},
        versioned=True,
        refusals=_CHART_REFUSALS,
        examples=[("A log with grown-in wire", _EXAMPLE)],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        sent = LogIn.with_stored(request.data, partial(queries.log_row, request.crew, id))
        asked = asked_of(sent, request)
        created = actions.put_log(crew=request.crew, member=request.member, id=id, **asked)
        return answered_row(queries.log_answer(request.crew, id), created=created)

    @describe(
        "change_log",
        "Change some of what is known of a log: its rack, remarks, or single measures",
        takes=LogIn,
        answers={200: LogOut},
        versioned=True,
        refusals=_CHART_REFUSALS,
        examples=[("Measured again", {"middle_mm": "11 3/4 in", "charted_by": "Wren"})],
    )
    def patch(self, request: CrewRequest, id: UUID) -> Response:
        asked = asked_of(request.data, request, partial=True)
        actions.change_log(crew=request.crew, member=request.member, id=id, **asked)
        return answered_row(queries.log_answer(request.crew, id))


class PutAside(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "put_log_aside",
        "Put a log aside as a cull, with the reason",
        takes=ReasonIn,
        answers={200: LogOut},
        refusals=MOVE_REFUSALS,
        examples=[("Rot", {"reason": "Soft at the tip for half its length."})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.put_aside(crew=request.crew, id=id, at=now(), **ReasonIn.parse(request))
        return answered_row(queries.log_answer(request.crew, id))


class ReturnToRack(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "return_log_to_rack",
        "A log is no cull after all, or it was found again",
        takes=ReturnIn,
        answers={200: LogOut},
        refusals=MOVE_REFUSALS,
        examples=[("Where it lay", {})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.return_to_rack(crew=request.crew, id=id, at=now(), **ReturnIn.parse(request))
        return answered_row(queries.log_answer(request.crew, id))


class Measurements(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_measurements",
        "Every measurement of a log, the first one first; the last is the one that counts",
        answers={200: MeasurementPage},
        parameters=list_parameters(FilterSet, _BY_VERSION),
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        rows = queries.measurements_of(request.crew, id)
        return Response(page(request, rows, filters=FilterSet, orders=_BY_VERSION))


def put_new_logs(
    asker: CrewRequest, requests: Sequence[HttpRequest], ids: Sequence[UUID]
) -> list[Response | None]:
    """The answer to each request, all by one key; None to those that `OneLog.put` has to answer."""
    asked = [_asked(request, id) for request, id in zip(requests, ids, strict=True)]
    stored = chart_new_logs(crew=asker.crew, member=asker.member, asked=[one for one in asked if one])
    rows = log_answers(asker.crew, [one.id for one in stored])
    return [answered_row(rows[one.id], created=True) if one and one in stored else None for one in asked]


def _asked(request: Any, id: UUID) -> LogAsked | None:
    """None if the body cannot be read; why is for the answer to this request alone."""
    try:
        return LogAsked(id=id, made_at=request.made_at, **asked_of(orjson.loads(request.body), request))
    except (APIException, Refusal):
        return None
