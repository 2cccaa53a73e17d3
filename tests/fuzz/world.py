"""Whom the fuzzer acts as and what it finds: a crew that has one of everything, its keys and ids, as JSON.

Run as a command on the empty, migrated database that DATABASE_URL names.
"""

import json
import sys
from pathlib import Path

import django
from django.conf import settings


def make_world(file: Path) -> None:
    """Make the crew and a neighbour; write whose keys and which ids there are to `file`."""
    from crews.accounts.models import Role
    from tests.archive.world import a_full_crew
    from tests.conftest import Asker
    from tests.inventory.ordering import mill_of
    from tests.operation_ids import ids_of
    from tests.people import a_crew, join

    lead = Asker(a_crew())
    stranger = Asker(a_crew("Far Ridge crew"))
    a_full_crew(lead, Asker)
    someone = {role.value: join(lead.who.crew, f"a {role}", role) for role in Role}
    order = next(one["id"] for one in lead.get("orders").body["items"] if one["state"] != "draft")
    spare = join(lead.who.crew, "Spare", Role.LEARNER)
    told = {
        "keys": {role: who.key for role, who in someone.items()}
        | {"mill": mill_of(lead, order, Asker).who.key, "stranger": stranger.who.key},
        "ids": ids_of(lead.who.crew) | {"member": [str(spare.member.id)], "key": []},
        "foreign": ids_of(stranger.who.crew),
        # Without these the fuzzer has locked itself out.
        "kept": [
            *ids_of(lead.who.crew)["key"], *ids_of(lead.who.crew)["mill key"],
            *(str(who.member.id) for who in [lead.who, *someone.values()]),
        ],
    }  # fmt: skip
    file.write_text(json.dumps(told))


if __name__ == "__main__":
    django.setup()
    settings.ALLOWED_HOSTS = ["testserver"]
    make_world(Path(sys.argv[1]))
