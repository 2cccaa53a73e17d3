"""The example front end in docs/: from an origin of its own, by the public API alone, in under 150 lines."""

import threading
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from playwright.sync_api import expect

from tests.browser.building import a_site
from tests.browser.looking import cut_off, findings, too_small
from tests.browser.screen import Screen, Size
from tests.live import Live, Person

FILE = Path(__file__).resolve().parent.parent.parent / "docs" / "api" / "example_front_end.html"
HOSTILE = "<img src=x onerror=\"document.title='taken'\">"


class Quiet(SimpleHTTPRequestHandler):
    """Serves files and says nothing."""

    def log_message(self, *_: Any) -> None:
        return


@pytest.fixture(scope="module")
def address(live: Live) -> Iterator[str]:
    """The page's address, of an origin that the service's CORS list names."""
    port = int(live.other_origin.rsplit(":", 1)[1])
    with ThreadingHTTPServer(("127.0.0.1", port), partial(Quiet, directory=FILE.parent)) as server:
        threading.Thread(target=server.serve_forever).start()
        yield f"{live.other_origin}/{FILE.name}"
        server.shutdown()


@pytest.fixture
def shown(screen, live, address):
    """Opens the page and shows it somebody's yards and cabins."""

    def show(person: Person, size: Size = Size.PHONE) -> Screen:
        one = screen(size, also=(live.other_origin,))
        one.go(address)
        one.page.locator("#root").fill(live.root)
        one.page.locator("#key").fill(person.key)
        one.press("Show my yards and cabins")
        one.settle()
        return one

    return show


def test_it_is_one_file_of_under_150_lines():
    text = FILE.read_text()

    assert len(text.splitlines()) < 150
    assert not any(
        word in text for word in ("innerHTML", "localStorage", "sessionStorage", "cookie", '<link rel="styl')
    )


def test_it_shows_a_rack_and_the_next_log(shown, live, size):
    site = a_site(live.crew())
    rack = next(one for one in site.lead.get("racks")["items"] if one["name"] == "R2")

    one = shown(site.lead, size)
    one.page.locator("#rack").select_option(rack["id"])

    lying = {log["number"] for log in site.lead.get(f"logs?rack={rack['id']}")["items"]}
    expect(one.page.locator("#logs tr")).to_have_count(len(lying))
    assert set(one.page.locator("#logs th").all_inner_texts()) == lying
    row = site.lead.get(f"cabins/{site.cabin}/next-log")["row"]
    told = one.page.locator("#next")
    expect(told).to_contain_text(f"Log {row['log_number']}: wall {row['wall']}, round {row['round']}")
    expect(told).to_contain_text(row["cut_near_butt_text"])
    for caution in row["cautions"] + row["lift"]["cautions"]:
        expect(told).to_contain_text(caution)
    faults = [*findings(one.page), *too_small(one.page), *cut_off(one.page, width=320)]
    assert not faults, "\n".join(faults)


def test_it_keeps_the_key_in_memory_and_takes_no_text_for_markup(shown, live):
    lead = live.crew()
    yard, rack = str(uuid4()), str(uuid4())
    lead.put(f"yards/{yard}", {"name": HOSTILE})
    lead.put(f"racks/{rack}", {"yard": yard, "name": HOSTILE})
    log = {
        "yard": yard,
        "rack": rack,
        "number": HOSTILE[:40],
        "charted_by": "Odda",
        "charted_on": "2024-05-04",
    }
    sizes = {"length_mm": 6000, "butt_mm": 340, "middle_mm": 310, "tip_mm": 290, "peeled": True}
    lead.put(f"logs/{uuid4()}", log | sizes)

    one = shown(lead)

    expect(one.page.locator("#logs th")).to_have_text(HOSTILE[:40])
    assert one.page.locator("img").count() == 0
    assert one.page.title() == "A rack and the next log"
    assert one.page.evaluate("[localStorage.length, sessionStorage.length, document.cookie]") == [0, 0, ""]


def test_a_refusal_is_told_in_words(shown, live):
    one = shown(Person(root=live.root, key="log_mistyped"))

    expect(one.page.locator("#wrong")).not_to_be_empty()
    expect(one.page.locator("#shown")).to_be_hidden()
    assert findings(one.page) == []
