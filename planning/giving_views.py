"""Addresses where members beyond the walls are recorded as made, as the plan knows them."""

from functools import partial
from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins import actions as cabin_actions
from cabins.queries import given_member_row
from cabins.serializers.giving import GivenMemberIn, GivenMemberOut
from cabins.views import giving as cabin_views
from config.api.answers import answered
from config.api.describe import describe
from config.api.versions import VersionNeeded, VersionStale, if_match
from crews.access import CrewRequest
from crews.models import Role
from inventory.actions.checking import DoubtsUnconfirmed
from planning import giving
from planning.serializers import UndoIn

_EXAMPLE = {
    "cabin": "0f8b7c66-3f2e-4a6d-9d0c-7b1a5e2c4d10",
    "member": "ridge",
    "log": "9a4e1c55-7d31-4b0c-8f2a-1e6d5c4b3a20",
    "from_butt_mm": "1 ft",
    "given_at": "2026-05-04T10:40:00Z",
}


class OneGivenMember(cabin_views.OneGivenMember):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.LEARNER}

    @describe(
        "give_member",
        "Record that a member beyond the walls was made from part of a log",
        takes=GivenMemberIn,
        answers={200: GivenMemberOut, 201: GivenMemberOut},
        versioned=True,
        refusals=[
            DoubtsUnconfirmed,
            cabin_actions.MemberGiven,
            cabin_actions.LogGone,
            cabin_actions.MetalNearCut,
            cabin_actions.GivenMemberStands,
            VersionNeeded,
            VersionStale,
        ],
        examples=[("A ridge", _EXAMPLE)],
        text="A piece thinner or more bowed than the layout wants is a fault: what a member must be is "
        "changed in the layout, by whoever answers for the structure. Another log than planned, or one "
        "promised to another cabin, waits for `confirm_doubtful`. Only remarks are changed later.",
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = GivenMemberIn.parse_put(request, partial(given_member_row, request.crew, id)) | {
            "expected": if_match(request)
        }
        _, created = giving.give_planned_member(
            crew=request.crew, id=id, fields=fields, recorded_by=request.member, at=now()
        )
        return answered(given_member_row(request.crew, id), created=created)


class UndoGivenMember(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "undo_given_member",
        "Take back the record of a member that was made, with the reason; the record stays readable",
        takes=UndoIn,
        answers={200: GivenMemberOut},
        examples=[("Wrong log", {"reason": "The ridge was made from log 14, not log 41."})],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        reason = UndoIn.parse(request)["reason"]
        giving.undo_planned_member(
            crew=request.crew, id=id, reason=reason, undone_by=request.member, at=now()
        )
        return answered(given_member_row(request.crew, id))
