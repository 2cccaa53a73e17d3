"""The crew's side of its mill: keys for an order, and answers to what the mill proposes."""

from uuid import UUID

from django.utils.timezone import now
from django_filters import FilterSet
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.versions import VersionStale
from crews.history.sync import synced_page, synced_parameters
from inventory.mill_side import actions, queries
from inventory.mill_side.serializers import (
    MillKeyIn,
    MillKeyOut,
    MillKeyPage,
    NewMillKeyOut,
    ProposalOut,
    ProposalPage,
)
from inventory.orders.states import OrderMoveRefused

_BY_AGE = {"created_at": "created_at"}


class MillKeys(APIView):
    required_roles = {"GET": Role.BUILDER}

    @describe(
        "list_mill_keys",
        "The keys that open an order to its mill, without their secrets",
        answers={200: MillKeyPage},
        parameters=synced_parameters(FilterSet, _BY_AGE),
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        rows = queries.mill_keys_of(request.crew, id)
        return Response(synced_page(request, rows, filters=FilterSet, orders=_BY_AGE))


class OneMillKey(APIView):
    required_roles = {"PUT": Role.BUILDER}

    @describe(
        "make_mill_key",
        "A key that opens this order alone to its mill; its secret is shown this once",
        takes=MillKeyIn,
        answers={200: NewMillKeyOut, 201: NewMillKeyOut},
        refusals=[VersionStale, actions.MillKeyExpiry],
        examples=[("For the season", {"name": "mill office", "expires_at": "2031-10-01T00:00:00Z"})],
    )
    def put(self, request: CrewRequest, id: UUID, key: UUID) -> Response:
        asked = MillKeyIn.parse(request)
        created, secret = actions.make_mill_key(crew=request.crew, order=id, id=key, at=now(), **asked)
        return answered({**queries.mill_key_row(request.crew, key), "secret": secret}, created=created)


class RevokeMillKey(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe("revoke_mill_key", "The mill's key opens nothing from now on", answers={200: MillKeyOut})
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.revoke_mill_key(crew=request.crew, id=id, at=now())
        return answered(queries.mill_key_row(request.crew, id))


class Proposals(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_proposals",
        "Changes that the mill proposes for an order",
        answers={200: ProposalPage},
        parameters=synced_parameters(FilterSet, _BY_AGE),
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        rows = queries.proposals_of(request.crew, id)
        return Response(synced_page(request, rows, filters=FilterSet, orders=_BY_AGE))


class AcceptProposal(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "accept_proposal",
        "The order becomes what the mill proposed, and the line counts as confirmed",
        answers={200: ProposalOut},
        refusals=[OrderMoveRefused, actions.ProposalAnswered],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.accept_proposal(crew=request.crew, id=id, member=request.member, at=now())
        return answered(queries.proposal_row(request.crew, id))


class DeclineProposal(APIView):
    required_roles = {"POST": Role.BUILDER}

    @describe(
        "decline_proposal",
        "The order stays as it is",
        answers={200: ProposalOut},
        refusals=[actions.ProposalAnswered],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.decline_proposal(crew=request.crew, id=id, member=request.member, at=now())
        return answered(queries.proposal_row(request.crew, id))
