"""At the wall: a round set log by log and measured, with a signal and without; doubts; the keyboard alone."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.building import Site, a_hut, a_plan, a_site, a_yard, set_next
from tests.browser.keys import rings_seen, tab_to
from tests.browser.looking import cut_off
from tests.browser.screen import Screen, Size

PIECES = 5  # of the first round: wall A has a door in it


@pytest.fixture
def site(live) -> Site:
    return a_site(live.crew())


def at_the_wall(screen, size: Size, site: Site) -> Screen:
    """The page of the wall, come to from the crew's cabins as everybody comes to it."""
    one = screen(size, site.lead)
    one.go("/")
    one.await_worker()
    one.go(f"/cabins/{site.cabin}/wall")
    return one


def set_shown(one: Screen) -> str:
    """Set the log whose sheet is shown, its metal out; the log's number."""
    number = re.findall(r"Log (\S+)", one.page.locator("#next .which").inner_text())[0]
    if one.page.locator("#metal_removed").is_visible():
        one.page.locator("#metal_removed").check()
    one.press("Log is set")
    return number


def tops_of(site: Site) -> dict[str, tuple[float, float]]:
    """wall: the tops of its first log at start and end, as the plan has them."""
    tops = site.lead.get(f"plans/{site.plan}/heights?cabin={site.cabin}")["tops"]
    of_round = {(top["wall"], top["column"]): top["top_mm"] for top in tops if top["round"] == 1}
    return {wall: (of_round[wall, 0], of_round[wall, 1]) for wall in "ABCD"}


def measure(one: Screen, wall: str, start_mm: float, end_mm: float | None = None) -> None:
    one.page.locator("#wall").select_option(wall)
    one.page.locator("#round").select_option("1")
    one.page.locator("#start").fill(f"{start_mm:.0f}")
    one.page.locator("#end").fill("" if end_mm is None else f"{end_mm:.0f}")
    one.press("Save the heights")


def answer(one: Screen, reason: str, yes: str) -> None:
    """Answer the question that the page asks in a dialog of its own."""
    asked = one.page.get_by_role("dialog")
    asked.get_by_label("Reason").fill(reason)
    asked.get_by_role("button", name=yes, exact=True).click()


def test_a_round_is_set_and_measured_and_the_level_is_told(screen, size, site):
    one = at_the_wall(screen, size, site)

    for done in range(1, PIECES + 1):
        shown = one.page.locator("#next .which").inner_text()
        number = set_shown(one)
        expect(one.page.locator("#last-set")).to_contain_text(f"Log {number}:")
        # Another place; a long log may give the next piece as well.
        expect(one.page.locator("#next .which")).not_to_have_text(shown, use_inner_text=True)
        one.settle()
        assert site.lead.get(f"cabins/{site.cabin}/progress")["logs_set"] == done
    for wall, (start, end) in tops_of(site).items():
        measure(one, wall, round(start), round(start) + 3 + round(end - start))
        expect(one.page.locator("#told")).to_contain_text(f"Heights of wall {wall} are with the service")

    progress = site.lead.get(f"cabins/{site.cabin}/progress")
    assert progress["rounds_complete"] == 1
    for wall in progress["walls"]:
        assert wall["end_is_measured"]
        row = one.page.locator("#levels tr").filter(has=one.page.locator("th", has_text=wall["wall"]))
        by = abs(wall["out_of_level_mm"])
        expect(row).to_contain_text("level" if by < 0.5 else f"{by:.0f} mm")

    start, _ = tops_of(site)["D"]
    measure(one, "D", round(start) + 2)
    one.page.get_by_text("Readings of the tops").click()
    read = one.page.locator("#tops li").filter(has_text="Wall D, round 1, at 4")
    expect(read).to_contain_text("mean of 2, 2 mm apart")
    read.get_by_role("button", name=re.compile("^Take back")).click()
    answer(one, "Read at the notch.", "Take back")
    expect(read).not_to_contain_text("mean of 2")
    expect(one.page.locator("#again")).to_contain_text("Worth a second reading")


def test_a_round_is_set_and_measured_without_a_signal_and_sent_later(screen, size, site):
    one = at_the_wall(screen, size, site)
    one.lose_the_signal()
    one.page.reload()

    numbers = []
    for done in range(1, PIECES + 1):
        shown = one.page.locator("#next .which").inner_text()
        numbers.append(set_shown(one))
        expect(one.page.locator("#unsent")).to_have_text(f"No signal, {done} waiting")
        if done < PIECES:
            expect(one.page.locator("#next .which")).not_to_have_text(shown, use_inner_text=True)
    for count, (wall, (start, end)) in enumerate(tops_of(site).items(), 1):
        measure(one, wall, start, end)
        expect(one.page.locator("#unsent")).to_have_text(f"No signal, {PIECES + count} waiting")
    assert site.lead.get(f"cabins/{site.cabin}/progress")["logs_set"] == 0

    one.context.set_offline(False)
    expect(one.page.locator("#unsent")).to_be_hidden()
    progress = site.lead.get(f"cabins/{site.cabin}/progress")
    assert (progress["logs_set"], progress["rounds_complete"]) == (PIECES, 1)
    assert all(wall["start_is_measured"] and wall["end_is_measured"] for wall in progress["walls"])
    set_logs = site.lead.get(f"set-logs?cabin={site.cabin}&limit=20")["items"]
    assert sorted(one["log_number"] for one in set_logs) == sorted(numbers)


def test_a_doubtful_height_stays_in_its_field_with_the_question(screen, size, site):
    one = at_the_wall(screen, size, site)
    number = set_shown(one)
    expect(one.page.locator("#last-set")).to_contain_text(f"Log {number}:")
    start, _ = tops_of(site)["A"]

    measure(one, "A", start + 200)

    expect(one.page.locator("#start-fault")).not_to_be_empty()
    expect(one.page.locator("#start")).to_be_focused()
    expect(one.page.locator("#start")).to_have_value(f"{start + 200:.0f} mm")
    expect(one.page.locator("#asked-back")).to_be_empty()
    expect(one.page.locator("#heights-asked")).to_contain_text("Look again")
    assert site.lead.get(f"heights?cabin={site.cabin}")["items"] == []
    one.page.reload()
    expect(one.page.locator("#start")).to_have_value(f"{start + 200:.0f} mm")
    with one.page.expect_response("**/api/v1/batch"):
        one.press("It is right")
    expect(one.page.locator("#heights-asked")).to_be_empty()
    expect(one.page.locator("#start")).to_have_value("")
    [height] = site.lead.get(f"heights?cabin={site.cabin}")["items"]
    assert height["height_mm"] == pytest.approx(round(start + 200))


def test_the_sheet_says_how_the_log_lies_and_what_hangs_on_the_sling(screen, size, live):
    lead = live.crew()
    band = {"smallest_mm": -40, "target_mm": -25, "largest_mm": -10}
    yard, cabin = a_yard(lead), a_hut(lead, gap=band, log_middle_mm=330)
    site = Site(lead=lead, yard=yard, cabin=cabin, plan=a_plan(lead, cabin, yard))
    for _ in range(PIECES):
        set_next(lead, cabin)
    one = at_the_wall(screen, size, site)

    row = lead.get(f"cabins/{cabin}/next-log")["row"]
    shown = one.page.locator("#next .log-sheet")

    assert row["round"] == 2
    expect(shown.get_by_role("heading", name="How it lies")).to_be_visible()
    told = row["lying"]["lines"]
    assert any(line.startswith("Overlap along the wall") for line in told)
    assert any("scribers" in line for line in told)
    for line in told:
        expect(shown).to_contain_text(line)
    expect(shown).to_contain_text("Hangs as")
    expect(shown).to_contain_text(row["lift"]["hangs_text"])
    assert cut_off(one.page, width=360) == []


def test_a_log_is_set_and_measured_by_keys_alone(screen, site):
    one = at_the_wall(screen, Size.DESK, site)

    one.page.locator("body").press("Tab")
    tab_to(one.page, "#set button[type=submit]")
    assert rings_seen(one.page)
    one.page.keyboard.press("Enter")
    expect(one.page.locator("#last-set li")).to_have_count(1)
    expect(one.page.locator("#last-set")).to_contain_text("Log")
    expect(one.page.locator("#start")).to_be_focused()
    start, _ = tops_of(site)["A"]
    one.page.keyboard.type(f"{start:.0f}")
    one.page.keyboard.press("Enter")

    expect(one.page.locator("#told")).to_contain_text("Heights of wall A are with the service")
    [height] = site.lead.get(f"heights?cabin={site.cabin}")["items"]
    assert (height["wall"], height["end"]) == ("A", "start")
