"""Addresses of crews, members and keys."""

from uuid import UUID

from django.conf import settings
from django.utils.timezone import now
from django_filters import FilterSet
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts import actions, queries
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.accounts.serializers import (
    CrewChangeIn,
    CrewIn,
    CrewOut,
    FoundedOut,
    KeyIn,
    KeyOut,
    KeyPage,
    MemberIn,
    MemberOut,
    MemberPage,
    MeOut,
    NewKeyOut,
)
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.versions import VersionNeeded, VersionStale, if_match
from crews.history.sync import synced_page, synced_parameters

_VERSIONS = (VersionNeeded, VersionStale)
_BY_AGE = {"created_at": "created_at"}


class Me(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe("show_me", "Who this key belongs to and what it allows", answers={200: MeOut})
    def get(self, request: CrewRequest) -> Response:
        member = queries.member_row(request.crew, request.member.id)
        return Response({"crew": queries.crew_row(request.crew), "member": member, "role": request.role})


class OwnCrew(APIView):
    required_roles = {"GET": Role.LEARNER, "PATCH": Role.LEAD}

    @describe("show_crew", "Your crew", answers={200: CrewOut})
    def get(self, request: CrewRequest) -> Response:
        return answered(queries.crew_row(request.crew))

    @describe(
        "change_crew",
        "Change the crew's name, or how lengths are written",
        takes=CrewChangeIn,
        answers={200: CrewOut},
        versioned=True,
        refusals=_VERSIONS,
        examples=[("Feet and inches", {"length_unit": "ft_in", "fraction": 8})],
    )
    def patch(self, request: CrewRequest) -> Response:
        fields = CrewChangeIn.parse(request)
        actions.change_crew(crew=request.crew, fields=fields, expected=if_match(request), at=now())
        return answered(queries.crew_row(request.crew))


class FoundCrew(APIView):
    required_roles = {"PUT": Role.LEAD}

    @describe(
        "found_crew",
        "Found another crew, of which you are the lead",
        takes=CrewIn,
        answers={201: FoundedOut},
        refusals=[actions.CrewExists, actions.FoundingClosed],
        examples=[("A second crew", {"name": "Hollow Creek crew", "length_unit": "m"})],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        if not settings.LEADS_FOUND_CREWS:
            raise actions.FoundingClosed
        crew, member, key = actions.found_crew_with_key(
            id=id,
            person=request.member.person,
            lead_name=request.member.name,
            at=now(),
            **CrewIn.parse(request),
        )
        return Response({"crew": queries.crew_row(crew), "member": member.id, "key": key}, status=201)


class Members(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_members",
        "The crew's members",
        answers={200: MemberPage},
        parameters=synced_parameters(FilterSet, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(
            synced_page(request, queries.members_of(request.crew), filters=FilterSet, orders=_BY_AGE)
        )


class OneMember(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.LEAD, "DELETE": Role.LEAD}

    @describe("show_member", "One member", answers={200: MemberOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.member_row(request.crew, id))

    @describe(
        "put_member",
        "Take someone into the crew, or change their name or role",
        takes=MemberIn,
        answers={200: MemberOut, 201: MemberOut},
        versioned=True,
        refusals=[*_VERSIONS, actions.LastLead],
        examples=[("A learner", {"name": "Wren", "role": "learner"})],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = MemberIn.parse(request)
        created = actions.put_member(crew=request.crew, id=id, expected=if_match(request), at=now(), **fields)
        return answered(queries.member_row(request.crew, id), created=created)

    @describe(
        "part_with_member",
        "A member leaves: their keys stop working, what they recorded stays",
        answers={200: MemberOut},
        versioned=True,
        refusals=[*_VERSIONS, actions.LastLead],
    )
    def delete(self, request: CrewRequest, id: UUID) -> Response:
        actions.part_with_member(crew=request.crew, id=id, expected=if_match(request), at=now())
        return answered(queries.member_row(request.crew, id))


class Keys(APIView):
    required_roles = {"GET": Role.LEAD}

    @describe(
        "list_keys",
        "The crew's access keys",
        answers={200: KeyPage},
        parameters=synced_parameters(FilterSet, _BY_AGE),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(
            synced_page(request, queries.keys_of(request.crew), filters=FilterSet, orders=_BY_AGE)
        )


class OneKey(APIView):
    required_roles = {"GET": Role.LEAD, "PUT": Role.LEAD}

    @describe("show_key", "One access key, without its secret", answers={200: KeyOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.key_row(request.crew, id))

    @describe(
        "make_key",
        "Make an access key; its secret is shown this once",
        takes=KeyIn,
        answers={200: NewKeyOut, 201: NewKeyOut},
        refusals=[actions.KeyTooStrong, VersionStale],
        examples=[
            (
                "The rack's phone",
                {"member": "3f0c2f5e-6f0b-4a57-9a53-0d1c4f1f8a11", "name": "rack phone", "role": "learner"},
            )
        ],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        created, secret = actions.make_key(crew=request.crew, id=id, at=now(), **KeyIn.parse(request))
        return answered({**queries.key_row(request.crew, id), "secret": secret}, created=created)


class RevokeKey(APIView):
    required_roles = {"POST": Role.LEAD}

    @describe(
        "revoke_key",
        "Revoke an access key for good",
        answers={200: KeyOut},
        refusals=[actions.LastLeadKey],
    )
    def post(self, request: CrewRequest, id: UUID) -> Response:
        actions.revoke_key(crew=request.crew, id=id, at=now())
        return answered(queries.key_row(request.crew, id))
