"""Addresses of a cabin's layout: stored, read, checked, and the rounds a yard's logs would give."""

from uuid import UUID

from django.utils.timezone import now
from django_filters import FilterSet
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.cabins import queries as cabin_queries
from cabins.cabins.views import VERSIONS
from cabins.layouts import actions
from cabins.layouts import queries as layout_queries
from cabins.layouts.serializers import HeightEstimateOut, LayoutCheckOut, LayoutIn, LayoutOut, PastLayoutPage
from cabins.sheets.parameters import CHECK_PARAMETERS, ESTIMATE_PARAMETERS, CheckQuery, EstimateQuery
from cabins.walls import queries as wall_queries
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered, reckoned
from crews.api.describe import describe
from crews.api.paging import list_parameters, page
from crews.api.problems import InvalidInput
from crews.api.versions import if_match
from inventory.yards.queries import yards_among

_BY_VERSION = {"layout_version": "layout_version"}
RECTANGLE = {
    "corners": [
        {"id": "1", "x_mm": 0, "y_mm": 0},
        {"id": "2", "x_mm": "19' 4\"", "y_mm": 0},
        {"id": "3", "x_mm": "19' 4\"", "y_mm": 4200},
        {"id": "4", "x_mm": 0, "y_mm": 4200},
    ],
    "walls": [
        {"id": "A", "from": "1", "to": "2", "start": "low"},
        {"id": "B", "from": "2", "to": "3", "start": "high"},
        {"id": "C", "from": "3", "to": "4", "start": "low"},
        {"id": "D", "from": "4", "to": "1", "start": "high"},
    ],
    "high_start": "half_log",
    "overhang_mm": 400,
    "notch": "saddle",
    "gap": {"smallest_mm": 6, "target_mm": "1/2 in", "largest_mm": 25},
    "log_middle_mm": 320,
    "wall_height_mm": 2400,
    "openings": [
        {
            "id": "door",
            "kind": "door",
            "wall": "A",
            "offset_mm": 2000,
            "width_mm": 950,
            "sill_mm": 250,
            "head_mm": 2150,
        }
    ],
    "members": [
        {
            "id": "ridge",
            "kind": "ridge",
            "length_mm": "22 ft",
            "least_middle_mm": 260,
            "crown_limit_mm": "1 in",
        },
        {
            "id": "purlin",
            "kind": "purlin",
            "length_mm": "22 ft",
            "least_middle_mm": 220,
            "crown_limit_mm": 25,
            "count": 4,
        },
    ],
}


class CabinLayout(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.BUILDER}

    @describe(
        "show_layout", "The cabin's layout", answers={200: LayoutOut}, refusals=[wall_queries.NotLaidOut]
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(layout_queries.layout_answer(cabin_queries.cabin_of(request.crew, id)))

    @describe(
        "lay_out_cabin",
        "Lay out the cabin: the whole document, checked as a whole",
        takes=LayoutIn,
        answers={200: LayoutOut, 201: LayoutOut},
        versioned=True,
        refusals=[InvalidInput, *VERSIONS, actions.SetLogsInTheWay],
        examples=[("A rectangle with a door", RECTANGLE)],
        text="The first layout needs no If-Match; a change names the version it changes. The same layout "
        "again changes nothing.",
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        cabin, created = actions.lay_out(
            crew=request.crew,
            cabin=id,
            document=request.data,
            laid_out_by=request.member,
            expected=if_match(request),
            at=now(),
        )
        return answered(layout_queries.layout_answer(cabin), created=created)


class PastLayouts(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_layouts",
        "Every layout the cabin has had",
        answers={200: PastLayoutPage},
        parameters=list_parameters(FilterSet, _BY_VERSION),
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        rows = cabin_queries.past_layouts_of(cabin_queries.cabin_of(request.crew, id))
        return Response(page(request, rows, filters=FilterSet, orders=_BY_VERSION))


class LayoutCheck(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "check_layout",
        "Check a layout without storing it: faults, rounds, places",
        takes=LayoutIn,
        answers={200: LayoutCheckOut},
        parameters=CHECK_PARAMETERS,
        examples=[("A rectangle with a door", RECTANGLE)],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        yards = [yard.id for yard in yards_among(request.crew, CheckQuery.parse(request)["yard"])]
        return reckoned(
            layout_queries.layout_check(cabin_queries.cabin_of(request.crew, id), request.data, yards=yards)
        )


class HeightEstimateView(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "estimate_height",
        "How many rounds come nearest the wanted height with the free logs of yards",
        answers={200: HeightEstimateOut},
        parameters=ESTIMATE_PARAMETERS,
        refusals=[wall_queries.NotLaidOut, layout_queries.NoFreeLogs, layout_queries.LogsTooThin],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        cabin = cabin_queries.cabin_of(request.crew, id)
        yards = yards_among(request.crew, EstimateQuery.parse(request)["yard"])
        return reckoned(layout_queries.yard_estimate(cabin, yards))
