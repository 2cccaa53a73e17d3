"""The crew's page: how the crew cuts its logs is chosen there once, and everybody reads it."""

from playwright.sync_api import expect

from tests.browser.looking import findings
from tests.live import joined


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
