"""Addresses of events, webhooks and their deliveries."""

from uuid import UUID

import django_filters
from django.utils.timezone import now
from django_filters import FilterSet
from rest_framework.response import Response
from rest_framework.views import APIView

from config.api.answers import answered
from config.api.describe import describe
from config.api.pages import list_parameters, page
from config.api.versions import VersionNeeded, VersionStale, if_match
from crews import webhook_queries as queries
from crews import webhooks as actions
from crews.access import CrewRequest
from crews.models import Role
from crews.models_webhooks import DeliveryStanding, EventKind
from crews.webhook_serializers import (
    NewWebhookOut,
    ToldEventPage,
    WebhookDeliveryOut,
    WebhookDeliveryPage,
    WebhookIn,
    WebhookOut,
    WebhookPage,
)

_BY_AGE = {"created_at": "created_at"}
_BY_TIME = {"at": "at"}


class EventFilters(FilterSet):
    kind = django_filters.ChoiceFilter(choices=EventKind.choices, label="What happened.")
    since = django_filters.IsoDateTimeFilter(field_name="at", lookup_expr="gte", label="From this time on.")


class DeliveryFilters(FilterSet):
    webhook = django_filters.UUIDFilter(label="The webhook's id.")
    event = django_filters.UUIDFilter(label="The event's id.")
    state = django_filters.ChoiceFilter(choices=DeliveryStanding.choices, label="How it stands.")


class Events(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_events",
        "What happened, as webhooks are told it",
        answers={200: ToldEventPage},
        parameters=list_parameters(EventFilters, _BY_TIME),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(page(request, queries.events_of(request.crew), filters=EventFilters, orders=_BY_TIME))


class Webhooks(APIView):
    required_roles = {"GET": Role.LEAD}

    @describe(
        "list_webhooks",
        "Where the crew's events are sent, removed ones too",
        answers={200: WebhookPage},
        parameters=list_parameters(FilterSet, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(page(request, queries.webhooks_of(request.crew), filters=FilterSet, orders=_BY_AGE))


class OneWebhook(APIView):
    required_roles = {"GET": Role.LEAD, "PUT": Role.LEAD, "DELETE": Role.LEAD}

    @describe("show_webhook", "One webhook, without its secret", answers={200: WebhookOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.webhook_row(request.crew, id))

    @describe(
        "put_webhook",
        "Have events sent to an address, or change where and which; the secret is shown this once",
        takes=WebhookIn,
        answers={200: NewWebhookOut, 201: NewWebhookOut},
        versioned=True,
        refusals=[actions.TooManyWebhooks, actions.WebhookRemoved, VersionNeeded, VersionStale],
        examples=[
            ("Rounds", {"url": "https://bench.example/roundlay", "kinds": ["round_complete", "plan_stale"]})
        ],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = WebhookIn.parse(request) | {"expected": if_match(request)}
        created, secret = actions.put_webhook(crew=request.crew, id=id, at=now(), **fields)
        return answered({**queries.webhook_row(request.crew, id), "secret": secret}, created=created)

    @describe("remove_webhook", "Send nothing there from now on", answers={200: WebhookOut})
    def delete(self, request: CrewRequest, id: UUID) -> Response:
        actions.remove_webhook(crew=request.crew, id=id, at=now())
        return answered(queries.webhook_row(request.crew, id))


class RotateSecret(APIView):
    required_roles = {"POST": Role.LEAD}

    @describe(
        "rotate_webhook_secret",
        "A new secret, shown this once; for a day the old one signs beside it",
        answers={200: NewWebhookOut},
        refusals=[actions.WebhookRemoved],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        secret = actions.rotate_secret(crew=request.crew, id=id, at=now())
        return answered({**queries.webhook_row(request.crew, id), "secret": secret})


class WebhookDeliveries(APIView):
    required_roles = {"GET": Role.LEAD}

    @describe(
        "list_webhook_deliveries",
        "Which events went to which webhooks, and how that stands",
        answers={200: WebhookDeliveryPage},
        parameters=list_parameters(DeliveryFilters, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = queries.deliveries_of(request.crew)
        return Response(page(request, rows, filters=DeliveryFilters, orders=_BY_AGE))


class OneWebhookDelivery(APIView):
    required_roles = {"GET": Role.LEAD}

    @describe("show_webhook_delivery", "One delivery with every attempt", answers={200: WebhookDeliveryOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.delivery_row(request.crew, id))


class DeliverAgain(APIView):
    required_roles = {"POST": Role.LEAD}

    @describe(
        "redeliver_event",
        "Send an event to its webhook again",
        answers={202: WebhookDeliveryOut},
        refusals=[actions.WebhookRemoved],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.deliver_again(crew=request.crew, id=id, at=now())
        return answered(queries.delivery_row(request.crew, id), status=202)
