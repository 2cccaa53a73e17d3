"""Signing in: a key that opens nothing is refused at its field; one that does lies where no script reads."""

from typing import Any

from playwright.sync_api import expect

from tests.browser.looking import findings
from tests.browser.screen import Screen
from tests.live import joined


def key_kept(one: Screen) -> Any:
    """The cookie in which the browser keeps the key; None if there is none."""
    return next((one for one in one.context.cookies() if one["name"] == "roundlay-key"), None)


def test_a_key_that_opens_nothing_is_refused_at_its_field(screen, size, live):
    one = screen(size)
    one.go("/")
    expect(one.page).to_have_url(f"{live.root}/sign-in?refused")

    one.page.locator("#key").fill("log_mistyped")
    one.press("Sign in")

    expect(one.page.locator("#key-fault")).to_be_visible()
    expect(one.page.locator("#key")).to_be_focused()
    expect(one.page.locator("#key")).to_have_attribute("aria-invalid", "true")
    assert findings(one.page) == []
    assert key_kept(one) is None


def test_a_key_opens_the_crews_pages_until_signed_out_and_no_script_reads_it(screen, size, live):
    lead = live.crew("Heron Creek crew")
    one = screen(size)
    one.go("/sign-in")

    one.page.locator("#key").fill(f" {lead.key} ")
    one.press("Sign in")

    expect(one.page.locator("#crew")).to_have_text("Heron Creek crew")
    kept = key_kept(one) or {}
    assert (kept["httpOnly"], kept["sameSite"], kept["path"]) == (True, "Strict", "/api/v1/")
    assert lead.key not in one.page.evaluate("document.cookie + JSON.stringify(localStorage)")

    one.go("/crew")
    one.press("Sign out")
    expect(one.page).to_have_url(f"{live.root}/sign-in")
    assert key_kept(one) is None


def test_a_revoked_key_leads_back_to_the_sign_in(screen, size, live):
    lead = live.crew()
    wren = joined(lead, "Wren", "learner")
    one = screen(size, wren)
    one.go("/yard")

    [key] = [key for key in lead.get("keys")["items"] if key["name"] == "Wren's phone"]
    lead.post(f"keys/{key['id']}/revoke")
    one.go("/yard")

    expect(one.page).to_have_url(f"{live.root}/sign-in?refused")
    expect(one.page.locator("#key-fault")).to_be_visible()
