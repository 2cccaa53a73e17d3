"""Addresses of roof members installed; planning adds how one is, for it looks at reservations."""

from uuid import UUID

from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.filters import RoofMemberFilters
from cabins.roof_members import queries
from cabins.roof_members.serializers import RoofMemberOut, RoofMemberPage
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.history.sync import synced_page, synced_parameters

_BY_TIME = {"installed_at": "installed_at", "member": "member"}


class RoofMembers(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_roof_members",
        "Members beyond the walls recorded as made, undone ones too",
        answers={200: RoofMemberPage},
        parameters=synced_parameters(RoofMemberFilters, _BY_TIME),
    )
    def get(self, request: CrewRequest) -> Response:
        rows = queries.roof_members_of(request.crew)
        return Response(synced_page(request, rows, filters=RoofMemberFilters, orders=_BY_TIME))


class OneRoofMember(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe("show_roof_member", "One member that was made", answers={200: RoofMemberOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.roof_member_row(request.crew, id))
