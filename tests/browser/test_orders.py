"""Orders in the browser: a mill, an order to it, its lines, sent and confirmed; faults are at their field."""

from playwright.sync_api import expect

from tests.browser.building import a_bare_order
from tests.browser.looking import findings
from tests.browser.screen import Size

LINE = {"count-0": "4", "length_mm-0": "20' 6\"", "least_middle_mm-0": "11", "largest_middle_mm-0": "13"}


def test_an_order_is_begun_written_sent_and_confirmed(screen, size, live):
    lead = live.crew(length_unit="ft_in")
    one = screen(size, lead)
    page = one.page
    one.go("/orders")

    page.locator("#mill-name").fill("Quillback mill")
    one.press("Add the mill")
    expect(page.locator("#name")).to_be_focused()
    page.locator("#name").fill("Bunkhouse")
    page.locator("#currency").fill("cad")
    page.locator("#begin-button").click()
    expect(page.locator("#name")).to_have_text("Bunkhouse")
    one.press("Add a line")
    for field, typed in LINE.items():
        page.locator(f"#{field}").fill(typed)
    page.locator("#species-0").select_option("white spruce")
    page.locator("#price-0").fill("0.825")
    one.press("Save the lines")
    expect(page.locator("#lines tr")).to_have_count(1)

    one.press("Mark as sent")
    asked = page.get_by_role("dialog")
    expect(asked).to_contain_text("4 logs cannot be changed afterwards")
    asked.get_by_role("button", name="Cancel").click()
    assert lead.get("orders")["items"][0]["state"] == "draft"
    one.press("Mark as sent")
    asked.get_by_role("button", name="Mark as sent").click()
    one.press("The mill confirmed it")

    expect(page.locator("#facts")).to_contain_text("confirmed")
    [order] = lead.get("orders")["items"]
    assert (order["name"], order["state"], order["currency"]) == ("Bunkhouse", "confirmed", "CAD")
    [line] = lead.get(f"orders/{order['id']}/lines")["items"]
    assert (line["count"], line["length_mm"], line["species"]) == (4, 6248.4, "white spruce")


def test_a_line_that_cannot_be_is_said_at_its_field(screen, live):

    lead = live.crew(length_unit="ft_in")
    order = a_bare_order(lead)
    one = screen(Size.PHONE, lead)
    one.go(f"/orders/{order}")

    one.press("Add a line")
    for field, typed in (LINE | {"largest_middle_mm-0": "9"}).items():
        one.page.locator(f"#{field}").fill(typed)
    one.page.locator("#species-0").select_option("white spruce")
    one.press("Save the lines")

    expect(one.page.locator("#lines-form [aria-invalid=true]")).to_have_count(1)
    expect(one.page.locator("#lines-form p.fault")).not_to_be_empty()
    assert findings(one.page) == []
    assert lead.get(f"orders/{order}/lines")["items"] == []
