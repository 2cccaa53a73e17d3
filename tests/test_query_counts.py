"""How many queries each address takes, pinned in this one place, on the demo's two yards and three cabins.

A number here that grows with the number of rows is a fault of the query, not of the number.
"""

from collections.abc import Iterator

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from crews.models import AccessKey
from planning.demo import demo_id, load_demo
from tests.conftest import Asker
from tests.people import Someone

BUNKHOUSE = demo_id("cabin", "Bunkhouse")
UPPER_YARD = demo_id("yard", "Upper yard")

# Each with the look-up of the key and the count of the rate limit.
LISTS = {
    "me": 4,
    "crew": 3,
    "members": 3,
    "keys": 3,
    "species": 3,
    "yards": 3,
    "racks": 3,
    "logs?limit=500": 3,
    "logs?order=-middle&with_hazard=true": 3,
    f"yards/{UPPER_YARD}/summary": 4,
    f"yards/{UPPER_YARD}/chart": 4,
    "cabins": 3,
    f"cabins/{BUNKHOUSE}/places": 4,
    f"cabins/{BUNKHOUSE}/rounds": 5,
    f"cabins/{BUNKHOUSE}/progress": 6,
    "progress": 7,
    "set-logs?limit=500": 3,
    "given-members": 3,
    "heights?limit=500": 3,
    "planning-jobs": 3,
    "plans": 3,
    "promises": 3,
    "history": 3,
    "events": 3,
    "webhooks": 3,
    "webhook-deliveries": 3,
    "mills": 3,
    "orders": 3,
    "deliveries": 3,
    "scaling-settings": 3,
    "wall-settings": 3,
    "grain-rules": 3,
    "planning-presets": 2,
    f"cabins/{BUNKHOUSE}/layouts": 4,
    f"cabins/{BUNKHOUSE}/corners/P2": 6,
    f"cabins/{BUNKHOUSE}/elevation?wall=A": 6,
    f"cabins/{BUNKHOUSE}/sheets/record": 14,
}


@pytest.fixture
def school(db: None) -> Iterator[Asker]:
    """The demo's lead."""
    secret = load_demo(at=now())
    key = AccessKey.objects.select_related("member__crew").get(name="demo")
    assert secret
    yield Asker(Someone(crew=key.crew, member=key.member, key=secret))


def test_every_list_takes_as_many_queries_as_written_here(school):
    school.get("me")  # the key's last use is written once a minute
    counted = {}

    for address in LISTS:
        with CaptureQueriesContext(connection) as captured:
            answer = school.get(address)
        assert answer.status_code == 200, answer.body
        asked = [query["sql"] for query in captured.captured_queries]
        counted[address] = len([sql for sql in asked if not sql.startswith(("SAVEPOINT", "RELEASE"))])

    odd = {
        address: (counted[address], LISTS[address]) for address in LISTS if counted[address] != LISTS[address]
    }
    assert odd == {}, "address: (counted, pinned)"
