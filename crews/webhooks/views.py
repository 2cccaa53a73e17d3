"""Addresses of webhooks and their deliveries."""

from uuid import UUID

import django_filters
from django.utils.timezone import now
from django_filters import FilterSet
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.paging import list_parameters, page
from crews.api.versions import VersionNeeded, VersionStale, if_match
from crews.history.sync import synced_page, synced_parameters
from crews.webhooks import actions
from crews.webhooks import queries as webhooks_queries
from crews.webhooks.models import DeliveryStanding
from crews.webhooks.serializers import (
    NewWebhookOut,
    WebhookDeliveryOut,
    WebhookDeliveryPage,
    WebhookIn,
    WebhookOut,
    WebhookPage,
)

_BY_AGE = {"created_at": "created_at"}

_BY_TIME = {"at": "at"}


class WebhookDeliveryFilters(FilterSet):
    webhook = django_filters.UUIDFilter(label="The webhook's id.")
    event = django_filters.UUIDFilter(label="The event's id.")
    state = django_filters.ChoiceFilter(choices=DeliveryStanding.choices, label="How it stands.")


class Webhooks(APIView):
    required_roles = {"GET": Role.LEAD}

    @describe(
        "list_webhooks",
        "Where the crew's events are sent, removed ones too",
        answers={200: WebhookPage},
        parameters=synced_parameters(FilterSet, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(
            synced_page(
                request, webhooks_queries.webhooks_of(request.crew), filters=FilterSet, orders=_BY_AGE
            )
        )


class OneWebhook(APIView):
    required_roles = {"GET": Role.LEAD, "PUT": Role.LEAD, "DELETE": Role.LEAD}

    @describe("show_webhook", "One webhook, without its secret", answers={200: WebhookOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(webhooks_queries.webhook_row(request.crew, id))

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
        return answered({**webhooks_queries.webhook_row(request.crew, id), "secret": secret}, created=created)

    @describe("remove_webhook", "Send nothing there from now on", answers={200: WebhookOut})
    def delete(self, request: CrewRequest, id: UUID) -> Response:
        actions.remove_webhook(crew=request.crew, id=id, at=now())
        return answered(webhooks_queries.webhook_row(request.crew, id))


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
        return answered({**webhooks_queries.webhook_row(request.crew, id), "secret": secret})


class WebhookDeliveries(APIView):
    required_roles = {"GET": Role.LEAD}

    @describe(
        "list_webhook_deliveries",
        "Which events went to which webhooks, and how that stands",
        answers={200: WebhookDeliveryPage},
        parameters=list_parameters(WebhookDeliveryFilters, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = webhooks_queries.deliveries_of(request.crew)
        return Response(page(request, rows, filters=WebhookDeliveryFilters, orders=_BY_AGE))


class OneWebhookDelivery(APIView):
    required_roles = {"GET": Role.LEAD}

    @describe("show_webhook_delivery", "One delivery with every attempt", answers={200: WebhookDeliveryOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(webhooks_queries.delivery_row(request.crew, id))


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
        return answered(webhooks_queries.delivery_row(request.crew, id), status=202)
