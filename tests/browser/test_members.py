"""Members beyond the walls on the cabin's page: which log each is made of, installed and taken back."""

import pytest
from playwright.sync_api import expect

from tests.browser.building import a_hut, a_plan, a_yard
from tests.browser.looking import cut_off, findings, too_small
from tests.browser.screen import Size
from tests.live import Person

RIDGE = {"id": "ridge", "kind": "ridge", "length_mm": 4200, "least_middle_mm": 250, "crown_limit_mm": 40}
POSTS = {
    "id": "post", "kind": "post", "length_mm": 2100, "least_middle_mm": 200, "crown_limit_mm": 40, "count": 2,
}  # fmt: skip


@pytest.fixture
def lead(live) -> Person:
    lead: Person = live.crew()
    a_yard(lead)
    return lead


def test_a_member_is_installed_and_taken_back(screen, size, lead):
    cabin = a_hut(lead, members=[RIDGE, POSTS])
    one = screen(size, lead)
    one.go(f"/cabins/{cabin}")
    expect(one.page.locator("#members tr th")).to_have_text(["ridge", "post 1", "post 2"])
    expect(one.page.locator("#members-done")).to_have_text("0 of 3 installed.")

    one.page.get_by_label("Member", exact=True).select_option("ridge")
    one.page.get_by_label("Made of log").fill("7")
    one.field("Cut nearest the butt").fill("200")
    one.press("Member is installed")
    expect(one.page.locator("#members tr").first).to_contain_text("7, installed")
    expect(one.page.locator("#members-done")).to_have_text("1 of 3 installed.")
    [made] = lead.get(f"roof-members?cabin={cabin}")["items"]
    assert (made["member"], made["log_number"], made["from_butt_mm"]) == ("ridge", "7", 200)
    faults = [*findings(one.page), *too_small(one.page)]
    assert [*faults, *cut_off(one.page, width=390), *cut_off(one.page, width=1280)] == []

    one.press("Take back ridge")
    one.page.get_by_role("dialog").get_by_label("Reason").fill("It was log 8")
    one.page.get_by_role("dialog").get_by_role("button", name="Take back").click()
    expect(one.page.locator("#members-done")).to_have_text("0 of 3 installed.")
    assert lead.get(f"roof-members/{made['id']}")["undo_reason"] == "It was log 8"


def test_a_log_too_thin_is_refused_at_its_field_and_nothing_is_stored(screen, lead):
    cabin = a_hut(lead, members=[RIDGE | {"least_middle_mm": 400}])
    one = screen(Size.PHONE, lead)
    one.go(f"/cabins/{cabin}")

    one.page.get_by_label("Made of log").fill("7")
    one.field("Cut nearest the butt").fill("200")
    one.press("Member is installed")

    expect(one.page.locator("#install p.fault")).to_be_visible()
    expect(one.page.get_by_label("Made of log")).to_have_value("7")
    assert lead.get(f"roof-members?cabin={cabin}")["items"] == []


def test_the_planned_log_stands_in_the_fields_and_another_is_asked_once(screen, lead):
    [yard] = lead.get("yards")["items"]
    cabin = a_hut(lead, members=[RIDGE])
    plan = a_plan(lead, cabin, yard["id"])
    [piece] = lead.get(f"plans/{plan}/pieces?cabin={cabin}&for_members=true")["items"]
    free = next(log["number"] for log in lead.get("logs?free=true&limit=50")["items"] if not log["hazards"])
    one = screen(Size.PHONE, lead)
    one.go(f"/cabins/{cabin}")
    expect(one.page.get_by_label("Made of log")).to_have_value(piece["log_number"])

    one.page.get_by_label("Made of log").fill(free)
    one.press("Member is installed")
    asked = one.page.get_by_role("dialog")
    expect(asked).to_contain_text("Look again")
    assert findings(one.page) == []
    asked.get_by_role("button", name="It is right").click()

    expect(one.page.locator("#members tr").first).to_contain_text(f"{free}, installed")
    [made] = lead.get(f"roof-members?cabin={cabin}")["items"]
    assert made["log_number"] == free
