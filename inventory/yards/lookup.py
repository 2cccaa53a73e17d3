"""The yards, racks and species that logs name: whether they are the crew's, asked once for all logs."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from crews.accounts.models import Crew
from crews.api.problems import Fault, fault
from inventory.yards.models import Rack, Species, Yard


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacesNamed:
    """What of the places that logs name is there; racks by their yards."""

    yards: frozenset[UUID]
    racks: frozenset[tuple[UUID, UUID]]
    species: frozenset[UUID]

    def faults(self, fields: Mapping[str, Any]) -> list[Fault]:
        """Yard, rack and species of a log that are not the crew's, or do not go together."""
        faults = []
        if fields["yard"] not in self.yards:
            faults.append(fault("/yard", "No such yard in this crew.", "unknown"))
        if fields["rack"] and (fields["rack"], fields["yard"]) not in self.racks:
            faults.append(fault("/rack", "No such rack in this yard.", "unknown"))
        if fields["species"] and fields["species"] not in self.species:
            faults.append(fault("/species", "No such species in this crew.", "unknown"))
        return faults


def places_named(
    crew: Crew, named: Iterable[Mapping[str, Any]], *, known_yard: UUID | None = None
) -> PlacesNamed:
    """The places that the fields of logs name; one query for each kind, none for what nobody names.

    The yards are locked, as by a chart, before a number in them is taken: otherwise a chart with the same
    number and such a log would each wait for the other. Not so `known_yard`, in which the log lies already.
    """
    named = list(named)
    yards, racks, species = (
        {fields[kind] for fields in named} - {None} for kind in ("yard", "rack", "species")
    )
    known = {known_yard} if known_yard else set()
    return PlacesNamed(
        yards=frozenset(known | _held_open(crew, yards - known)),
        racks=frozenset(Rack.objects.of(crew).filter(id__in=racks).values_list("id", "yard_id")),
        species=frozenset(Species.objects.of(crew).filter(id__in=species).values_list("id", flat=True)),
    )


def _held_open(crew: Crew, yards: set[UUID]) -> set[UUID]:
    locked = Yard.objects.of(crew).select_for_update(of=("self",), no_key=True)
    # In the order of ids, so that two who name the same yards do not wait for each other.
    return set(locked.filter(id__in=yards).order_by("id").values_list("id", flat=True))
