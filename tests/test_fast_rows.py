"""Rows read for JSON have the bytes of the rows that were made of Python's values first."""

from datetime import UTC, date, datetime
from decimal import Decimal
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.db import connection
from django.http import QueryDict
from django_filters import FilterSet, UUIDFilter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cabins.cabins.models import Cabin
from cabins.layouts.models import Place
from cabins.set_logs.queries import set_logs_listed
from crews.api.paging import fast_page, page
from crews.api.render import json_bytes
from inventory.filters import LogFilters
from inventory.logs.models import Log
from inventory.logs.queries import log_answer, log_row, logs_listed
from planning.jobs.models import PlanningJob
from planning.plans.models import Plan, PlannedPiece
from planning.plans.queries import pieces_listed
from tests.cabins.building import a_cabin, a_log, id_of, record_set, set_round
from tests.people import MORNING

pytestmark = pytest.mark.django_db

ODD_WORDS = 'wire: grown in, "deep" \\ 5%\n\ttwo  blanks \x01 \x7f é 木 🪵 </p>'


def both(listed, order, query="limit=2", filters=FilterSet, **ids):
    """Every page from the first to the last, made both ways, as bytes."""
    orders = {"usual": order}
    rows = listed(**ids)
    shown = list(rows.query.selected)
    after, plain, fast = "", [], []
    while after is not None:
        asked = SimpleNamespace(query_params=QueryDict(f"{query}{after}"))
        slow = page(asked, rows.values(*dict.fromkeys([*shown, order])), filters=filters, orders=orders)
        items = [{name: row[name] for name in shown} for row in slow["items"]]
        plain.append(json_bytes({**slow, "items": items}))
        fast.append(json_bytes(fast_page(asked, listed, filters=filters, orders=orders, **ids)))
        after = slow["next"] and f"&after={slow['next']}"
    return plain, fast


def test_logs_come_as_the_same_bytes_either_way(lead):
    crew = lead.who.crew
    hazards = [{"kind": "metal", "from_butt_mm": 4310.5, "face": None, "extent_mm": 20}]
    a_log(crew, remarks=ODD_WORDS, hazards=hazards, middle_mm=Decimal("295.27500"))
    a_log(crew, further_stations=[{"from_butt_mm": 2000, "diameter_mm": 312}], crown_side="top", number='7"')
    a_log(crew, grain_slope=Decimal("12.50"), charted_on=date(2026, 5, 4), crown_mm=0)
    early = a_log(crew, crook_mm=Decimal("0.00001"))
    at = datetime(2026, 5, 4, 7, 30, 1, 120000, tzinfo=UTC)
    Log.objects.filter(id=early.id).update(created_at=at, species=None)
    a_log(crew, hazards=[{"kind": "knot", "said": 'a "quoted : blank, \\" of it', "of": {"a": [1, 2.5]}}])

    plain, fast = both(logs_listed, "number_order", crew=crew.id)

    assert len(plain) == 3
    assert fast == plain


def test_an_older_postgresql_writes_the_same_bytes(lead, monkeypatch):
    crew = lead.who.crew
    a_log(crew, remarks=ODD_WORDS, crown_side="top")
    monkeypatch.setattr(logs_listed, "_kept", {})
    monkeypatch.setattr(connection, "pg_version", 160_000)

    plain, fast = both(logs_listed, "number_order", crew=crew.id)

    assert fast == plain
    assert "JSON_SCALAR" not in str(logs_listed._kept)


LENGTHS = st.decimals("0.00001", "500000", places=5)
LENGTHS_OR_NONE = st.none() | LENGTHS
TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=30)
NUMBERS = st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(0, 1e6)
DOCUMENTS = st.recursive(
    NUMBERS | TEXTS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3)
)
TIMES = st.datetimes(datetime(1, 1, 2), datetime(9999, 12, 30), timezones=st.just(UTC))
ANY_LOG = st.fixed_dictionaries(
    {
        "length_mm": LENGTHS, "middle_mm": LENGTHS, "crown_mm": LENGTHS, "crook_at_mm": LENGTHS_OR_NONE,
        "sawn_thickness_mm": LENGTHS_OR_NONE, "grain_slope": st.none() | st.decimals(0, 999_999, places=2),
        "further_stations": st.lists(DOCUMENTS), "hazards": st.lists(DOCUMENTS),
        "remarks": TEXTS, "charted_by": TEXTS,
        "charted_on": st.none() | st.dates(), "culled": st.booleans(), "version": st.integers(1, 2**31 - 1),
        "crown_side": st.sampled_from([None, "top"]), "created_at": TIMES, "changed_at": TIMES,
    }
)  # fmt: skip


@settings(
    max_examples=15,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(fields=st.lists(ANY_LOG, min_size=1, max_size=25))
def test_any_logs_come_as_the_same_bytes_either_way(lead, fields):
    crew = lead.who.crew
    Log.objects.of(crew).delete()
    first = a_log(crew)
    Log.objects.bulk_create(
        Log(
            id=uuid4(), crew=crew, yard_id=first.yard_id, number=f"N{n}", butt_mm=Decimal(340),
            tip_mm=Decimal(280), **one,
        )
        for n, one in enumerate(fields)
    )  # fmt: skip

    plain, fast = both(logs_listed, "number_order", "limit=10", crew=crew.id)

    assert fast == plain
    answer, row = log_answer(crew, first.id), log_row(crew, first.id)
    assert json_bytes(answer.json) == json_bytes(row)
    assert answer.keys == (row["version"],)


def test_a_filter_that_nothing_can_pass_gives_an_empty_page(lead):
    crew = lead.who.crew
    a_log(crew)

    class NoneAtAll(FilterSet):
        yard = UUIDFilter(method="none_at_all")

        def none_at_all(self, logs, name, value):
            return logs.none()

    pages = both(logs_listed, "number_order", f"limit=2&yard={uuid4()}", NoneAtAll, crew=crew.id)

    assert pages[0] == pages[1] == [b'{"items":[],"next":null}']


def test_a_filter_that_compares_an_id_in_its_own_way_is_asked_that_way(lead):
    crew, named = lead.who.crew, str(uuid4())
    a_log(crew)
    log = a_log(crew, remarks=named)

    class NamedInRemarks(FilterSet):
        named = UUIDFilter(method="as_text")

        def as_text(self, logs, name, value):
            return logs.filter(remarks=str(value))

    plain, fast = both(logs_listed, "number_order", f"limit=2&named={named}", NamedInRemarks, crew=crew.id)

    assert fast == plain
    assert str(log.id).encode() in fast[0]


def test_a_kept_query_asks_for_each_crews_own_log(lead, stranger):
    mine, theirs = a_log(lead.who.crew), a_log(stranger.who.crew)

    assert lead.get(f"logs/{mine.id}").body["id"] == str(mine.id)
    assert stranger.get(f"logs/{theirs.id}").body["id"] == str(theirs.id)
    assert lead.get(f"logs/{theirs.id}").status_code == 404
    assert stranger.get(f"logs/{mine.id}").status_code == 404


def test_logs_turned_round_or_filtered_to_nothing_are_the_same_too(lead):
    crew = lead.who.crew
    for middle in (310, 305, 300):
        a_log(crew, middle_mm=middle)

    down = both(logs_listed, "middle_mm", "limit=2&order=-usual", crew=crew.id)
    late = both(logs_listed, "created_at", "limit=2&order=-usual", crew=crew.id)
    none = both(logs_listed, "number_order", f"limit=2&yard={uuid4()}", LogFilters, crew=crew.id)

    assert len(down[0]) == len(late[0]) == 2
    assert down[0] == down[1]
    assert late[0] == late[1]
    assert none == ([b'{"items":[],"next":null}'], [b'{"items":[],"next":null}'])


def test_logs_filtered_by_ids_and_by_more_are_the_same_too(lead):
    crew = lead.who.crew
    yards = [a_log(crew, middle_mm=middle).yard_id for middle in (310, 305, 300)]

    for query in (
        f"yard={yards[0]}",
        f"yard={yards[1]}",
        "free=true",
        f"yard={yards[0]}&middle_at_least=305",
    ):
        plain, fast = both(logs_listed, "number_order", f"limit=1&{query}", LogFilters, crew=crew.id)
        assert plain == fast


def test_set_logs_come_as_the_same_bytes_either_way(lead):
    cabin, crew = a_cabin(lead), lead.who.crew
    set_round(lead, cabin, 1, gap_mm=Decimal("12.70000"), remarks=ODD_WORDS)
    nail = [{"kind": "metal", "from_butt_mm": 70, "face": "top", "extent_mm": None}]
    record_set(lead, cabin, a_log(crew, hazards=nail), round=2, metal_removed=True)

    plain, fast = both(set_logs_listed, "set_at", crew=crew.id)

    assert b'"metal_removed":true' in b"".join(plain)
    assert fast == plain


def test_planned_pieces_come_as_the_same_bytes_either_way(lead):
    crew = lead.who.crew
    cabin = Cabin.objects.get(id=id_of(a_cabin(lead)))
    kept = {"crew": crew, "created_at": MORNING, "changed_at": MORNING}
    job = PlanningJob.objects.create(**kept, cabins=[], yards=[], seconds=1, seed=7, asked_by=lead.who.member)
    judged = {"problem": {}, "made_from": {}, "report": {}, "objective": 1, "feasible": True}
    plan = Plan.objects.create(**kept, **judged, job=job, complete=True)
    cut = {"plan": plan, "cabin": cabin, "from_butt_mm": Decimal("60.50000"), "butt_at": "start"}
    for place in Place.objects.filter(cabin=cabin)[:3]:
        where = {name: getattr(place, name) for name in ("wall", "round", "piece", "start_mm", "end_mm")}
        PlannedPiece.objects.create(**cut, **where, log=a_log(crew))
    purlin = {"member": "purlin", "member_kind": "purlin", "member_length_mm": Decimal("5600.00000")}
    PlannedPiece.objects.create(**cut, **purlin, log=a_log(crew))

    plain, fast = both(pieces_listed, "id", crew=crew.id, plan=plan.id)

    assert fast == plain


def test_a_list_of_another_crew_stays_its_own(lead, stranger):
    a_log(lead.who.crew)

    assert stranger.get("logs").body["items"] == []
    assert len(lead.get("logs").body["items"]) == Log.objects.count() == 1
