"""Addresses of species, yards and racks."""

from functools import partial
from uuid import UUID

from django.utils.timezone import now
from django_filters import FilterSet
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.versions import VersionNeeded, VersionStale, if_match
from crews.history.sync import synced_page, synced_parameters
from inventory.filters import RackFilters
from inventory.yards import actions, queries
from inventory.yards.serializers import (
    RackIn,
    RackOut,
    RackPage,
    SpeciesIn,
    SpeciesOut,
    SpeciesPage,
    SummaryOut,
    SummaryQuery,
    YardIn,
    YardOut,
    YardPage,
)
from inventory.yards.summary import yard_summary

_REFUSALS = (VersionNeeded, VersionStale, actions.NameTaken)
_ORDERS = {"name": "name", "created_at": "created_at"}
_SPECIES_EXAMPLE = {
    "name": "valley spruce",
    "basic_gravity": 0.37,
    "moisture_heart_pct": 38,
    "moisture_sap_pct": 130,
    "shrink_radial_pct": 3.8,
    "shrink_tangential_pct": 7.6,
    "source": "our own samples, spring felling",
}


class SpeciesList(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_species",
        "The crew's species, with the figures that weight and shrinkage follow from",
        answers={200: SpeciesPage},
        parameters=synced_parameters(FilterSet, _ORDERS),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(
            synced_page(request, queries.species_of(request.crew), filters=FilterSet, orders=_ORDERS)
        )


class OneSpecies(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.BUILDER}

    @describe("show_species", "One species", answers={200: SpeciesOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.species_row(request.crew, id))

    @describe(
        "put_species",
        "Add a species, or change its figures",
        takes=SpeciesIn,
        answers={200: SpeciesOut, 201: SpeciesOut},
        versioned=True,
        refusals=_REFUSALS,
        examples=[("A species of one's own", _SPECIES_EXAMPLE)],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = SpeciesIn.parse_put(request, partial(queries.species_row, request.crew, id))
        created = actions.put_species(
            crew=request.crew, id=id, fields=fields, expected=if_match(request), at=now()
        )
        return answered(queries.species_row(request.crew, id), created=created)


class Yards(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_yards",
        "The crew's yards",
        answers={200: YardPage},
        parameters=synced_parameters(FilterSet, _ORDERS),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(
            synced_page(request, queries.yards_of(request.crew), filters=FilterSet, orders=_ORDERS)
        )


class OneYard(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.BUILDER}

    @describe("show_yard", "One yard", answers={200: YardOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.yard_row(request.crew, id))

    @describe(
        "put_yard",
        "Add a yard, or change it",
        takes=YardIn,
        answers={200: YardOut, 201: YardOut},
        versioned=True,
        refusals=_REFUSALS,
        examples=[("A yard", {"name": "Lower yard", "remarks": "Gate code with the lead."})],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = YardIn.parse_put(request, partial(queries.yard_row, request.crew, id))
        created = actions.put_yard(
            crew=request.crew, id=id, fields=fields, expected=if_match(request), at=now()
        )
        return answered(queries.yard_row(request.crew, id), created=created)


class YardSummary(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "summarise_yard",
        "What lies in a yard: counts, spreads of lengths and middles, by rack and species, what is unfit",
        answers={200: SummaryOut},
        parameters=[SummaryQuery],
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return Response(yard_summary(request.crew, id, **SummaryQuery.parse(request)))


class Racks(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_racks",
        "The racks of the crew's yards",
        answers={200: RackPage},
        parameters=synced_parameters(RackFilters, _ORDERS),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(
            synced_page(request, queries.racks_of(request.crew), filters=RackFilters, orders=_ORDERS)
        )


class OneRack(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.LEARNER}

    @describe("show_rack", "One rack", answers={200: RackOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.rack_row(request.crew, id))

    @describe(
        "put_rack",
        "Add a rack to a yard, or change it",
        takes=RackIn,
        answers={200: RackOut, 201: RackOut},
        versioned=True,
        refusals=_REFUSALS,
        examples=[("A rack", {"yard": "3f0c2f5e-6f0b-4a57-9a53-0d1c4f1f8a11", "name": "R2"})],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = RackIn.parse_put(request, partial(queries.rack_row, request.crew, id))
        yard = fields.pop("yard")
        created = actions.put_rack(
            crew=request.crew, id=id, yard=yard, fields=fields, expected=if_match(request), at=now()
        )
        return answered(queries.rack_row(request.crew, id), created=created)
