"""Rows of cabins, their past layouts and their places."""

from typing import Any
from uuid import UUID

from django.db.models import F, FilteredRelation, Q, QuerySet

from cabins.cabins.models import Cabin
from cabins.layouts.models import PastLayout, Place
from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.accounts.versioned_rows import one_of
from crews.api.problems import NotFound

CABIN_FIELDS = [
    "id",
    "name",
    "remarks",
    "layout_version",
    "rounds",
    "built_version",
    "version",
    "created_at",
    "changed_at",
]
_PLACE_FIELDS = ["id", "wall", "round", "piece", "start_mm", "end_mm"]


def cabins_of(crew: Crew) -> QuerySet[Cabin, dict[str, Any]]:
    return Cabin.objects.of(crew).values(*CABIN_FIELDS)


def cabin_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(cabins_of(crew), id)


def cabin_of(crew: Crew, id: UUID) -> Cabin:
    """The crew's cabin; NotFound for anyone else's."""
    return one_of(Cabin, crew=crew, id=id)


def past_layouts_of(cabin: Cabin) -> QuerySet[PastLayout, dict[str, Any]]:
    """Every layout the cabin has had, the present one among them."""
    fields = ["id", "layout_version", "layout", "laid_out_by", "created_at"]
    return PastLayout.objects.filter(cabin=cabin).values(*fields)


def place_of(cabin: Cabin, wall: str, round_number: int, piece: int) -> Place:
    """One place of the cabin; NotFound if its layout has none there."""
    found = Place.objects.filter(cabin=cabin, wall=wall, round=round_number, piece=piece).first()
    if found is None:
        raise NotFound(f"{cabin.name} has no piece {piece} in round {round_number} of wall {wall}.")
    return found


def places_in(cabin: Cabin) -> QuerySet[Any, dict[str, Any]]:
    """The cabin's places, each with the log that fills it or null."""
    return (
        Place.objects.filter(cabin=cabin)
        .annotate(filling=FilteredRelation("set_logs", condition=Q(set_logs__undone_at=None)))
        .values(
            *_PLACE_FIELDS,
            length_mm=F("end_mm") - F("start_mm"),
            set_log=F("filling__id"),
            log=F("filling__log"),
            log_number=F("filling__log__number"),
        )
    )
