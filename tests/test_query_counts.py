"""How many queries each read takes, pinned in this one place: lists on the demo's two yards and three cabins.

A number here that grows with the number of rows is a fault of the query, not of the number.
"""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from crews.accounts.models import AccessKey
from inventory.yards.models import Species
from planning.demo import demo_id, load_demo
from tests.conftest import Asker
from tests.operation_ids import operations
from tests.operations.asking import address
from tests.operations.world import World, made
from tests.people import Someone
from tests.schema import path_of, schema

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
    f"cabins/{BUNKHOUSE}/rounds": 7,
    f"cabins/{BUNKHOUSE}/progress": 7,
    "progress": 10,
    "set-logs?limit=500": 3,
    "roof-members": 3,
    "prepared-pieces": 3,
    "heights?limit=500": 3,
    "planning-jobs": 3,
    "plans": 3,
    "reservations": 3,
    "history": 3,
    "events": 4,
    "webhooks": 3,
    "webhook-deliveries": 3,
    "mills": 3,
    "orders": 3,
    "deliveries": 3,
    "scaling-settings": 3,
    "wall-settings": 4,
    "grain-rules": 3,
    "planning-presets": 2,
    f"cabins/{BUNKHOUSE}/layouts": 4,
    f"cabins/{BUNKHOUSE}/corners/P2": 8,
    f"cabins/{BUNKHOUSE}/elevation?wall=A": 8,
    f"cabins/{BUNKHOUSE}/sheets/record": 19,
}
# What the demo has not, an order, a plan, a delivery, and whatever else is read; by its name in the schema.
READS = {
    "show_cabin": 3,
    "draw_corner": 8,
    "draw_floor_plan": 3,
    "download_floor_plan": 3,
    "download_elevation": 8,
    "download_opening": 9,
    "estimate_height": 6,
    "show_layout": 3,
    "draw_levels": 8,
    "draw_whole_cabin": 8,
    "make_cabin_model": 8,
    "show_next_log": 12,
    "show_setting_sheet": 12,
    "show_settling": 10,
    "draw_settling": 11,
    "try_log": 15,
    "print_cut_list": 11,
    "print_setting_sheet": 12,
    "print_storey_pole": 9,
    "show_openings": 9,
    "show_gables": 8,
    "draw_opening": 9,
    "print_opening": 9,
    "export_crew": 40,
    "show_delivery": 3,
    "list_delivered_logs": 4,
    "show_moisture_of_air": 2,
    "show_roof_member": 3,
    "show_prepared_piece": 3,
    "show_cut_list": 12,
    "download_cut_list": 12,
    "show_cabin_readings": 19,
    "show_height": 3,
    "show_history": 4,
    "show_key": 3,
    "show_log": 3,
    "draw_log": 7,
    "show_log_figures": 4,
    "list_measurements": 4,
    "show_piece_figures": 3,
    "show_log_pieces": 7,
    "show_member": 3,
    "list_form_fields": 2,
    "show_own_delivery": 3,
    "show_mill_order": 3,
    "show_mill_order_form": 3,
    "download_mill_order_csv": 3,
    "download_mill_order_sheet": 3,
    "download_mill_order_workbook": 3,
    "list_own_proposals": 4,
    "show_mill": 3,
    "show_form": 4,
    "list_forms": 4,
    "show_order": 3,
    "show_order_figures": 5,
    "download_order_figures": 4,
    "download_chart": 4,
    "show_order_form": 6,
    "download_order_csv": 6,
    "download_order_sheet": 6,
    "download_order_workbook": 6,
    "list_order_history": 4,
    "show_order_lines": 4,
    "list_mill_keys": 4,
    "list_proposals": 4,
    "show_reconciliation": 5,
    "show_planning_job": 3,
    "show_planning_problem": 3,
    "show_plan": 3,
    "show_plan_file": 3,
    "show_plan_heights": 8,
    "list_plan_pieces": 4,
    "list_plan_changes": 9,
    "show_plans_side_by_side": 18,
    "show_plan_setting_sheet": 12,
    "explain_placement": 4,
    "show_rack": 3,
    "show_set_log": 3,
    "print_blank_chart": 2,
    "show_species": 3,
    "show_shrinkage": 3,
    "show_webhook_delivery": 3,
    "show_webhook": 3,
    "show_yard": 3,
    "draw_yard": 4,
    "print_yard_chart": 4,
    "print_labels": 4,
}


@pytest.fixture
def school(db: None) -> Iterator[Asker]:
    """The demo's lead."""
    secret = load_demo(at=now())
    key = AccessKey.objects.select_related("member__crew").get(name="demo")
    assert secret
    yield Asker(Someone(crew=key.crew, member=key.member, key=secret))


@pytest.fixture(scope="module")
def full(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    """A crew that has everything."""
    with made(django_db_blocker, foreign=False) as found:
        yield found


def counted(asker: Asker, address: str) -> int:
    """The queries that the address takes."""
    with CaptureQueriesContext(connection) as captured:
        answer = asker.get(address)
    assert answer.status_code == 200, answer.body
    asked = [str(query["sql"]) for query in captured.captured_queries]
    return len([sql for sql in asked if not sql.startswith(("SAVEPOINT", "RELEASE"))])


def test_every_list_takes_as_many_queries_as_written_here(school):
    school.get("me")  # the key's last use is written once a minute

    found = {address: counted(school, address) for address in LISTS}

    odd = {address: (found[address], LISTS[address]) for address in LISTS if found[address] != LISTS[address]}
    assert odd == {}, "address: (counted, pinned)"


def test_every_other_read_takes_as_many_queries_as_written_here(full, db):
    full.lead.get("me")
    full.mill.get("mill/order")
    wood = Species.objects.filter(crew=full.lead.who.crew, shrink_radial_pct__isnull=False).order_by("name")
    shrinks = {"species": str(wood.values_list("id", flat=True)[0])}

    odd = {}
    for one in [one for one in operations() if one.name in READS]:
        asked = address(one, full.own, **(shrinks if "settling" in one.name else {}))
        found = counted(full.asker(one), asked)
        if found != READS[one.name]:
            odd[one.name] = (found, READS[one.name])
    assert odd == {}, "read: (counted, pinned)"


def test_every_read_of_the_schema_is_pinned_once():
    lists = {schema()["paths"][path_of(f"/api/v1/{of.split('?')[0]}")]["get"]["operationId"] for of in LISTS}
    reads = {one.name for one in operations() if one.method == "GET"}

    assert sorted(reads - lists - {*READS}) == [], "write down here how many queries it takes"
    assert sorted({*READS} - (reads - lists)) == []
