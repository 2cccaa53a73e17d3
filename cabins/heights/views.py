"""Addresses of measured heights."""

from functools import partial
from typing import Any
from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.cabins.views import VERSIONS
from cabins.filters import HeightFilters
from cabins.heights import actions, queries
from cabins.heights.serializers import HeightIn, HeightOut, HeightPage, HeightsIn, HeightsOut
from cabins.sheets.texts import heights_told
from crews.accounts.access import CrewRequest
from crews.accounts.models import Crew, Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.problems import InvalidInput
from crews.api.versions import if_match
from crews.history.sync import synced_page, synced_parameters
from inventory.logs.checks import DoubtsUnconfirmed
from inventory.logs.drawing_values import units_of
from inventory.logs.serializers import ReasonIn

_ORDERS = {"measured_at": "measured_at", "round": "round"}
_TEXT = (
    "Only where a log is set: at the wall's ends, and at the tees of partitions. Readings of one top are "
    "kept together, each under an id of its own, and their mean counts: those since its log was set, within "
    "a week of the latest. One more than four standard deviations from the readings before it, or the first "
    "from what is expected there, or more than 4 cm, is stored only with `confirm_doubtful`."
)
_CABIN = "7f0c2f5e-6f0b-4a57-9a53-0d1c4f1f8a22"
_MEASURED = {
    "wall": "A",
    "round": 1,
    "end": "start",
    "height_mm": "13 1/4 in",
    "measured_at": "2026-05-04T15:10:00Z",
}


def _told(crew: Crew, id: UUID) -> dict[str, Any]:
    return heights_told(units_of(crew), [queries.height_row(crew, id)])[0]


class MeasuredHeights(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_heights",
        "Every reading of a top, undone ones too",
        answers={200: HeightPage},
        parameters=synced_parameters(HeightFilters, _ORDERS),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = queries.heights_of(request.crew)
        found = synced_page(request, rows, filters=HeightFilters, orders=_ORDERS)
        return Response({**found, "items": heights_told(units_of(request.crew), found["items"])})


class OneHeight(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.LEARNER}

    @describe("show_height", "One measured height", answers={200: HeightOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(_told(request.crew, id))

    @describe(
        "put_height",
        "Record a height measured on the wall, or correct it",
        takes=HeightIn,
        answers={200: HeightOut, 201: HeightOut},
        versioned=True,
        refusals=[InvalidInput, DoubtsUnconfirmed, actions.HeightStands, *VERSIONS],
        examples=[("Top of round 1", {"cabin": _CABIN, **_MEASURED})],
        text=_TEXT,
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        sent = HeightIn.parse_put(request, partial(_told, request.crew, id))
        _, created = actions.measure_height(
            crew=request.crew,
            cabin=sent.pop("cabin"),
            confirmed=sent.pop("confirm_doubtful"),
            line={"id": id, **sent},
            expected=if_match(request),
            recorded_by=request.member,
            at=now(),
        )
        return answered(_told(request.crew, id), created=created)


class UndoHeight(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "undo_height",
        "Take back one reading of a top, with the reason; the others count on",
        takes=ReasonIn,
        answers={200: HeightOut},
        examples=[("Misread", {"reason": "Read at the notch, not at the corner's centre."})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        reason = ReasonIn.parse(request)["reason"]
        actions.undo_height(crew=request.crew, id=id, reason=reason, undone_by=request.member, at=now())
        return answered(_told(request.crew, id))


class CabinHeights(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "measure_heights",
        "Record many heights of a cabin, all or none",
        takes=HeightsIn,
        answers={200: HeightsOut, 201: HeightsOut},
        refusals=[InvalidInput, DoubtsUnconfirmed, actions.HeightStands],
        examples=[
            (
                "Both ends of a wall",
                {
                    "heights": [
                        {"id": "0e9d2c1a-7f0b-4a57-9a53-0d1c4f1f8a33", **_MEASURED},
                        {"id": "1e9d2c1a-7f0b-4a57-9a53-0d1c4f1f8a33", **_MEASURED, "end": "end"},
                    ]
                },
            )
        ],
        text=_TEXT,
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        sent = HeightsIn.parse(request)
        rows, created = actions.measure_heights(
            crew=request.crew,
            cabin=id,
            lines=sent["heights"],
            confirmed=sent["confirm_doubtful"],
            recorded_by=request.member,
            at=now(),
        )
        kept = queries.height_rows(request.crew, [row.id for row in rows])
        found = heights_told(units_of(request.crew), kept)
        return Response({"heights": found}, status=201 if created else 200)
