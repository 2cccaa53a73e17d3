"""The address of a crew's events."""

import django_filters
from django_filters import FilterSet
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.describe import describe
from crews.api.paging import list_parameters, page
from crews.events import queries as events_queries
from crews.events.models import EventKind
from crews.events.serializers import ToldEventPage

_BY_AGE = {"created_at": "created_at"}

_BY_TIME = {"at": "at"}


class EventFilters(FilterSet):
    kind = django_filters.ChoiceFilter(choices=EventKind.choices, label="What happened.")
    since = django_filters.IsoDateTimeFilter(field_name="at", lookup_expr="gte", label="From this time on.")


class Events(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_events",
        "What happened, as webhooks are told it",
        answers={200: ToldEventPage},
        parameters=list_parameters(EventFilters, _BY_TIME),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(
            page(request, events_queries.events_of(request.crew), filters=EventFilters, orders=_BY_TIME)
        )
