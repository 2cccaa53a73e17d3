"""A log by its number from every page, a table by its headings, the one next thing of each cabin."""

from uuid import uuid4

import pytest
from playwright.sync_api import expect

from tests.browser.building import PIECES_OF_ROUND_ONE, Site, a_hut, a_site, a_yard, set_next
from tests.browser.screen import Size


@pytest.fixture
def site(live) -> Site:
    return a_site(live.crew())


def test_a_log_is_found_by_its_number_from_any_page(screen, size, site):
    one = screen(size, site.lead)
    for address in ("/", "/orders", f"/cabins/{site.cabin}/wall"):
        one.go(address)
        one.page.get_by_label("Find a log by its number").fill("7")
        one.press("Find")
        expect(one.page.locator("#name")).to_have_text("Log 7")

    one.page.get_by_label("Find a log by its number").fill("7000")
    one.press("Find")
    expect(one.page.locator("#told")).to_contain_text("No log 7000 is charted")


def test_of_two_yards_with_the_same_number_it_is_asked_which(screen, site):
    a_yard(site.lead, "South yard")
    one = screen(Size.PHONE, site.lead)
    one.go("/")
    one.page.get_by_label("Find a log by its number").fill("7")
    one.press("Find")

    expect(one.page.locator("#told li")).to_have_count(2)
    one.page.locator("#told a").first.click()
    expect(one.page.locator("#name")).to_have_text("Log 7")


def test_a_heading_sorts_and_the_address_keeps_it(screen, size, site):
    one = screen(size, site.lead)
    one.go("/yard")
    first = one.page.locator("#logs tr th").first

    one.page.get_by_role("button", name="Middle", exact=True).click()
    expect(first).to_have_text("16")  # the thickest
    expect(one.page.locator("th[aria-sort=descending]")).to_have_text("Middle")
    assert "order=-middle" in one.page.url
    one.page.reload()
    expect(first).to_have_text("16")
    one.page.get_by_role("button", name="Middle", exact=True).click()
    expect(first).to_have_text("1")


def test_home_says_the_one_next_thing_of_each_cabin(screen, size, site):
    bare = str(uuid4())
    site.lead.put(f"cabins/{bare}", {"name": "Tool shed"})
    unplanned = a_hut(site.lead, "Wood store")
    one = screen(size, site.lead)

    def told(cabin: str):
        return one.page.locator(f".next-thing[data-cabin='{cabin}'] a")

    one.go("/")
    row = site.lead.get(f"cabins/{site.cabin}/next-log")["row"]
    expect(told(bare)).to_contain_text("Lay out Tool shed")
    expect(told(unplanned)).to_contain_text("Plan it")
    expect(told(site.cabin)).to_contain_text(f"Set log {row['log_number']} on wall {row['wall']}")

    for _ in range(PIECES_OF_ROUND_ONE):
        set_next(site.lead, site.cabin)
    one.go("/")
    expect(told(site.cabin)).to_contain_text("Measure round 1")
    told(site.cabin).click()
    expect(one.page.locator("#heights-heading")).to_be_in_viewport()


def test_another_place_of_the_round_and_another_log_can_be_set(screen, size, site):
    one = screen(size, site.lead)
    one.go(f"/cabins/{site.cabin}/wall")
    rows = site.lead.get(f"cabins/{site.cabin}/setting-sheet?round=1")["rows"]
    planned, other = rows[0]["log_number"], rows[1]["log_number"]
    expect(one.page.locator("#next .which")).to_contain_text(f"Log {planned}")

    one.page.get_by_text("Set another log or place").click()
    one.page.locator("#other-places li").filter(has_text=f"Log {other}:").get_by_role("button").click()
    expect(one.page.locator("#next .which")).to_contain_text(f"Log {other}")
    if one.page.locator("#metal_removed").is_visible():
        one.page.locator("#metal_removed").check()
    one.press("Log is set")
    expect(one.page.locator("#last-set")).to_contain_text(f"Log {other}:")
    expect(one.page.locator("#next .which")).to_contain_text(f"Log {planned}")

    free = next(
        log["number"]
        for log in site.lead.get("logs?free=true&order=-length&limit=50")["items"]
        if not log["hazards"]
    )
    one.page.get_by_text("Set another log or place").click()
    one.page.locator("#other-number").fill(free)
    one.press("Take this log")
    expect(one.page.locator("#next .which")).to_contain_text(f"Log {free}")
    one.press("Log is set")
    expect(one.page.locator("#asked-back")).to_contain_text("look again")
    one.press("It is right")
    expect(one.page.locator("#last-set")).to_contain_text(f"Log {free}:")
