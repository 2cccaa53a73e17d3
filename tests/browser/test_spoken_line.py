"""A whole line said or typed at the rack: read as by the service, filled in, asked at its field."""

from uuid import uuid4

import pytest
from playwright.sync_api import expect

from inventory.core.chart_cells import Units
from inventory.core.measure import THICKNESS_UNIT
from inventory.core.spoken_line import read_spoken_line
from tests.browser.screen import Size
from tests.inventory.core.spoken import as_json, phrasings

SAID = (
    "seventeen, butt fifteen by fourteen and a half, middle thirteen and three quarters, tip thirteen, "
    "length seventeen eight, slight crown, wire four foot two from the butt, top"
)


@pytest.fixture
def lead(live):
    lead = live.crew(length_unit="ft_in")
    lead.put(f"yards/{uuid4()}", {"name": "North yard"})
    return lead


def test_every_phrasing_is_read_by_the_page_as_by_the_service(screen, lead):
    one = screen(Size.DESK, lead)
    one.go("/crew")
    all_of_them = phrasings()
    told = one.page.evaluate(
        """async (lines) => {
          const { readSpokenLine } = await import('/static/inventory/spoken_line.js');
          const read = ([text, long, thick]) => readSpokenLine(text, { units: { long, thick }, fraction: 8 });
          return lines.map(read);
        }""",
        [[said.text, said.unit, THICKNESS_UNIT[said.unit]] for said in all_of_them],
    )

    for said, page in zip(all_of_them, told, strict=True):
        line = read_spoken_line(said.text, units=Units.of(said.unit))
        assert page["fields"] == as_json(line.fields) == said.fields, said.text
        assert page["questions"] == [
            {"pointer": one.pointer, "code": str(one.code), "read": one.read, "detail": one.text}
            for one in line.questions
        ], said.text


def test_a_line_fills_the_fields_without_a_signal_and_asks_what_is_unsure(screen, size, lead):
    one = screen(size, lead)
    one.go("/chart")
    one.lose_the_signal()
    one.page.locator("#line").fill(SAID)
    one.press("Fill in")

    shown = {
        "number": "17", "butt_mm": '15"', "butt_across": '14 1/2"', "middle_mm": '13 3/4"', "tip_mm": '13"',
        "length_mm": "17' 8\"", "crown_mm": "",
    }  # fmt: skip
    for name, value in shown.items():
        expect(one.page.locator(f"#{name}")).to_have_value(value)
    expect(one.page.locator("#hazards")).to_contain_text("metal, 4' 2\" from the butt, top")
    expect(one.page.locator("#crown_mm-fault")).to_have_text("“slight crown”: how much?")
    expect(one.page.locator("#crown_mm")).to_be_focused()

    one.page.locator("#crown_mm").fill("1/2")
    one.press("Save this log")
    expect(one.page.locator("#unsent")).to_have_text("No signal, 1 waiting")
    expect(one.page.locator("#line")).to_have_value("")
    one.context.set_offline(False)
    expect(one.page.locator("#sent tr")).to_have_count(1)
    [log] = lead.get("logs")["items"]
    told = (log["number"], log["butt_mm"], log["middle_mm"], log["length_mm"], log["crown_mm"])
    assert told == ("17", 374.65, 349.25, 5384.8, 12.7)
    assert [(of["kind"], of["from_butt_mm"], of["face"]) for of in log["hazards"]] == [
        ("metal", 1270.0, "top")
    ]


def test_a_sure_line_is_looked_over_and_saved(screen, lead):
    one = screen(Size.PHONE, lead)
    one.go("/chart")
    one.page.locator("#line").fill("A18, butt 13, middle 12 5/32, tip 11, length 18, no crown")
    one.page.locator("#line").press("Enter")

    expect(one.page.locator("#middle_mm")).to_have_value('12 5/32"')
    expect(one.page.locator("#keep")).to_be_focused()
    assert lead.get("logs")["items"] == []
    one.press("Save this log")
    expect(one.page.locator("#sent tr")).to_have_count(1)
    [log] = lead.get("logs")["items"]
    assert (log["number"], log["middle_mm"], log["crown_mm"]) == ("A18", 308.76875, 0.0)
