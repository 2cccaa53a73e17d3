"""A chart from a file on the yard's page: looked through before anything of it is stored."""

from uuid import uuid4

import pytest
from playwright.sync_api import expect

from tests.browser.building import HEAD
from tests.browser.looking import cut_off, findings, too_small
from tests.browser.screen import Screen, Size
from tests.live import Person

SOUND = "A1,R1,,320,300,285,6000,0,,"
SMALL = "A2,R1,,330,310,295,6100,10,,"
BAD = ["A3,R1,,300,310,320,6000,0,,", "A4,R1,,wide,300,285,6000,0,,"]
DOUBTFUL = "A5,R1,,320,300,285,30000,0,,"


@pytest.fixture
def yard(live) -> tuple[Person, str]:
    lead, yard = live.crew(), str(uuid4())
    lead.put(f"yards/{yard}", {"name": "North yard"})
    return lead, yard


def choose(one: Screen, *lines: str) -> None:
    """Choose a file with these rows below the headings, and have it looked through."""
    text = "\n".join([HEAD, *lines, ""])
    one.page.locator("#file").set_input_files(
        {"name": "chart.csv", "mimeType": "text/csv", "buffer": text.encode()}
    )
    one.page.get_by_label("Make the racks that are not here yet").check()
    one.press("Look through it")


def opened(screen, size: Size, lead: Person) -> Screen:
    one: Screen = screen(size, lead)
    one.go("/yard")
    one.page.get_by_text("Take in a chart from a file").click()
    return one


def count(lead: Person) -> int:
    return len(lead.get("logs?limit=50")["items"])


def test_faults_stand_by_their_rows_and_nothing_is_stored(screen, size, yard):
    lead, _ = yard
    one = opened(screen, size, lead)

    choose(one, SOUND, *BAD)

    told = one.page.locator("#chart-file-told")
    expect(told.locator("tbody tr")).to_have_count(2)
    expect(told.locator("tbody tr").nth(0)).to_contain_text("3")
    expect(told.locator("tbody tr").nth(1)).to_contain_text("wide")
    expect(told.get_by_role("button")).to_have_count(0)
    faults = [*findings(one.page), *too_small(one.page)]
    assert [*faults, *cut_off(one.page, width=390), *cut_off(one.page, width=1280)] == []
    assert count(lead) == 0


def test_a_sound_chart_is_taken_in_after_it_was_looked_through(screen, size, yard):
    lead, _ = yard
    one = opened(screen, size, lead)

    choose(one, SOUND, SMALL)
    told = one.page.locator("#chart-file-told")
    expect(told).to_contain_text(
        "2 logs new, 0 changed, 0 as they were. New racks: R1. Nothing is stored yet."
    )
    assert count(lead) == 0
    one.press("Take it in")
    expect(one.page.locator("#logs tr")).to_have_count(2)
    assert count(lead) == 2

    choose(one, SOUND, SMALL)
    expect(told).to_contain_text("All of it is here already")
    expect(told.get_by_role("button")).to_have_count(0)


def test_what_is_doubtful_is_confirmed_by_a_button_of_its_own(screen, size, yard):
    lead, _ = yard
    one = opened(screen, size, lead)

    choose(one, SOUND, DOUBTFUL)
    told = one.page.locator("#chart-file-told")
    expect(told.locator("tbody tr")).to_contain_text("30000")
    assert findings(one.page) == []
    assert count(lead) == 0
    one.page.get_by_label("A plain number means").select_option("mm")
    one.press("Look through it")
    one.press("It is right, take it in")

    expect(one.page.locator("#logs tr")).to_have_count(2)
    assert count(lead) == 2


def test_other_choices_put_away_what_was_found(screen, yard):
    lead, _ = yard
    one = opened(screen, Size.PHONE, lead)
    choose(one, SOUND)
    expect(one.page.get_by_role("button", name="Take it in")).to_be_visible()

    one.page.get_by_label("A plain number means").select_option("in")

    expect(one.page.locator("#chart-file-told")).to_be_empty()
