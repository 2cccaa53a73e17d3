"""Reads of species, yards and racks."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from crews.models import Crew
from crews.queries import one_row
from inventory.models import Rack, Species, Yard
from inventory.profiles import WOOD

_KEPT = ["version", "created_at", "changed_at"]


def species_of(crew: Crew) -> QuerySet[Species, dict[str, Any]]:
    return Species.objects.of(crew).values("id", *WOOD, *_KEPT)


def species_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return one_row(species_of(crew), id)


def yards_of(crew: Crew) -> QuerySet[Yard, dict[str, Any]]:
    return Yard.objects.of(crew).values("id", "name", "remarks", *_KEPT)


def yard_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return one_row(yards_of(crew), id)


def racks_of(crew: Crew) -> QuerySet[Rack, dict[str, Any]]:
    return Rack.objects.of(crew).values("id", "yard", "name", "remarks", *_KEPT)


def rack_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return one_row(racks_of(crew), id)
