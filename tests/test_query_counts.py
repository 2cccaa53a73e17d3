"""How many queries each address takes, pinned in this one place, on the demo's two yards and three cabins.

A number here that grows with the number of rows is a fault of the query, not of the number.
"""

import re
from collections.abc import Iterable, Iterator

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from crews.models import AccessKey
from planning.demo import demo_id, load_demo
from planning.models import Plan, PlanningJob
from tests.conftest import Asker
from tests.inventory.ordering import FIRST_TRUCK, a_rack, a_sent_order, delivered, mill_of
from tests.people import Someone
from tests.schema import schema

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


# Lists within an order, a plan, a log; the demo has neither of the first two.
LISTS_WITHIN = {
    "logs/{log}/measurements": 4,
    "history/log/{log}": 4,
    "mills/{mill}/forms": 4,
    "orders/{order}/history": 4,
    "orders/{order}/mill-keys": 4,
    "orders/{order}/proposals": 4,
    "deliveries/{delivery}/logs": 4,
    "plans/{plan}/pieces": 4,
}
# As the mill sees its order.
MILLS_LISTS = {"mill/proposals": 4}


@pytest.fixture
def school(db: None) -> Iterator[Asker]:
    """The demo's lead."""
    secret = load_demo(at=now())
    key = AccessKey.objects.select_related("member__crew").get(name="demo")
    assert secret
    yield Asker(Someone(crew=key.crew, member=key.member, key=secret))


def odd_counts(asker: Asker, pinned: dict[str, int], **ids: str) -> dict[str, tuple[int, int]]:
    """Where the count differs: address -> (counted, pinned)."""
    asker.get(next(iter(pinned)).format(**ids))  # the key's last use is written once a minute
    odd = {}
    for address, expected in pinned.items():
        with CaptureQueriesContext(connection) as captured:
            answer = asker.get(address.format(**ids))
        assert answer.status_code == 200, answer.body
        asked = [query["sql"] for query in captured.captured_queries]
        counted = len([sql for sql in asked if not sql.startswith(("SAVEPOINT", "RELEASE"))])
        if counted != expected:
            odd[address] = (counted, expected)
    return odd


def test_every_list_takes_as_many_queries_as_written_here(school):
    assert odd_counts(school, LISTS) == {}, "address: (counted, pinned)"


def test_every_list_within_something_takes_as_many_queries_as_written_here(school):
    crew, member = school.who.crew, school.who.member
    order = a_sent_order(school)
    office = mill_of(school, order, Asker)
    at = {"crew": crew, "created_at": now(), "changed_at": now()}
    job = PlanningJob.objects.create(cabins=[], yards=[], seconds=1, seed=1, asked_by=member, **at)
    judged = {
        "problem": {},
        "made_from": {},
        "report": {},
        "objective": 0,
        "feasible": True,
        "complete": True,
    }
    ids = {
        "order": order,
        "delivery": delivered(school, order, a_rack(school), FIRST_TRUCK),
        "mill": school.get(f"orders/{order}").body["mill"],
        "log": school.get("logs?limit=1").body["items"][0]["id"],
        "plan": str(Plan.objects.create(job=job, **judged, **at).id),
    }

    assert odd_counts(school, LISTS_WITHIN, **ids) == {}, "address: (counted, pinned)"
    assert odd_counts(office, MILLS_LISTS) == {}, "address: (counted, pinned)"


def test_every_list_of_the_schema_is_pinned():
    lists = [
        path.removeprefix("/api/v1/")
        for path, methods in schema()["paths"].items()
        if any(one["name"] == "after" for one in methods.get("get", {}).get("parameters", []))
    ]

    assert lists
    assert set(shapes(lists)) <= set(shapes([*LISTS, *LISTS_WITHIN, *MILLS_LISTS]))


def shapes(addresses: Iterable[str]) -> Iterator[str]:
    """The addresses without what they name."""
    for address in addresses:
        path = address.split("?")[0].replace("history/log/", "history/*/")
        yield re.sub(r"\{[^}]+\}|[0-9a-f-]{36}", "*", path)
