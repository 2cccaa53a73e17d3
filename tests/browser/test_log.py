"""One log's page: what becomes of the log, with the reason; who changed what of it."""

import re
from datetime import datetime
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import expect

from tests.browser.building import a_hut, a_yard
from tests.browser.looking import cut_off, findings, too_small
from tests.browser.screen import Screen, Size
from tests.live import Person, joined


@pytest.fixture
def lead(live) -> Person:
    lead: Person = live.crew()
    a_yard(lead)
    return lead


def first_log(person: Person) -> dict[str, Any]:
    return dict(person.get("logs?limit=1")["items"][0])


def answer_with(one: Screen, reason: str, yes: str) -> None:
    """Answer the page's question, which is as accessible as the page is."""
    asked = one.page.get_by_role("dialog")
    expect(asked).to_be_visible()
    assert findings(one.page) == []
    if reason:
        asked.get_by_label("Reason").fill(reason)
    asked.get_by_role("button", name=yes, exact=True).click()


def test_a_log_is_put_aside_taken_back_and_written_off_each_asked_once(screen, size, lead):
    log = first_log(lead)
    one = screen(size, lead)
    one.go(f"/logs/{log['id']}")

    one.press("Put it aside")
    one.page.get_by_role("dialog").get_by_role("button", name="Cancel").click()
    assert lead.get(f"logs/{log['id']}")["state"] == "in_rack"
    one.press("Put it aside")
    answer_with(one, "Soft at the tip", "Put it aside")
    expect(one.page.locator("#facts")).to_contain_text("Put aside becauseSoft at the tip")
    assert lead.get(f"logs/{log['id']}")["cull_reason"] == "Soft at the tip"

    other = next(rack for rack in lead.get(f"racks?yard={log['yard']}")["items"] if rack["id"] != log["rack"])
    one.press("Back to the rack")
    one.page.get_by_label("It lies on").select_option(other["id"])
    answer_with(one, "", "Back to the rack")
    expect(one.page.locator("#facts")).to_contain_text(f"Rack{other['name']}")
    assert lead.get(f"logs/{log['id']}")["state"] == "in_rack"

    one.press("Write it off")
    answer_with(one, "Sold for a bench", "Write it off")
    expect(one.page.locator("#facts")).to_contain_text("Written off becauseSold for a bench")
    assert lead.get(f"logs/{log['id']}")["state"] == "gone"
    expect(one.page.get_by_role("button", name="Back to the rack")).to_be_visible()
    expect(one.page.get_by_role("button", name="Write it off")).to_have_count(0)
    assert [*too_small(one.page), *cut_off(one.page, width=390), *cut_off(one.page, width=1280)] == []


def test_a_learner_puts_aside_and_does_not_write_off(screen, lead):
    wren = joined(lead, "Wren", "learner")
    one = screen(Size.PHONE, wren)
    one.go(f"/logs/{first_log(lead)['id']}")

    expect(one.page.get_by_role("button", name="Put it aside")).to_be_visible()
    expect(one.page.get_by_role("button", name="Write it off")).to_have_count(0)


def test_a_log_that_someone_else_set_meanwhile_is_told(screen, lead):
    cabin = a_hut(lead)
    log = first_log(lead)
    one = screen(Size.PHONE, lead)
    one.go(f"/logs/{log['id']}")
    place = {"cabin": cabin, "wall": "B", "round": 1, "piece": 0, "log": log["id"], "butt_at": "start"}
    at = {"from_butt_mm": 95, "set_at": "2026-05-04T09:00:00Z", "confirm_doubtful": True}
    lead.put(f"set-logs/{uuid4()}", place | at)

    one.press("Put it aside")
    answer_with(one, "Soft at the tip", "Put it aside")

    expect(one.page.locator("#told.wrong")).to_contain_text("release it there first")
    assert lead.get(f"logs/{log['id']}")["state"] in ("set", "cut_up")


def test_the_history_of_a_log_says_who_changed_what_and_when(screen, size, lead):
    log = first_log(lead)
    wren = joined(lead, "Wren", "learner")
    wren.post(f"logs/{log['id']}/put-aside", {"reason": "Soft at the tip"})
    wren.must("PATCH", f"logs/{log['id']}", {"middle_mm": 310}, **{"If-Match": '"2"'})
    one = screen(size, lead, timezone_id="America/Vancouver")
    one.go(f"/logs/{log['id']}")

    one.page.get_by_text("Who changed what").click()
    told = one.page.locator("#history li")
    expect(told).to_have_count(3)
    expect(told.nth(0)).to_contain_text(re.compile(r"Wren: middle: 30\d mm, now 310 mm"))
    expect(told.nth(1)).to_contain_text(
        "Wren: state: on the rack, now put aside; put aside because: nothing, now"
    )
    expect(told.nth(2)).to_contain_text(": charted")
    changed = lead.get(f"history/log/{log['id']}?order=-at&limit=1")["items"][0]["at"]
    here = datetime.fromisoformat(changed).astimezone(ZoneInfo("America/Vancouver"))
    expect(told.nth(0)).to_contain_text(f"{here.day} {here:%b}, {here:%H:%M}")
    faults = [*findings(one.page), *too_small(one.page)]
    assert [*faults, *cut_off(one.page, width=390), *cut_off(one.page, width=1280)] == []


def test_the_history_of_a_cabin_tells_its_layouts(screen, lead):
    cabin = a_hut(lead)
    one = screen(Size.PHONE, lead)
    one.go(f"/cabins/{cabin}")

    one.page.get_by_text("Who changed what").click()

    told = one.page.locator("#history li")
    expect(told.last).to_contain_text(": taken up")
    expect(told.first).to_contain_text("layout changed; rounds: nothing, now 3")
