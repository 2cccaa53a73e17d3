"""The crew's page: how the crew cuts its logs is chosen there once, and everybody reads it."""

import time
from typing import Any

from playwright.sync_api import expect

from crews.events.models import EventKind
from tests.browser.building import a_yard
from tests.browser.looking import cut_off, findings, too_small
from tests.browser.screen import Size
from tests.live import Person, joined


def test_a_lead_chooses_how_the_crew_cuts_and_everybody_reads_it(screen, size, live):
    lead = live.crew()
    wren = joined(lead, "Wren", "learner")
    one = screen(size, lead)
    one.go("/crew")
    expect(one.page.locator("#trim-usual")).to_have_text("usual: 25 mm")

    one.page.locator("#trim").fill("0")
    one.page.locator("#clear").fill("40 cm")
    one.page.locator("#pieces").fill("2")
    one.press("Save how we cut")
    expect(one.page.locator("#told")).to_contain_text("Kept.")

    chosen = lead.get("wall-settings")
    cuts = {"trim_each_end_mm": 0.0, "hazard_clear_mm": 400.0, "most_pieces": 2}
    assert {name: chosen[name] for name in cuts} == cuts
    assert sorted(chosen["chosen"]) == sorted(cuts)

    one.go("/crew")
    expect(one.page.locator("#trim")).to_have_value("0 mm")
    one.page.locator("#clear").fill("")
    one.press("Save how we cut")
    expect(one.page.locator("#told")).to_contain_text("Kept.")
    chosen = lead.get("wall-settings")
    assert (chosen["hazard_clear_mm"], sorted(chosen["chosen"])) == (
        300.0,
        ["most_pieces", "trim_each_end_mm"],
    )

    reading = screen(size, wren)
    reading.go("/crew")
    expect(reading.page.locator("#cuts")).to_be_hidden()
    expect(reading.page.locator("#cuts-words")).to_contain_text("Pieces out of one log, at most2")


def test_no_crew_saws_nearer_to_metal_than_the_page_allows(screen, size, live):
    lead = live.crew()
    one = screen(size, lead)
    one.go("/crew")

    one.page.locator("#clear").fill("50")
    one.press("Save how we cut")

    expect(one.page.locator("#clear-fault")).to_be_visible()
    assert findings(one.page) == []
    assert lead.get("wall-settings")["chosen"] == []


NOWHERE = "https://bench.invalid/roundlay"


def first_delivery(lead: Person, *, attempts: int) -> dict[str, Any]:
    """The delivery of an event that nobody takes, once it was tried so often."""
    for _ in range(300):
        for one in lead.get("webhook-deliveries?limit=1")["items"]:
            told = lead.get(f"webhook-deliveries/{one['id']}")
            if len(told["attempts"]) >= attempts:
                return dict(told)
        time.sleep(0.2)
    raise AssertionError(f"nothing was tried {attempts} times")


def test_a_lead_tells_another_program_and_sees_how_it_went(screen, size, live):
    lead = live.crew()
    one = screen(size, lead)
    one.go("/crew")
    expect(one.page.locator("#webhooks")).to_have_text("No other program is told.")
    one.page.get_by_text("Tell one more program").click()
    kinds = one.page.locator("input[name=webhook-kind]").evaluate_all("boxes => boxes.map(one => one.value)")
    assert sorted(kinds) == sorted(EventKind.values)

    one.page.get_by_label("Its address").fill(NOWHERE)
    one.page.get_by_label("a log was charted").check()
    one.press("Tell it from now on")
    expect(one.page.locator("#new-secret")).to_contain_text(f"The secret for {NOWHERE}")
    first = one.page.locator("#new-secret code").inner_text()
    [stored] = lead.get("webhooks")["items"]
    assert (stored["url"], stored["kinds"]) == (NOWHERE, ["log_charted"])

    one.press(f"New secret {NOWHERE}")
    one.page.get_by_role("dialog").get_by_role("button", name="Make it").click()
    expect(one.page.locator("#new-secret")).to_contain_text("The new secret for")
    assert one.page.locator("#new-secret code").inner_text() != first
    expect(one.page.locator("#webhooks")).to_contain_text("The secret before the last works until")

    a_yard(lead, logs=1)
    tried = len(first_delivery(lead, attempts=1)["attempts"])
    one.page.get_by_text("What was sent last").click()
    line = one.page.locator("#webhooks tbody tr")
    expect(line).to_contain_text("a log was charted")
    expect(line).to_contain_text("to be sent:")
    faults = [*findings(one.page), *too_small(one.page)]
    assert [*faults, *cut_off(one.page, width=390), *cut_off(one.page, width=1280)] == []
    line.get_by_role("button").click()
    expect(one.page.locator("#told")).to_contain_text("It is sent again.")
    assert len(first_delivery(lead, attempts=tried + 1)["attempts"]) > tried

    one.press(f"Remove {NOWHERE}")
    one.page.get_by_role("dialog").get_by_role("button", name="Remove it").click()
    expect(one.page.locator("#webhooks")).to_have_text("No other program is told.")
    assert lead.get(f"webhooks/{stored['id']}")["removed_at"]


def test_an_address_that_cannot_be_told_is_refused_at_its_field(screen, live):
    lead = live.crew()
    one = screen(Size.PHONE, lead)
    one.go("/crew")
    one.page.get_by_text("Tell one more program").click()
    one.page.get_by_label("Its address").fill("http://bench.invalid/roundlay")
    one.page.get_by_label("a log was set", exact=True).check()

    one.press("Tell it from now on")

    expect(one.page.locator("#webhook-url-fault")).to_contain_text("https://")
    assert lead.get("webhooks")["items"] == []
