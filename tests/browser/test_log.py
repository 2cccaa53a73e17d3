"""One log's page: what becomes of the log, with the reason; who changed what of it."""

from typing import Any
from uuid import uuid4

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
