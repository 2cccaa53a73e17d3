"""Two crews that have everything, made once for each file of tests; what a test does to them is undone."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

import pytest
from django.core.management import call_command

from tests.archive.world import a_full_crew
from tests.conftest import Asker
from tests.inventory.ordering import FIRST_TRUCK, a_draft, mill_of, tally
from tests.kinds import Operation, ids_of
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
    return lead, mill, first(ids_of(lead.who.crew), order=order, delivery=truck, proposal=proposal)


def first(ids: Ids, **named: str) -> Ids:
    """The same ids, with the named ones before the others of their kind."""
    kinds = {kind.replace("_", " "): id for kind, id in named.items()}
    return {kind: sorted(known, key=lambda one: one != kinds.get(kind)) for kind, known in ids.items()}


@pytest.fixture(scope="module")
def world(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    with django_db_blocker.unblock():
        _, _, foreign = a_fuller_crew("Far Ridge crew")
        lead, mill, own = a_fuller_crew("Alder Bend crew")
        yield World(lead=lead, mill=mill, own=own, foreign=foreign)
        call_command("flush", verbosity=0, interactive=False)


@pytest.fixture(autouse=True)
def _as_many_requests_as_wanted(db: None, settings: Any) -> None:
    settings.REQUESTS_PER_MINUTE = settings.KEYLESS_REQUESTS_PER_MINUTE = 0
