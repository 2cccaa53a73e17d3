"""Rows of members that were made, and which of a cabin's members are."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import F, JSONField, QuerySet, Value

from cabins.cabins.models import Cabin
from cabins.roof_members.models import RoofMember
from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found

CAUTION = (
    "Whether a member carries what stands above it is decided by local code and licensed practice; this "
    "record only says from which log it was made."
)
_FIELDS = [
    "id", "cabin", "member", "kind", "length_mm", "log", "from_butt_mm", "installed_at", "installed_by",
    "recorded_by", "metal_removed", "remarks", "warnings", "undone_at", "undone_by", "undo_reason", "version",
    "created_at", "changed_at",
]  # fmt: skip


def roof_members_of(crew: Crew) -> QuerySet[RoofMember, dict[str, Any]]:
    """Every member recorded as made, undone ones too, with the hazards of its log."""
    return RoofMember.objects.of(crew).values(
        *_FIELDS,
        log_number=F("log__number"),
        log_hazards=F("log__hazards"),
        cautions=Value([CAUTION], output_field=JSONField()),
    )


def roof_member_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(roof_members_of(crew), id)


def members_installed_in(cabins: Iterable[Cabin]) -> QuerySet[RoofMember]:
    """The members of these cabins that are made now."""
    return RoofMember.objects.filter(cabin__in=list(cabins), undone_at=None).order_by("cabin", "member")
