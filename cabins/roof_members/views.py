"""Addresses of members that were made; the planning app adds how one is given, for it looks at promises."""

from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.filters import GivenMemberFilters
from cabins.roof_members import queries
from cabins.roof_members.serializers import GivenMemberOut, GivenMemberPage
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.paging import list_parameters, page

_BY_TIME = {"given_at": "given_at", "member": "member"}


class GivenMembers(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_given_members",
        "Members beyond the walls recorded as made, undone ones too",
        answers={200: GivenMemberPage},
        parameters=list_parameters(GivenMemberFilters, _BY_TIME),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = queries.given_members_of(request.crew)
        return Response(page(request, rows, filters=GivenMemberFilters, orders=_BY_TIME))


class OneGivenMember(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe("show_given_member", "One member that was made", answers={200: GivenMemberOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.given_member_row(request.crew, id))
