"""What is asked of the service: every list in every way, what phones ask often, what workers look for.

The lists come out of the schema, so that a new one is asked the day it appears.
"""

from collections.abc import Iterator
from datetime import timedelta
from io import BytesIO
from typing import Any
from urllib.parse import quote

from django.utils.timezone import now

from config.archive.writing import write_archive
from crews.accounts.idempotency import forget_old_answers
from crews.accounts.limits import forget_old_counts
from crews.webhooks.delivering import webhooks_due
from planning.jobs.abandoned_jobs import requeue_unheld_jobs
from planning.plans.models import CurrentPlan
from planning.plans.staleness import stale_because, tell_of_stale_plans
from tests.scale.crew_of_everything import Everything
from tests.scale.plans import Question, questions_of
from tests.schema import schema

# Filters by a text or a number whose value could not be told from the schema.
_VALUES = {
    "end": "start", "mill_tag": "500", "seasoning": "green", "wall": "A", "round": "1", "name": "hut",
    "since": "2026-01-01T00:00:00Z", "member": "ridge", "length_at_least": "4000",
    "middle_at_least": "200", "middle_at_most": "400", "changed_since": "start",
    "number": "7", "q": "pine",
}  # fmt: skip
# Beyond the lists: what a phone or a page asks all the time, and the whole chart.
_OFTEN = [
    "me", "crew", "progress", "cabins/{id}/progress", "cabins/{id}/rounds", "cabins/{id}/next-log",
    "yards/{id}/summary", "yards/{id}/chart", "logs/{id}", "logs/{id}/pieces", "plans/{id}",
    "plans/{id}/setting-sheet?cabin={cabin}&round=1", "orders/{id}/reconciliation",
]  # fmt: skip
_OF = {"cabins": "cabin", "yards": "yard", "logs": "measured", "orders": "order", "plans": "plan",
       "deliveries": "delivery", "mills": "mill"}  # fmt: skip

Asked = tuple[str, list[Question]]


def of_one_crew(crew: Everything) -> Iterator[Asked]:
    """(what, its questions) of all that one crew asks."""
    for address in _addresses(crew.ids):
        yield from _pages_of(crew, address)
    who = crew.lead.who
    assert who
    yield "archive", questions_of(lambda: write_archive(who.crew, BytesIO(), at=now()))[1]
    for current in CurrentPlan.objects.filter(cabin__crew=who.crew):
        yield "whether a plan is stale", questions_of(lambda current=current: stale_because(current))[1]


def by_the_clock() -> Iterator[Asked]:
    """What the workers look for again and again, for all crews."""
    for name, work in {
        "webhooks due": lambda: webhooks_due(at=now()),
        "old answers": lambda: forget_old_answers(at=now()),
        "old counts": lambda: forget_old_counts(at=now()),
        "jobs left": requeue_unheld_jobs,
        # A while from now, when hardly anything was changed lately: the copies all came at once.
        "stale plans": lambda: tell_of_stale_plans(at=now() + timedelta(hours=1)),
    }.items():
        yield f"by the clock: {name}", questions_of(work)[1]


def lists() -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """(address, query parameters) of every list of the schema."""
    for path, methods in schema()["paths"].items():
        parameters = methods.get("get", {}).get("parameters", [])
        if any(one["name"] == "after" for one in parameters):
            yield path.removeprefix("/api/v1/"), [one for one in parameters if one["in"] == "query"]


def _addresses(ids: dict[str, str]) -> Iterator[str]:
    """Every list at its usual order, in each other order and through each of its filters; and the rest."""
    for address, parameters in lists():
        at = _filled(address, ids)
        yield at
        for one in parameters:
            if one["name"] == "order":
                yield from (f"{at}?order={order}" for order in one["schema"]["enum"][1:])
            elif one["name"] not in ("limit", "after"):
                yield f"{at}?{one['name']}={_value_of(one['name'], one['schema'], ids)}"
    yield from (_filled(one, ids) for one in _OFTEN)


def _filled(address: str, ids: dict[str, str]) -> str:
    """The address with the ids of the crew's own objects."""
    kind = address.split("/")[0]
    address = address.replace("{kind}", "log").replace("{cabin}", ids["cabin"])
    return address.replace("{id}", ids["measured"] if kind == "history" else ids[_OF.get(kind, kind)]) \
        if "{id}" in address else address  # fmt: skip


def _value_of(name: str, kind: dict[str, Any], ids: dict[str, str]) -> str:
    if "enum" in kind:
        return str(kind["enum"][0])
    if kind["type"] == "boolean":
        return "true"
    if kind.get("format") == "uuid":
        return ids[{"of_order": "order", "object": "measured"}.get(name, name)]
    if name == "ids":
        return ids["measured"]
    return {"state": "in_rack", "kind": "plan_ready"}.get(name) or _VALUES[name]


def _pages_of(crew: Everything, address: str) -> Iterator[Asked]:
    """The questions of the first page, and of the second where there is more than one row."""
    who = crew.mill_office if address.startswith("mill/") else crew.lead
    answer, asked = questions_of(lambda: who.get(address))
    assert answer.status_code == 200, (address, answer.body)
    yield address, asked
    cursor = "cursor" if address.startswith("events") else "next"
    if not (isinstance(answer.body, dict) and answer.body.get("items") and cursor in answer.body):
        return
    mark = "&" if "?" in address else "?"
    after = who.get(f"{address}{mark}limit=1").body[cursor]
    if after:
        second = f"{address}{mark}after={quote(after)}"
        yield "second page of " + address, questions_of(lambda: who.get(second))[1]
