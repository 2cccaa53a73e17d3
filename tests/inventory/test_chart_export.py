"""A yard exported by the database has the bytes of the chart that the core writes of the same logs."""

import csv
import io
from dataclasses import replace
from decimal import Decimal
from sys import maxunicode
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.charts.chart_sql import BLANKS
from inventory.charts.queries import chart_of_yard
from inventory.core.chart import write_chart
from inventory.core.measure import Unit
from inventory.logs.lines import CHARTED, fields_of_line, line_of_fields
from inventory.logs.models import Log, LogState
from inventory.yards.models import Rack, Species
from tests.cabins.building import a_log, a_yard
from tests.inventory.core.test_chart_round_trip import chart_lines, many_lines, names
from tests.people import MORNING

pytestmark = pytest.mark.django_db

ODD_LENGTHS = [
    Decimal(mm)
    for mm in ("0.00001", "0.79375", "25.4", "304.8", "312.737", "330.2", "6000", "499999.99999", "500000")
]


def as_the_core_writes_it(crew, yard, unit):
    rows = Log.objects.of(crew).filter(yard=yard).order_by("number_order", "id")
    rows = rows.values(*CHARTED, "number", "state", "rack__name", "species__name")
    lines = [
        replace(
            line_of_fields(row, number=row["number"], rack=row["rack__name"], species=row["species__name"]),
            state=row["state"],
        )
        for row in rows
    ]
    return write_chart(lines, unit=unit, fraction=crew.fraction).encode()


def exported(crew, yard, unit):
    return b"".join(chart_of_yard(crew, yard.id, unit=unit))


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    lines=st.lists(chart_lines(), max_size=12),
    rack=names,
    species=st.none() | names,
    remarks=st.lists(many_lines, min_size=12, max_size=12),
    states=st.lists(st.sampled_from(LogState.values), min_size=12, max_size=12),
)
def test_any_yard_is_exported_as_the_core_writes_it(lead, lines, rack, species, remarks, states):
    crew = lead.who.crew
    kept = {"crew": crew, "created_at": MORNING, "changed_at": MORNING}
    yard = a_yard(crew, name=str(uuid4()))
    on = Rack.objects.create(yard=yard, name=rack, **kept)
    of = species and Species.objects.create(name=f"{species}{yard.id}", basic_gravity="0.4", **kept)
    Log.objects.bulk_create(
        Log(
            id=uuid4(), yard=yard, rack=on, species=of or None, number=f"{line.number}{n}", **kept,
            state=state, **fields_of_line(replace(line, remarks=remark)),
        )
        for n, (line, remark, state) in enumerate(zip(lines, remarks, states, strict=False))
    )  # fmt: skip

    for unit in Unit:
        assert exported(crew, yard, unit) == as_the_core_writes_it(crew, yard, unit)


@pytest.mark.parametrize("mm", ODD_LENGTHS)
def test_lengths_at_the_edges_are_written_alike(lead, mm):
    crew, mm = lead.who.crew, Decimal(mm)
    part = {"from_butt_mm": float(mm), "diameter_mm": float(mm)}
    hazards = [
        {"kind": "metal", "from_butt_mm": float(mm), "face": None, "extent_mm": float(mm)},
        {"kind": "knot", "from_butt_mm": 0, "face": "top", "extent_mm": None},
    ]
    log = a_log(
        crew, length_mm=mm, crook_at_mm=mm, crown_mm=0, hazards=hazards, further_stations=[part, part]
    )

    for unit in Unit:
        assert exported(crew, log.yard, unit) == as_the_core_writes_it(crew, log.yard, unit)


def test_a_chart_shows_each_logs_state_and_coming_back_changes_none(lead):
    gone = a_log(lead.who.crew, number="1", state="gone")
    a_log(lead.who.crew, yard=gone.yard, number="2", state="put_aside", culled=True)
    chart = exported(lead.who.crew, gone.yard, Unit.MM)

    again = lead.post(
        f"yards/{gone.yard_id}/chart?unit=mm", chart.replace(b"gone", b"in rack"), media="text/csv"
    )

    assert [line.rpartition(b",")[2] for line in chart.split(b"\r\n")] == [
        b"state",
        b"gone",
        b"put aside",
        b"",
    ]
    assert (again.status_code, again.body["unchanged"]) == (200, 2), again.body
    gone.refresh_from_db()
    assert gone.state == "gone"


def test_what_nobody_looked_at_stays_unknown_on_the_chart_and_back(lead):
    log = a_log(lead.who.crew, crown_mm=None, grain_hand=None)
    a_log(lead.who.crew, yard=log.yard, number="straight", crown_mm=0, grain_hand="straight")

    chart = exported(lead.who.crew, log.yard, Unit.MM)
    again = lead.post(f"yards/{log.yard_id}/chart?unit=mm", chart, media="text/csv")

    rows = list(csv.DictReader(io.StringIO(chart.decode())))
    assert [(row["crown"], row["grain hand"]) for row in rows] == [("", ""), ("0 mm", "straight")]
    assert again.body["unchanged"] == 2
    log.refresh_from_db()
    assert (log.crown_mm, log.grain_hand) == (None, None)


def test_no_blank_is_left_out():
    assert [sign for sign in map(chr, range(maxunicode + 1)) if sign.isspace()] == list(BLANKS)


def test_an_export_holds_no_log_of_another_crew(lead, stranger):
    mine, theirs = a_log(lead.who.crew), a_log(stranger.who.crew, number="another")
    Log.objects.filter(id=theirs.id).update(yard=mine.yard)

    assert exported(lead.who.crew, mine.yard, Unit.MM).count(b"\r\n") == 2
