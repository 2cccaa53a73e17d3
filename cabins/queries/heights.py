"""Rows of measured heights."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from cabins.models import MeasuredHeight
from crews.models import Crew
from crews.queries import one_row

_FIELDS = [
    "id",
    "cabin",
    "wall",
    "round",
    "end",
    "height_mm",
    "measured_at",
    "measured_by",
    "recorded_by",
    "remarks",
    "undone_at",
    "undone_by",
    "undo_reason",
    "version",
    "created_at",
    "changed_at",
]


def heights_of(crew: Crew) -> QuerySet[MeasuredHeight, dict[str, Any]]:
    """Every reading of a top, undone ones too."""
    return MeasuredHeight.objects.of(crew).values(*_FIELDS)


def height_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return one_row(heights_of(crew), id)


def height_rows(crew: Crew, ids: list[UUID]) -> list[dict[str, Any]]:
    """The heights with these ids, in this order."""
    found = {row["id"]: row for row in heights_of(crew).filter(id__in=ids)}
    return [found[id] for id in ids]
