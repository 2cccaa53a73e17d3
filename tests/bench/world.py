"""What every measurement starts from: the service, and a crew with a species and someone who leads it."""

from dataclasses import dataclass
from uuid import UUID

from tests.bench.service import Caller, Service


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One row of the table. `bar` None: shown only; `figure` and `bar` are said in `unit`."""

    what: str
    figure: float
    bar: float | None
    detail: str
    unit: str = "x"
    at_least: bool = False

    @property
    def holds(self) -> bool:
        if self.bar is None:
            return True
        return self.figure >= self.bar if self.at_least else self.figure <= self.bar


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """The service, a crew of its own for one measurement, its lead, and a client with the lead's key."""

    service: Service
    crew: UUID
    member: UUID
    key: str
    runs: int

    def caller(self) -> Caller:
        return Caller(self.service.port, self.key)


def a_world(service: Service, *, name: str, runs: int) -> World:
    """A new crew, so that no measurement finds what another one left."""
    from tests.people import a_crew

    lead = a_crew(name)
    service.sql.execute(
        "INSERT INTO inventory_species (id, crew_id, version, created_at, changed_at, name, basic_gravity,"
        " fibre_saturation_pct, source)"
        " VALUES (gen_random_uuid(), %s, 1, now(), now(), 'Bench pine', 0.4, 30, '')",
        [lead.crew.id],
    )
    return World(service=service, crew=lead.crew.id, member=lead.member.id, key=lead.key, runs=runs)
