"""Reads of species, yards and racks."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.api.problems import NotFound
from inventory.logs.profiles import WOOD
from inventory.yards.models import Rack, Species, Yard

_KEPT = ["version", "created_at", "changed_at"]


def species_of(crew: Crew) -> QuerySet[Species, dict[str, Any]]:
    return Species.objects.of(crew).values("id", *WOOD, *_KEPT)


def species_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(species_of(crew), id)


def yards_of(crew: Crew) -> QuerySet[Yard, dict[str, Any]]:
    return Yard.objects.of(crew).values("id", "name", "remarks", *_KEPT)


def yard_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(yards_of(crew), id)


def yards_among(crew: Crew, ids: Iterable[UUID]) -> list[Yard]:
    """The crew's yards of these ids. Raises NotFound if one of them is not the crew's."""
    wanted = set(ids)
    found = list(Yard.objects.of(crew).filter(id__in=wanted))
    if len(found) < len(wanted):
        raise NotFound
    return found


def racks_of(crew: Crew) -> QuerySet[Rack, dict[str, Any]]:
    return Rack.objects.of(crew).values("id", "yard", "name", "remarks", *_KEPT)


def rack_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(racks_of(crew), id)
