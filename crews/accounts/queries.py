"""Reads of crews, members and keys."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from crews.accounts.models import AccessKey, Crew, Member
from crews.api.problems import NotFound

CREW_FIELDS = ["id", "name", "length_unit", "fraction", "weight_unit", "version", "created_at", "changed_at"]


def row_or_not_found(rows: QuerySet[Any, Any], id: UUID) -> Any:
    """The one row with that id, or NotFound."""
    found = rows.filter(id=id).first()
    if found is None:
        raise NotFound
    return found


def crew_row(crew: Crew) -> dict[str, Any]:
    return Crew.objects.values(*CREW_FIELDS).get(id=crew.id)


def members_of(crew: Crew) -> QuerySet[Member, Any]:
    return Member.objects.of(crew).values(
        "id", "name", "role", "left_at", "version", "created_at", "changed_at"
    )


def member_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(members_of(crew), id)


def keys_of(crew: Crew) -> QuerySet[AccessKey, Any]:
    fields = [
        "id",
        "name",
        "role",
        "hint",
        "expires_at",
        "last_used_at",
        "revoked_at",
        "version",
        "created_at",
    ]
    return AccessKey.objects.of(crew).values(*fields, "changed_at", "member")


def key_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(keys_of(crew), id)
