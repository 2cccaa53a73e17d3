"""Charting at the rack: twenty logs without a signal, sent when there is one; doubts asked back; by keys."""

import re
from uuid import uuid4

import pytest
from playwright.sync_api import Page, expect

from tests.browser.keys import rings_seen, tab_to
from tests.browser.screen import Screen, Size
from tests.live import Person

LOGS = 20
EIGHTH_MM = 25.4 / 8


def at_the_rack(screen, size: Size, lead: Person) -> Screen:
    """The chart, open on a phone that was here with a signal before."""
    one = screen(size, lead)
    one.go("/chart")
    return one


@pytest.fixture
def lead(live) -> Person:
    """The lead of a crew that writes feet and inches, with a yard and two racks."""
    lead = live.crew(length_unit="ft_in")
    yard = str(uuid4())
    lead.put(f"yards/{yard}", {"name": "North yard"})
    for name in ("R1", "R2"):
        lead.put(f"racks/{uuid4()}", {"yard": yard, "name": name})
    return lead


def type_log(page: Page, *, length: str, butt: str, middle: str, tip: str, number: str = "") -> None:
    typed = {"number": number, "length_mm": length, "butt_mm": butt, "middle_mm": middle, "tip_mm": tip}
    for name, value in typed.items():
        if value:
            page.locator(f"#{name}").fill(value)
    page.get_by_role("button", name=re.compile("^Save ")).click()


def test_twenty_logs_are_charted_without_a_signal_and_sent_when_there_is_one(screen, size, lead):
    one = at_the_rack(screen, size, lead)
    one.lose_the_signal()
    one.page.reload()
    one.page.get_by_text("Where and who").click()
    one.page.locator("#rack").select_option(label="R2")
    one.page.locator("#species").select_option(index=1)

    for n in range(LOGS):
        middle = f"11 {n % 7 + 1}/8"
        type_log(one.page, length="19 4", butt="12 1/2", middle=middle, tip="10", number="" if n else "41")
        expect(one.page.locator("#unsent")).to_have_text(f"No signal, {n + 1} waiting")
    one.page.reload()

    expect(one.page.locator("#unsent-count")).to_have_text(str(LOGS))
    expect(one.page.locator("#last-middle_mm")).to_have_text("last 11 6/8 in")
    assert lead.get("logs")["items"] == []

    one.context.set_offline(False)
    expect(one.page.locator("#unsent-count")).to_have_text("0")
    expect(one.page.locator("#sent tr")).to_have_count(LOGS)
    expect(one.page.locator("#unsent")).to_be_hidden()
    charted = {log["number"]: log for log in lead.get("logs?limit=50")["items"]}
    assert set(charted) == {str(41 + n) for n in range(LOGS)}
    assert {log["rack_name"] for log in charted.values()} == {"R2"}
    for n in range(LOGS):
        log = charted[str(41 + n)]
        assert log["middle_mm"] == pytest.approx((11 * 8 + n % 7 + 1) * EIGHTH_MM)
        assert log["length_mm"] == pytest.approx((19 * 12 + 4) * 25.4)


def test_a_doubtful_value_is_asked_at_its_field_and_taken_once_someone_looked(screen, size, lead):
    one = at_the_rack(screen, size, lead)

    type_log(one.page, number="7", length="19 4", butt="11", middle="11 1/2", tip="10")

    expect(one.page.locator("#middle_mm-fault")).to_have_text('The middle is thicker than the butt, 11".')
    expect(one.page.locator("#middle_mm")).to_be_focused()
    assert lead.get("logs")["items"] == []
    one.press("It is right")
    expect(one.page.locator("#sent tr")).to_have_count(1)
    expect(one.page.locator("#line-asked")).to_be_empty()
    [log] = lead.get("logs")["items"]
    assert log["middle_mm"] == pytest.approx(11.5 * 25.4)


def test_what_only_the_service_doubts_is_asked_back_and_taken_once_someone_looked(screen, size, lead):
    one = at_the_rack(screen, size, lead)
    one.page.get_by_text("Hazards, grain and remarks").click()
    one.page.locator("#grain_hand").select_option("left")
    one.page.locator("#grain_slope").fill("4")

    type_log(one.page, number="7", length="19 4", butt="11 1/2", middle="11", tip="10")

    back = one.page.locator("#asked-back")
    expect(back).to_contain_text("Log 7: look again")
    assert lead.get("logs")["items"] == []
    back.get_by_role("button", name="It is right").click()
    expect(one.page.locator("#sent tr")).to_have_count(1)
    expect(back).to_be_empty()
    [log] = lead.get("logs")["items"]
    assert log["grain_hand"] == "left"


def test_a_doubtful_value_is_corrected_in_the_same_fields(screen, lead):
    one = at_the_rack(screen, Size.PHONE, lead)
    type_log(one.page, number="7", length="19 4", butt="11", middle="11 1/2", tip="10")

    expect(one.page.locator("#middle_mm")).to_have_attribute("aria-invalid", "true")
    one.page.locator("#middle_mm").fill("10 1/2")
    one.press("Save this log")

    expect(one.page.locator("#sent tr")).to_have_count(1)
    [log] = lead.get("logs")["items"]
    assert log["middle_mm"] == pytest.approx(10.5 * 25.4)


@pytest.mark.parametrize(
    ("typed", "field", "told"),
    [
        ({"butt": "abc"}, "butt_mm", "“abc” cannot be read"),
        ({"length": "19 m 4"}, "length_mm", "cannot be read"),
        ({"butt": "9"}, "butt_mm", "The butt is thinner than the tip"),
        ({"length": "193 ft"}, "length_mm", "A log is"),
    ],
)
def test_what_cannot_be_is_asked_at_the_rack_without_a_signal(screen, lead, typed, field, told):
    one = at_the_rack(screen, Size.PHONE, lead)
    one.lose_the_signal()

    type_log(one.page, number="8", **{"length": "19 4", "butt": "12", "middle": "11", "tip": "10"} | typed)

    expect(one.page.locator(f"#{field}-fault")).to_contain_text(told)
    expect(one.page.locator(f"#{field}")).to_be_focused()
    expect(one.page.locator("#number")).to_have_value("8")
    expect(one.page.locator("#unsent-count")).to_have_text("0")


def test_a_number_that_is_taken_is_asked_at_the_rack_without_a_signal(screen, lead):
    [yard] = lead.get("yards")["items"]
    measures = {"length_mm": 5900, "butt_mm": 320, "middle_mm": 300, "tip_mm": 280}
    lead.put(f"logs/{uuid4()}", {"yard": yard["id"], "number": "A8", **measures})
    one = at_the_rack(screen, Size.PHONE, lead)
    one.page.wait_for_function("localStorage.getItem('kept numbers') !== null")
    one.lose_the_signal()

    type_log(one.page, number="a8", length="19 4", butt="12", middle="11", tip="10")
    expect(one.page.locator("#number-fault")).to_contain_text("Log a8 is charted in this yard already")
    one.page.locator("#number").fill("9")
    one.press("Save this log")
    expect(one.page.locator("#unsent-count")).to_have_text("1")

    type_log(one.page, number="9", length="19 4", butt="12", middle="11", tip="10")
    expect(one.page.locator("#number-fault")).to_contain_text("Log 9 is charted in this yard already")
    expect(one.page.locator("#unsent-count")).to_have_text("1")


def test_an_oval_log_is_read_twice_without_a_signal_and_the_mean_counts(screen, size, lead):
    one = at_the_rack(screen, size, lead)
    one.lose_the_signal()
    one.page.get_by_text("Oval, hazards").click()
    for place, across in (("butt", "12"), ("middle", "10 1/2"), ("tip", "10")):
        one.page.locator(f"#{place}_across").fill(across)
    type_log(one.page, number="51", length="19 4", butt="12 1/2", middle="11", tip="10")
    expect(one.page.locator("#butt_across")).to_have_value("")

    one.context.set_offline(False)
    expect(one.page.locator("#sent tr")).to_have_count(1)

    [log] = lead.get("logs")["items"]
    means = {"butt_mm": 12.25, "middle_mm": 10.75, "tip_mm": 10}
    assert {name: log[name] / 25.4 for name in means} == pytest.approx(means)
    twice = {one["station"]: one["difference_mm"] / 25.4 for one in log["read_across"]}
    assert twice == pytest.approx({"butt": 0.5, "middle": 0.5, "tip": 0})

    one.go(f"/chart?log={log['id']}")
    expect(one.page.locator("#butt_mm")).to_have_value('12 1/2"')
    expect(one.page.locator("#butt_across")).to_have_value('12"')
    one.page.locator("#remarks").fill("oval")
    one.press("Save the new measures")
    expect(one.page.locator("#sent tr")).to_have_count(1)
    [again] = lead.get("logs")["items"]
    assert (again["remarks"], again["read_across"]) == ("oval", log["read_across"])
    assert {name: again[name] for name in means} == {name: log[name] for name in means}


def test_a_second_reading_that_cannot_be_read_is_said_at_its_field(screen, lead):
    one = at_the_rack(screen, Size.PHONE, lead)
    one.page.get_by_text("Oval, hazards").click()
    one.page.locator("#tip_across").fill("ten")

    type_log(one.page, number="52", length="19 4", butt="12", middle="11", tip="10")

    expect(one.page.locator("#asked-back")).to_contain_text("Tip across ten")
    one.page.locator("#asked-back").get_by_role("button", name=re.compile("^Correct")).click()
    expect(one.page.locator("#tip_across")).to_have_attribute("aria-invalid", "true")
    expect(one.page.locator("#tip_across")).to_have_value("ten")


def test_a_log_is_charted_by_keys_alone(screen, lead):
    one = at_the_rack(screen, Size.DESK, lead)

    one.page.locator("body").press("Tab")
    tab_to(one.page, "#number")
    for value in ("9", "19 4", "12", "11", "10"):
        one.page.keyboard.type(value)
        assert rings_seen(one.page)
        one.page.keyboard.press("Tab")
    tab_to(one.page, "#keep")
    assert rings_seen(one.page)
    one.page.keyboard.press("Enter")

    expect(one.page.locator("#sent tr")).to_have_count(1)
    assert [log["number"] for log in lead.get("logs")["items"]] == ["9"]
    expect(one.page.locator("#length_mm")).to_be_focused()
