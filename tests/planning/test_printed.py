"""Printed sheets by HTTP: PDF files of what is stored, in the crew's units and on its paper."""

import io
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader

from inventory.core.measure import Unit, write_length
from inventory.logs.models import Log
from inventory.yards.models import Rack, Yard
from tests.cabins.building import a_log, a_yard, record_set, where
from tests.people import MORNING
from tests.planning.planning_yard import a_hut
from tests.planning.test_drawings import adopted

pytestmark = pytest.mark.django_db(transaction=True)


def sheet(someone: Any, address: str) -> list[str]:
    answer = someone.get(address)
    assert answer.status_code == 200, answer.body
    assert answer.headers["Content-Type"] == "application/pdf"
    reader = PdfReader(io.BytesIO(answer.body))
    return [" ".join(page.extract_text().replace("\u200b", "").split()) for page in reader.pages]


def test_the_sheets_of_a_plan_tell_what_the_plan_says(lead):
    hut, plan = adopted(lead)
    told = lead.get(f"cabins/{hut}/setting-sheet?round=1").body

    setting = " ".join(sheet(lead, f"cabins/{hut}/sheets/setting?round=1"))
    named = " ".join(sheet(lead, f"cabins/{hut}/sheets/setting?round=1&plan={plan}&paper=letter"))
    cuts = " ".join(sheet(lead, f"cabins/{hut}/sheets/cut-list"))
    pole = " ".join(sheet(lead, f"cabins/{hut}/sheets/storey-pole"))

    for row in told["rows"]:
        assert row["log_number"] in setting
        assert write_length(row["corners"][0]["top_mm"], unit=Unit.MM) in setting
        assert f"{row['lift']['weight_high_kg']:.0f} kg" in named
    assert "12 pieces" in cuts
    tops = lead.get(f"plans/{plan}/heights?cabin={hut}").body["tops"]
    assert all(
        write_length(top["top_mm"], unit=Unit.MM) in pole
        for top in tops
        if top["round"] and top["column"] == 0
    )


def test_without_a_plan_there_is_nothing_to_print(lead):
    hut = a_hut(lead)

    for name in ("setting?round=1", "cut-list", "storey-pole"):
        answer = lead.get(f"cabins/{hut}/sheets/{name}", accept="application/pdf")
        assert answer.status_code == 409
        assert answer.body["type"] == "/problems/no-plan-yet"


def test_no_sheet_of_a_round_that_is_not_there(lead):
    hut, _ = adopted(lead)

    assert lead.get(f"cabins/{hut}/sheets/setting?round=9").status_code == 404
    assert lead.get(f"cabins/{hut}/sheets/setting").status_code == 400
    assert lead.get(f"cabins/{hut}/sheets/cut-list?paper=papyrus").status_code == 400


def test_a_cabins_record_is_printed_with_its_logs_whether_settling_is_known_or_not(lead):
    hut = a_hut(lead, name="Pond hut")
    record_set(lead, f"cabins/{hut}", a_log(lead.who.crew, number="L17"), **where())

    found = sheet(lead, f"cabins/{hut}/sheets/record?paper=a4")

    words = " ".join(found)
    assert len(found) == 8
    assert "Pond hut: record" in found[0]
    assert "L17" in words
    assert "Odda" in words
    assert "Not reckoned:" in words


def test_a_yards_chart_and_labels_are_of_the_whole_yard_or_of_one_rack(lead):
    crew = lead.who.crew
    yard = a_yard(crew)
    rack = Rack.objects.create(crew=crew, yard=yard, name="Rack 9", created_at=MORNING, changed_at=MORNING)
    a_log(crew, yard=yard, number="ON9", rack=rack)
    a_log(crew, yard=yard, number="LOOSE")
    a_log(crew, yard=yard, number="GONE", state="gone")

    whole = " ".join(sheet(lead, f"yards/{yard.id}/sheets/chart"))
    one = " ".join(sheet(lead, f"yards/{yard.id}/sheets/chart?rack={rack.id}"))
    labels = " ".join(sheet(lead, f"yards/{yard.id}/sheets/labels?rack={rack.id}"))

    assert ("ON9" in whole, "LOOSE" in whole, "GONE" in whole) == (True, True, False)
    assert ("ON9" in one, "LOOSE" in one) == (True, False)
    assert ("ON9" in labels, "LOOSE" in labels) == (True, False)
    assert lead.get(f"yards/{yard.id}/sheets/chart?rack={uuid4()}").status_code == 404


@pytest.mark.parametrize("name", ["setting?round=1", "cut-list?", "storey-pole?", "record?"])
def test_a_cabins_sheets_tell_the_time_where_they_are_read(lead, name):
    hut, _ = adopted(lead)

    there = datetime.now(ZoneInfo("Pacific/Kiritimati"))
    words = " ".join(sheet(lead, f"cabins/{hut}/sheets/{name}&zone=Pacific/Kiritimati"))
    here = " ".join(sheet(lead, f"cabins/{hut}/sheets/{name}"))

    minutes = [there + timedelta(minutes=more) for more in range(3)]
    assert any(f"as of {at:%Y-%m-%d %H:%M} UTC+14" in words for at in minutes)
    assert "UTC+14" not in here
    assert " UTC" in here


def test_yard_sheets_tell_the_time_where_they_are_read(lead):
    yard = a_yard(lead.who.crew)
    a_log(lead.who.crew, yard=yard)

    for address in (f"yards/{yard.id}/sheets/chart", "sheets/blank-chart"):
        assert "UTC+14" in " ".join(sheet(lead, f"{address}?zone=Pacific/Kiritimati"))
    assert any(
        zone in sheet(lead, "sheets/blank-chart?zone=America/Vancouver")[0] for zone in (" PST", " PDT")
    )


def test_the_record_tells_the_day_that_it_was_where_it_is_read(lead):
    hut = a_hut(lead, name="Pond hut")
    record_set(lead, f"cabins/{hut}", a_log(lead.who.crew, number="L17"), **where())  # at noon in UTC

    assert "2024-05-04" in " ".join(sheet(lead, f"cabins/{hut}/sheets/record"))
    there = " ".join(sheet(lead, f"cabins/{hut}/sheets/record?zone=Pacific/Kiritimati"))
    assert "2024-05-05" in there
    assert "2024-05-04" not in there


@pytest.mark.parametrize("zone", ["Moon/Base", "America", "../etc/passwd", "", "%00", "Europe/Oslo%00"])
def test_a_zone_that_is_none_is_refused(lead, zone):
    answer = lead.get(f"sheets/blank-chart?zone={zone}", accept="application/pdf")

    assert answer.status_code == 400
    assert answer.body["errors"][0]["pointer"] == "?zone"


def test_a_blank_chart_follows_the_crews_units(lead):
    metric = sheet(lead, "sheets/blank-chart")
    crew = lead.who.crew
    type(crew).objects.filter(id=crew.id).update(length_unit="ft_in")
    feet = lead.get("sheets/blank-chart").body

    page = PdfReader(io.BytesIO(feet)).pages[0]
    assert "5906 mm" in metric[0]
    assert sorted((float(page.mediabox.width), float(page.mediabox.height))) == pytest.approx(
        [612, 792], abs=1
    )


def test_nobody_prints_sheets_of_another_crew(lead, stranger):
    hut, _ = adopted(lead)
    yard = Yard.objects.get(id=Log.objects.values_list("yard", flat=True)[0])

    for name in ("setting?round=1", "cut-list", "storey-pole", "record"):
        assert stranger.get(f"cabins/{hut}/sheets/{name}").status_code == 404
    for name in ("chart", "labels"):
        assert stranger.get(f"yards/{yard.id}/sheets/{name}").status_code == 404
