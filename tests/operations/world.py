"""A crew that has everything and in addition what can still be changed; alone, or beside another."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.core.management import call_command

from cabins.set_logs.models import SetLog
from inventory.yards.models import Rack
from tests.archive.world import a_full_crew
from tests.cabins.building import a_log
from tests.conftest import Asker
from tests.inventory.ordering import FIRST_TRUCK, a_draft, a_rack, mill_of, tally
from tests.operation_ids import Operation, ids_of
from tests.operations.asking import Ids
from tests.people import a_crew


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """Who asks, with the ids of their crew, and the ids of the other crew."""

    lead: Asker
    mill: Asker
    own: Ids
    foreign: Ids

    def asker(self, operation: Operation) -> Asker:
        """Whoever may ask for it."""
        return self.mill if operation.of_mill else self.lead


def a_fuller_crew(name: str) -> tuple[Asker, Asker, Ids]:
    """A crew that has everything, and in addition what can still be changed; its mill; its ids."""
    lead = Asker(a_crew(name))
    a_full_crew(lead, Asker)
    order = a_draft(lead, lead.get("mills").body["items"][0]["id"], name="More logs")
    assert lead.post(f"orders/{order}/send").status_code == 200
    truck = str(uuid4())
    lead.put(f"deliveries/{truck}", {"order": order})
    assert lead.put(f"deliveries/{truck}/tally", tally(FIRST_TRUCK), media="text/csv").status_code == 200
    mill = mill_of(lead, order, Asker)
    proposal = str(uuid4())
    assert mill.put(f"mill/proposals/{proposal}", {"line": 2, "count": 5}).status_code == 201
    crew = lead.who.crew
    rack = Rack.objects.get(id=a_rack(lead, "R7"))
    loose = a_log(crew, yard=rack.yard, rack=rack, number="L1")
    stands = SetLog.objects.get(crew=crew, undone_at=None)
    changeable = {"order": order, "delivery": truck, "proposal": proposal, "rack": rack.id, "log": loose.id}
    changeable |= {"set log": stands.id, "yard": rack.yard_id}
    return lead, mill, first(ids_of(crew), {kind: str(id) for kind, id in changeable.items()})


def first(ids: Ids, named: dict[str, str]) -> Ids:
    """The same ids, with the named ones before the others of their kind."""
    return {kind: sorted(known, key=lambda one: one != named.get(kind)) for kind, known in ids.items()}


@contextmanager
def made(blocker: Any, *, foreign: bool) -> Iterator[World]:
    """The crew, beside another if there is to be one, until the file's tests are done."""
    with blocker.unblock():
        try:
            theirs = a_fuller_crew("Far Ridge crew")[2] if foreign else {}
            lead, mill, own = a_fuller_crew("Alder Bend crew")
            yield World(lead=lead, mill=mill, own=own, foreign=theirs)
        finally:
            call_command("flush", verbosity=0, interactive=False)
