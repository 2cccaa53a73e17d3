"""Writes of species, yards and racks."""

from datetime import datetime
from decimal import Decimal
from functools import partial
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from crews.accounts.models import Crew
from crews.accounts.versioned_rows import put_row
from crews.api.problems import InvalidInput, Refusal, fault, register_constraint_errors
from crews.api.reading import raise_if_any
from crews.api.versions import Expected
from inventory.core.crew_units import sentence_of
from inventory.core.wood import BadMoisture, BadWood, seed_species
from inventory.logs.profiles import WOOD, wood_of_row
from inventory.yards.models import Rack, Species, Yard
from inventory.yards.queries import rack_row, species_row, yard_row


class NameTaken(Refusal):
    """Another one here has this name already."""


register_constraint_errors(
    {
        "species_once_in_crew": (NameTaken, "The crew has a species of this name already."),
        "yard_once_in_crew": (NameTaken, "The crew has a yard of this name already."),
        "rack_once_in_yard": (NameTaken, "The yard has a rack of this name already."),
    }
)


@transaction.atomic
def seed_crew(crew: Crew, at: datetime) -> None:
    """A new crew starts with the species that come with this service, each with its source."""
    Species.objects.bulk_create(
        Species(
            id=uuid4(),
            crew=crew,
            name=wood.name,
            **{name: _as_decimal(getattr(wood, name)) for name in WOOD if name not in ("name", "source")},
            source=wood.source,
            created_at=at,
            changed_at=at,
        )
        for wood in seed_species()
    )


def _as_decimal(figure: float | None) -> Decimal | None:
    return None if figure is None else Decimal(str(round(figure, 3)))


def put_species(
    *, crew: Crew, id: UUID, fields: dict[str, Any], expected: Expected | None, at: datetime
) -> bool:
    """Keep a species with its figures; True if it is new. Raises InvalidInput for wood that cannot be."""
    try:
        wood_of_row(fields)
    except (BadWood, BadMoisture) as bad:
        raise InvalidInput(errors=[fault("", sentence_of(bad), "no_wood")]) from bad
    row_of = partial(species_row, crew)
    _, created = put_row(Species, crew=crew, id=id, fields=fields, expected=expected, at=at, row_of=row_of)
    return created


def put_yard(
    *, crew: Crew, id: UUID, fields: dict[str, Any], expected: Expected | None, at: datetime
) -> bool:
    """Keep a yard; True if it is new."""
    row_of = partial(yard_row, crew)
    _, created = put_row(Yard, crew=crew, id=id, fields=fields, expected=expected, at=at, row_of=row_of)
    return created


def put_rack(
    *, crew: Crew, id: UUID, yard: UUID, fields: dict[str, Any], expected: Expected | None, at: datetime
) -> bool:
    """Keep a rack of a yard; True if it is new. A rack stays in its yard, as its logs do."""
    if not Yard.objects.of(crew).filter(id=yard).exists():
        raise_if_any([fault("/yard", "No such yard in this crew.", "unknown")])
    held = Rack.objects.of(crew).filter(id=id).first()
    if held and held.yard_id != yard:
        raise_if_any([fault("/yard", "A rack stays in its yard; make a new one over there.", "fixed")])
    row_of = partial(rack_row, crew)
    _, created = put_row(
        Rack, crew=crew, id=id, fields={"yard_id": yard, **fields}, expected=expected, at=at, row_of=row_of
    )
    return created
