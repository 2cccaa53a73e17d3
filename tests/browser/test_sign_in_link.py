"""A link signs a phone in, once, also where a browser holds the service for unsafe for want of HTTPS."""

from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from config.commands import manage
from tests.browser.conftest import FLAGS
from tests.browser.looking import findings
from tests.browser.screen import Screen, Size
from tests.live import IN_THE_NETWORK, Live, Person
from tests.machine_tools import chromium

# The browser itself tells that it does without this header there.
_NOT_WITHOUT_HTTPS = "The Cross-Origin-Opener-Policy header has been ignored"
# What a page does that keeps something to send it, with the page's own modules.
_SEND_A_LOG = """async ([yard, species]) => {
  const { newId } = await import("/static/crews/ids.js");
  const { keep, send, unsent } = await import("/static/crews/outbox.js");
  const { get } = await import("/static/crews/api.js");
  const crew = (await get("me")).crew;
  const path = `/api/v1/logs/${newId()}`;
  const body = { yard, species, number: "7", length_mm: 4000, butt_mm: 320, middle_mm: 300, tip_mm: 280 };
  await keep({ crew: crew.id, kind: "log", label: "Log 7", method: "PUT", path, body });
  const done = await send(crew);
  return { accepted: done.accepted.length, left: (await unsent()).length };
}"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One that finds the service under the name of a machine in the network."""
    with sync_playwright() as driver:
        there = f"--host-resolver-rules=MAP {IN_THE_NETWORK} 127.0.0.1"
        running = driver.chromium.launch(executable_path=chromium(), args=[*FLAGS, there])
        yield running
        running.close()


@pytest.fixture
def phone(browser: Browser, live: Live) -> Iterator[Screen]:
    one = Screen(browser, live.root.replace("127.0.0.1", IN_THE_NETWORK), Size.PHONE)
    yield one
    one.close()
    assert [fault for fault in one.faults if _NOT_WITHOUT_HTTPS not in fault] == []


@pytest.fixture
def lead(live: Live) -> Person:
    return live.crew("Heron Creek crew")


def a_link(live: Live, lead: Person, tmp_path: Path) -> str:
    """As `make sign-in` makes it."""
    (tmp_path / "key").write_text(lead.key)
    return manage("sign_in_link", str(tmp_path / "key"), env=live.env, quiet=True).strip()


def test_a_link_signs_a_phone_in_and_its_pages_work_there(phone, live, lead, tmp_path):
    phone.go(a_link(live, lead, tmp_path))
    assert findings(phone.page) == []
    assert not phone.page.evaluate("isSecureContext")

    phone.press("Sign this browser in")

    expect(phone.page.locator("#crew")).to_have_text("Heron Creek crew")
    assert phone.page.url == f"{phone.root}/"
    kept = next(one for one in phone.context.cookies() if one["name"] == "roundlay-key")
    assert (kept["httpOnly"], kept["sameSite"]) == (True, "Strict")
    assert kept["value"] != lead.key

    # Ids are made, and what waits is sent, though such a browser has neither ids nor locks of its own.
    phone.page.locator("#name").fill("Tool shed")
    phone.press("Create and lay out")
    phone.page.wait_for_url("**/cabins/*/layout")
    assert [cabin["name"] for cabin in lead.get("cabins")["items"]] == ["Tool shed"]
    yard = str(uuid4())
    lead.put(f"yards/{yard}", {"name": "Creek yard"})
    species = lead.get("species?limit=1")["items"][0]["id"]
    sent = phone.page.evaluate(_SEND_A_LOG, [yard, species])
    assert sent == {"accepted": 1, "left": 0}
    assert [log["number"] for log in lead.get("logs")["items"]] == ["7"]


def test_a_link_that_was_used_says_so_and_who_makes_another(phone, live, lead, tmp_path):
    link = a_link(live, lead, tmp_path)
    phone.go(link)
    phone.press("Sign this browser in")
    expect(phone.page.locator("#crew")).to_be_visible()
    phone.page.goto("about:blank")
    phone.context.clear_cookies()

    phone.go(link)
    phone.press("Sign this browser in")

    expect(phone.page.locator("#fault")).to_contain_text("used already")
    assert not [one for one in phone.context.cookies() if one["name"] == "roundlay-key"]
