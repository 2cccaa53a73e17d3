"""Addresses of cabins and their places."""

from functools import partial
from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.cabins import actions, queries
from cabins.cabins.serializers import CabinIn, CabinOut, CabinPage, PlacePage
from cabins.filters import CabinFilters, PlaceFilters
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.paging import list_parameters, page
from crews.api.versions import VersionNeeded, VersionStale, if_match
from crews.history.sync import synced_page, synced_parameters

VERSIONS = (VersionNeeded, VersionStale)
_CABIN_ORDERS = {"created_at": "created_at", "name": "name"}
_PLACE_ORDERS = {"round": "round", "wall": "wall"}


class Cabins(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_cabins",
        "The crew's cabins",
        answers={200: CabinPage},
        parameters=synced_parameters(CabinFilters, _CABIN_ORDERS),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = queries.cabins_of(request.crew)
        return Response(synced_page(request, rows, filters=CabinFilters, orders=_CABIN_ORDERS))


class OneCabin(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.BUILDER}

    @describe("show_cabin", "One cabin", answers={200: CabinOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.cabin_row(request.crew, id))

    @describe(
        "put_cabin",
        "Take up a cabin, or change its name or remarks",
        takes=CabinIn,
        answers={200: CabinOut, 201: CabinOut},
        versioned=True,
        refusals=[*VERSIONS, actions.CabinNameTaken],
        examples=[("A new cabin", {"name": "Lake cabin", "remarks": "Started by the spring course."})],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = CabinIn.parse_put(request, partial(queries.cabin_row, request.crew, id))
        _, created = actions.put_cabin(
            crew=request.crew, id=id, fields=fields, expected=if_match(request), at=now()
        )
        return answered(queries.cabin_row(request.crew, id), created=created)


class CabinPlaces(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_places",
        "The cabin's places, each with the log that fills it",
        answers={200: PlacePage},
        parameters=list_parameters(PlaceFilters, _PLACE_ORDERS),
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        rows = queries.places_in(queries.cabin_of(request.crew, id))
        return Response(page(request, rows, filters=PlaceFilters, orders=_PLACE_ORDERS))
