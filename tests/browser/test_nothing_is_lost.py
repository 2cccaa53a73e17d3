"""What was typed or asked outlives a busy service, a lost signal and a reload; pages that need one say so."""

import json
import re
from uuid import uuid4

import pytest
from playwright.sync_api import Route, expect

from inventory.core import chart_rules
from inventory.core.measure import BadLength, Unit, parse_length
from tests.browser.building import Site, a_hut, a_plan, a_site, a_yard
from tests.browser.screen import Screen, Size

BUSY = {
    "busy": (409, {"type": "/problems/idempotency-key-busy", "title": "Busy", "status": 409}),
    "limited": (429, {"type": "/problems/too-many-requests", "title": "Too many", "status": 429}),
    "failed": (503, {"type": "/problems/unavailable", "title": "Unavailable", "status": 503}),
}


@pytest.fixture
def site(live) -> Site:
    return a_site(live.crew())


def entries_answered_with(status: int, body: dict) -> object:
    """Answer a batch for the service, every entry alike."""

    def answer(route: Route) -> None:
        sent = json.loads(route.request.post_data or "{}")["entries"]
        told = [{"id": one["id"], "status": status, "body": body} for one in sent]
        route.fulfill(status=200, content_type="application/json", body=json.dumps({"entries": told}))

    return answer


@pytest.mark.parametrize("kind", BUSY)
def test_an_entry_that_the_service_could_not_do_just_now_waits_on(screen, site, kind):
    one = screen(Size.PHONE, site.lead)
    one.go(f"/cabins/{site.cabin}/wall")
    one.page.route("**/api/v1/batch", entries_answered_with(*BUSY[kind]))

    if one.page.locator("#metal_removed").is_visible():
        one.page.locator("#metal_removed").check()
    with one.page.expect_response("**/api/v1/batch"):
        one.press("Log is set")
    expect(one.page.locator("#unsent")).to_have_text("1 not sent")
    expect(one.page.locator("#asked-back")).to_be_empty()

    one.page.unroute("**/api/v1/batch")
    one.page.reload()
    expect(one.page.locator("#unsent")).to_be_hidden()
    assert site.lead.get(f"cabins/{site.cabin}/progress")["logs_set"] == 1


def test_what_is_typed_at_the_wall_outlives_a_reload(screen, size, site):
    one = screen(size, site.lead)
    one.go(f"/cabins/{site.cabin}/wall")
    one.page.get_by_text("As it was cut (if measured)").click()
    one.page.locator("#gap_mm").fill("18")
    one.page.locator("#wall").select_option("C")
    one.page.locator("#end").fill("296")

    one.page.reload()
    one.settle()

    expect(one.page.locator("#gap_mm")).to_have_value("18")
    expect(one.page.locator("#wall")).to_have_value("C")
    expect(one.page.locator("#end")).to_have_value("296")


def test_a_plan_is_watched_on_after_the_signal_was_gone(screen, live):
    lead = live.crew()
    a_yard(lead)
    a_hut(lead)
    one = screen(Size.PHONE, lead)
    one.go("/plans")
    one.page.locator("#seconds").fill("6")
    one.page.locator("#ask button[type=submit]").click()
    expect(one.page.locator("#far-words")).to_have_text(re.compile(r"Waiting|%"))

    one.context.set_offline(True)
    expect(one.page.locator("#far-words")).to_contain_text("goes on asking")
    one.context.set_offline(False)

    expect(one.page.locator("#far-words")).to_contain_text("The plan is made")


def test_replacing_a_plan_is_asked_once(screen, site):
    second = a_plan(site.lead, site.cabin, site.yard, adopt=False)
    one = screen(Size.PHONE, site.lead)
    one.go(f"/plans/{second}")

    one.page.locator("#adopt").click()
    asked = one.page.get_by_role("dialog")
    expect(asked).to_contain_text("It replaces the plan of")
    asked.get_by_role("button", name="Cancel").click()
    assert site.lead.get(f"plans/{second}")["state"] == "proposed"
    one.page.locator("#adopt").click()
    asked.get_by_role("button", name="Adopt plan").click()

    expect(one.page.locator("#adopt")).to_be_hidden()
    assert site.lead.get(f"plans/{second}")["state"] == "adopted"


def without_signal(screen, site: Site) -> Screen:
    """A phone that only ever opened the cabins' page, and then lost the signal."""
    one = screen(Size.PHONE, site.lead)
    one.go("/")
    one.page.wait_for_function("localStorage.getItem('kept numbers') !== null")
    one.lose_the_signal()
    return one


def test_walls_chart_and_logs_open_without_a_signal_though_never_opened_before(screen, site):
    [log] = site.lead.get("logs?limit=1")["items"]
    one = without_signal(screen, site)

    one.page.goto(f"/cabins/{site.cabin}/wall")
    expect(one.page.locator("#next .which")).to_contain_text("Log ")
    expect(one.page.locator("#unsent")).to_have_text("No signal")
    one.page.goto("/chart")
    expect(one.page.locator("#yard option").first).to_be_attached()
    one.page.goto(f"/logs/{log['id']}")
    expect(one.page.locator("#name")).to_have_text(f"Log {log['number']}")
    expect(one.page.locator("#facts")).to_contain_text("Butt")
    expect(one.page.locator("#no-signal")).to_be_visible()


def test_what_needs_a_signal_says_so_and_opens_when_it_is_back(screen, site):
    one = without_signal(screen, site)

    one.page.goto("/orders")
    expect(one.page.get_by_role("heading", level=1)).to_have_text("This page needs a signal")
    expect(one.page.locator("#unsent")).to_have_text("No signal")
    one.context.set_offline(False)

    expect(one.page.get_by_role("heading", level=1)).to_have_text("Orders")


def test_nothing_of_the_crew_is_kept_after_signing_out(screen, site):
    one = screen(Size.PHONE, site.lead)
    one.go("/")
    one.page.wait_for_function("localStorage.getItem('kept numbers') !== null")
    one.go("/crew")
    one.press("Sign out")
    expect(one.page.get_by_role("heading", level=1)).to_have_text("Sign in")

    [log] = site.lead.get("logs?limit=1")["items"]
    kept = one.page.evaluate(
        """async (id) => {
          const { keptLog } = await import('/static/crews/kept.js');
          const names = Object.keys(localStorage).filter((name) => /^(kept|round of|draft of) /.test(name));
          return [names, await keptLog(id) ?? null];
        }""",
        log["id"],
    )
    assert kept == [[], None]


def test_the_service_can_be_put_on_a_home_screen(screen, site):
    one = screen(Size.PHONE, site.lead)
    page = one.go("/")

    manifest = page.evaluate("""async () => {
      const { href } = document.querySelector('link[rel=manifest]');
      const answer = await fetch(href);
      return { kind: answer.headers.get('content-type'), told: await answer.json() };
    }""")

    assert manifest["kind"].startswith("application/manifest+json")
    told = manifest["told"]
    assert (told["start_url"], told["display"], told["name"]) == ("/", "standalone", "Roundlay")
    for icon in told["icons"]:
        assert page.request.get(icon["src"]).headers["content-type"].startswith(icon["type"])


TYPED = [
    "11 5/8", '11-5/8"', "11½ in", "19' 4 1/2\"", "19 ft 4 in", "19ft 4", "5.89 m", "5,89 m", "29.5 cm",
    "295 mm", "295", "0", ".5", "12’ 6”", "7 8/8", "7 3/5", "1,234", "1,234 mm", "-3", "abc", "", " ",
    "19' 12\"", "19.5' 4", "1/2", "5/8 cm", "3 1/32", "2000 m", "9" * 41, "12 feet, 3 inches", "6⅓", "17 8",
    "1e3", "12 metres", "1.2.3",
]  # fmt: skip


def test_lengths_are_read_by_the_page_as_by_the_service(screen, lead):
    one = screen(Size.DESK, lead)
    one.go("/crew")
    units = [unit.value for unit in Unit]
    read = one.page.evaluate(
        """async ([texts, units]) => {
          const { readLength, BadLength } = await import('/static/crews/reading.js');
          const read = (text, unit) => {
            try { return readLength(text, unit); } catch (error) {
              if (error instanceof BadLength) return error.message;
              throw error;
            }
          };
          return texts.map((text) => units.map((unit) => read(text, unit)));
        }""",
        [TYPED, units],
    )

    for text, told in zip(TYPED, read, strict=True):
        for unit, value in zip(Unit, told, strict=True):
            try:
                expected = float(parse_length(text, default_unit=unit))
            except BadLength as bad:
                expected = bad.reason
            assert value == expected, (text, unit)


def test_the_page_asks_by_the_limits_of_the_service(screen, lead):
    one = screen(Size.DESK, lead)
    one.go("/crew")
    limits = one.page.evaluate("async () => (await import('/static/inventory/line_checks.js')).LIMITS")

    assert limits == {name: float(getattr(chart_rules, name.upper())) for name in limits}


@pytest.fixture
def lead(live):
    lead = live.crew()
    lead.put(f"yards/{uuid4()}", {"name": "North yard"})
    return lead
