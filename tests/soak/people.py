"""Who takes part in a soak: crews of four, each with someone who charts, builds, buys and only reads."""

import random
from typing import Protocol
from uuid import uuid4

from tests.soak.building import Building
from tests.soak.buying import Buying
from tests.soak.calling import Client, Pace
from tests.soak.charting import Charting
from tests.soak.reading import Reading

# What they do, and the role of the key they do it with.
ROLES = {"charting": "builder", "building": "lead", "buying": "lead", "reading": "learner"}


class AtWork(Protocol):
    """Someone who does one thing again and again."""

    client: Client

    def turn(self) -> None: ...


def take_part(
    founder: Client, *, clients: int, seed: int, pause_s: float, least_turns: int, receiver: str
) -> list[tuple[str, AtWork]]:
    """Found the crews and give everyone a key: (what they do, who does it)."""
    found: list[tuple[str, AtWork]] = []
    lead = founder
    for number in range(clients):
        what = list(ROLES)[number % len(ROLES)]
        if number % len(ROLES) == 0:
            made = founder.ask("found_crew", "PUT", f"crews/{uuid4()}", {"name": f"Crew {number}"})
            lead = founder.with_key(made["key"])
        pace = Pace(chance=random.Random(f"{seed} {number}"), pause_s=pause_s, least_turns=least_turns)
        found.append((what, _at_work(what, lead.with_key(_joined(lead, what), pace), receiver)))
    return found


def _joined(lead: Client, what: str) -> str:
    """The key of someone new in the lead's crew."""
    member, name = str(uuid4()), f"Someone {what}"
    lead.ask("put_member", "PUT", f"members/{member}", {"name": name, "role": ROLES[what]})
    wanted = {"member": member, "name": "soak", "role": ROLES[what]}
    return str(lead.ask("make_key", "PUT", f"keys/{uuid4()}", wanted)["secret"])


def _at_work(what: str, client: Client, receiver: str) -> AtWork:
    match what:
        case "charting":
            return Charting(client)
        case "building":
            return Building(client)
        case "buying":
            return Buying(client, receiver=receiver)
        case _:
            return Reading(client)
