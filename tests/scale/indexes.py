"""No question about one crew reads a whole table, however many crews there are: asked of PostgreSQL.

The lists come out of the schema, so that a new one is asked the day it appears: `make indexes`. Not in
`make test` yet: eight questions of 621 are still to be judged (docs/scale.md).
"""

import os
import sys
from collections.abc import Iterator
from datetime import timedelta
from itertools import chain
from typing import Any
from urllib.parse import quote

import pytest
from django.utils.timezone import now

from crews.delivering import webhooks_due
from crews.limits import forget_old_counts
from crews.repeats import forget_old_answers
from inventory.models import Log
from planning.left_jobs import requeue_unheld_jobs
from planning.staleness import tell_of_stale_plans
from tests.scale.crew_of_everything import Everything, a_crew_of_everything
from tests.scale.many_crews import copy_crews, tables
from tests.scale.plans import questions_of, whole_tables
from tests.schema import schema

CREWS = int(os.environ.get("SCALE_CREWS") or 80)
LOGS_MORE = int(os.environ.get("SCALE_LOGS") or 200)
# Reading a page or two is the quickest way to find a row in a table of a page or two.
_LARGE_ROWS = 5_000
# Filters by a text or a number whose value could not be told from the schema.
_VALUES = {"wall": "A", "round": "1", "name": "hut", "since": "2026-01-01T00:00:00Z", "member": "door post",
           "length_at_least": "4000", "middle_at_least": "200", "middle_at_most": "400"}  # fmt: skip
# Beyond the lists: what a phone or a page asks all the time, and the whole chart.
_OFTEN = [
    "me", "crew", "progress", "cabins/{id}/progress", "cabins/{id}/rounds", "cabins/{id}/next-log",
    "yards/{id}/summary", "yards/{id}/chart", "logs/{id}", "logs/{id}/pieces", "plans/{id}",
    "plans/{id}/setting-sheet?cabin={cabin}&round=1", "orders/{id}/reconciliation",
]  # fmt: skip
_OF = {"cabins": "cabin", "yards": "yard", "logs": "measured", "orders": "order", "plans": "plan",
       "deliveries": "delivery", "mills": "mill"}  # fmt: skip


def lists() -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """(address, query parameters) of every list of the schema."""
    for path, methods in schema()["paths"].items():
        parameters = methods.get("get", {}).get("parameters", [])
        if any(one["name"] == "after" for one in parameters):
            yield path.removeprefix("/api/v1/"), [one for one in parameters if one["in"] == "query"]


def filled(address: str, ids: dict[str, str]) -> str:
    """The address with the ids of the crew's own objects."""
    kind = address.split("/")[0]
    address = address.replace("{kind}", "log").replace("{cabin}", ids["cabin"])
    return address.replace("{id}", ids["measured"] if kind == "history" else ids[_OF.get(kind, kind)]) \
        if "{id}" in address else address  # fmt: skip


def value_of(name: str, kind: dict[str, Any], ids: dict[str, str]) -> str:
    if "enum" in kind:
        return str(kind["enum"][0])
    if kind["type"] == "boolean":
        return "true"
    if kind.get("format") == "uuid":
        return ids[{"of_order": "order", "object": "measured"}.get(name, name)]
    return "in_rack" if name == "state" else _VALUES[name]


def addresses(ids: dict[str, str]) -> Iterator[str]:
    """Every list at its usual order, in each other order and through each of its filters; and the rest."""
    for address, parameters in lists():
        at = filled(address, ids)
        yield at
        for one in parameters:
            if one["name"] == "order":
                yield from (f"{at}?order={order}" for order in one["schema"]["enum"][1:])
            elif one["name"] not in ("limit", "after"):
                yield f"{at}?{one['name']}={value_of(one['name'], one['schema'], ids)}"
    yield from (filled(one, ids) for one in _OFTEN)


def pages_of(crew: Everything, address: str) -> Iterator[tuple[str, list[tuple[str, Any]]]]:
    """The questions of the first page, and of the second where there is more than one row."""
    who = crew.mill_office if address.startswith("mill/") else crew.lead
    answer, asked = questions_of(lambda: who.get(address))
    assert answer.status_code == 200, (address, answer.body)
    yield address, asked
    if not (isinstance(answer.body, dict) and answer.body.get("items") and "next" in answer.body):
        return
    mark = "&" if "?" in address else "?"
    after = who.get(f"{address}{mark}limit=1").body["next"]
    if after:
        second = f"{address}{mark}after={quote(after)}"
        yield "second page of " + address, questions_of(lambda: who.get(second))[1]


def by_the_clock() -> Iterator[tuple[str, list[tuple[str, Any]]]]:
    """What the workers look for again and again, for all crews."""
    for work in (
        lambda: webhooks_due(at=now()),
        lambda: forget_old_answers(at=now()),
        lambda: forget_old_counts(at=now()),
        requeue_unheld_jobs,
        # A while from now, when hardly anything was changed lately: the copies all came at once.
        lambda: tell_of_stale_plans(at=now() + timedelta(hours=1)),
    ):
        _, asked = questions_of(work)
        for question in asked:
            yield f"by the clock: {question[0][:80]}", [question]


@pytest.mark.django_db(transaction=True)
def test_no_question_about_a_crew_reads_a_whole_table() -> None:
    crew = a_crew_of_everything(logs=LOGS_MORE)
    copy_crews(CREWS)
    ours = {model._meta.db_table for model in tables()}
    large = {model._meta.db_table for model in tables() if model._default_manager.count() > _LARGE_ROWS}
    assert Log._meta.db_table in large

    odd: dict[str, list[str]] = {}
    second_pages = asked_all = 0
    lists_and_more = chain.from_iterable(pages_of(crew, address) for address in addresses(crew.ids))
    for what, questions in chain(lists_and_more, by_the_clock()):
        second_pages += what.startswith("second")
        for sql, params in questions:
            asked_all += 1
            whole = whole_tables(sql, params, tables=large, may_scan=True)
            whole += whole_tables(sql, params, tables=ours, may_scan=False)
            if whole:
                odd.setdefault(what, []).extend(whole)

    told = (
        f"{asked_all} questions, {second_pages} second pages; {Log.objects.count()} logs in {CREWS + 1} crews"
    )
    sys.stdout.write(f"{told}\n  tables of more than {_LARGE_ROWS} rows: {', '.join(sorted(large))}\n")
    assert odd == {}
