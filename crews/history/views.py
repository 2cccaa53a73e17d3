"""Addresses of the history: who changed what, from what to what, when, by which key."""

from uuid import UUID

import django_filters
from django_filters import FilterSet
from rest_framework import serializers
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.describe import describe
from crews.api.paging import list_parameters, page
from crews.api.problems import NotFound
from crews.api.reading import RowOut
from crews.history.queries import changes_of, kinds_kept, with_times

_ORDERS = {"at": "at"}


class ChangeOut(RowOut):
    id = serializers.IntegerField()
    at = serializers.DateTimeField(help_text="When it was stored.")
    made_at = serializers.DateTimeField(
        allow_null=True, help_text="When a phone without a signal recorded it, if it came in a batch."
    )
    kind = serializers.CharField(help_text="What kind of object was changed.")
    object = serializers.UUIDField(help_text="The object's id.")
    version = serializers.IntegerField(allow_null=True, help_text="The object's version after the change.")
    member = serializers.UUIDField(allow_null=True, help_text="Null: the service itself, or its operator.")
    member_name = serializers.CharField(allow_null=True)
    key = serializers.UUIDField(allow_null=True, help_text="The access key it was done with.")
    request_id = serializers.CharField(help_text="The X-Request-Id it was done under.")
    before = serializers.DictField(allow_null=True, help_text="What changed, as it was; null: made new.")
    after = serializers.DictField(allow_null=True, help_text="The same as it is now; null: deleted.")


class ChangePage(RowOut):
    items = ChangeOut(many=True)
    next = serializers.CharField(allow_null=True)


class OfObject(FilterSet):
    member = django_filters.UUIDFilter(label="Who did it.")


class OfCrew(OfObject):
    kind = django_filters.ChoiceFilter(choices=kinds_kept, label="What kind of object.")
    object = django_filters.UUIDFilter(label="The object's id.")


class History(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_history",
        "Who changed what, from what to what, when, by which key",
        answers={200: ChangePage},
        parameters=list_parameters(OfCrew, _ORDERS),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = changes_of(request.crew, request.role)
        found = page(request, rows, filters=OfCrew, orders=_ORDERS)
        return Response({**found, "items": with_times(found["items"])})


class ObjectHistory(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "show_history",
        "The history of one object",
        answers={200: ChangePage},
        parameters=list_parameters(OfObject, _ORDERS),
    )
    def get(self, request: CrewRequest, kind: str, id: UUID) -> Response:
        rows = changes_of(request.crew, request.role).filter(kind=kind, object=id)
        if not rows.exists():
            raise NotFound
        found = page(request, rows, filters=OfObject, orders=_ORDERS)
        return Response({**found, "items": with_times(found["items"])})
