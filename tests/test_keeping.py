"""What is kept for a time, what an operator takes away, and that nothing else goes with it."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from config.archive.tables import tables
from config.erasing import NAMELESS, WAITS, erase_crew
from config.retention import forget_what_is_old
from crews.accounts.models import Crew, Member
from crews.events.models import Event
from crews.history.models import Change
from crews.webhooks.models import WebhookDelivery
from planning.jobs.models import PlanningJob
from planning.plans.models import Plan
from tests.archive.world import a_full_crew
from tests.cabins.building import a_log

YEARS = datetime.now(UTC) + timedelta(days=800)


@pytest.fixture
def full(transactional_db, lead, stranger, asker):
    """A crew with something of everything, beside another one."""
    a_log(stranger.who.crew)
    a_full_crew(lead, asker)
    return lead


def rows_of(crew):
    """How many rows a crew has, by table."""
    found = {}
    with connection.cursor() as cursor:
        for table in tables():
            rows = table.held.rows.format(crew="%(crew)s")
            cursor.execute(f"SELECT count(*) FROM {table.name} WHERE {rows}", {"crew": crew.id})
            [found[table.name]] = cursor.fetchone()
    return found


def test_what_is_kept_for_a_time_goes_and_nothing_else(full, settings):
    crew = full.who.crew
    WebhookDelivery.objects.filter(crew=crew).update(state="delivered", due_at=None)
    before = rows_of(crew)

    forget_what_is_old(at=YEARS)

    after = rows_of(crew)
    going = {
        "crews_event",
        "crews_webhookdelivery",
        "planning_plan",
        "planning_planningjob",
        "planning_plannedpiece",
    }
    assert after["crews_event"] == after["crews_webhookdelivery"] == 0
    assert {name for name in before if after[name] < before[name]} <= going
    assert not Plan.objects.filter(crew=crew, state="proposed").exists()
    assert Plan.objects.filter(crew=crew, state="adopted").count() == 1
    assert PlanningJob.objects.filter(crew=crew).exclude(plan__isnull=False).count() == 0
    assert full.get("crew").status_code == 200


def test_what_is_younger_waits_for_a_receiver_or_is_kept_for_ever_stays(full, settings):
    settings.EVENTS_DAYS = settings.PLANS_DAYS = 0
    settings.DELIVERIES_DAYS = 10
    crew, before = full.who.crew, rows_of(full.who.crew)
    WebhookDelivery.objects.filter(crew=crew).update(state="waiting")

    forget_what_is_old(at=YEARS)
    settings.EVENTS_DAYS = settings.PLANS_DAYS = 5000
    forget_what_is_old(at=YEARS)

    assert rows_of(crew) == before


def test_the_history_goes_if_the_operator_says_so(full, settings):
    settings.HISTORY_DAYS = 100

    gone = forget_what_is_old(at=YEARS)

    assert gone["entries of the history"] > 100
    assert Change.objects.filter(crew=full.who.crew, kind="log").count() == 0


def test_a_crew_is_closed_with_its_archive_and_after_a_time_erased_with_nothing_beside(
    full, stranger, tmp_path
):
    crew, others = full.who.crew, rows_of(stranger.who.crew)
    with pytest.raises(CommandError, match="close it first"):
        call_command("erase_crew", str(crew.id))

    call_command("close_crew", str(crew.id), "--archive", str(tmp_path / "crew.zip"))
    assert (tmp_path / "crew.zip").stat().st_size > 1000
    assert full.get("me").status_code == 401
    with pytest.raises(CommandError, match="may be erased from"):
        call_command("erase_crew", str(crew.id))
    erase_crew(crew, at=datetime.now(UTC) + WAITS)

    assert set(rows_of(crew).values()) == {0}
    assert not Crew.objects.filter(id=crew.id).exists()
    assert rows_of(stranger.who.crew) == others
    assert stranger.get("logs").status_code == 200


def test_who_left_is_made_nameless_and_what_they_did_stays(lead, builder):
    yard = str(a_log(lead.who.crew).yard_id)
    measures = {"length_mm": 6000, "butt_mm": 340, "middle_mm": 315, "tip_mm": 290}
    member, name = builder.who.member, builder.who.member.name
    log = f"logs/{uuid4()}"
    assert builder.put(log, {"yard": yard, "number": "7", "charted_by": name, **measures}).status_code == 201
    crew = str(lead.who.crew.id)
    with pytest.raises(CommandError, match="has left"):
        call_command("make_nameless", crew, str(member.id))
    lead.delete(f"members/{member.id}", version=1)

    call_command("make_nameless", crew, str(member.id))

    told = lead.get(f"history?object={log[5:]}").content + lead.get("members").content + lead.get(log).content
    assert name not in told.decode()
    assert name not in str(list(Change.objects.filter(crew=lead.who.crew).values_list("before", "after")))
    assert Member.objects.get(id=member.id).name == NAMELESS
    assert Change.objects.filter(object=log[5:], member=member).exists(), "who did it is known by an id"
    assert Event.objects.filter(crew=lead.who.crew).exists()
