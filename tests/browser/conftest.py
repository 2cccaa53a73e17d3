"""A browser for each pytest process, and screens of a phone's and a desk's size in it, signed in or not."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from tests.browser.screen import Screen, Size
from tests.live import Live, Person
from tests.machine_tools import chromium

# As root Chromium has no sandbox of its own; the rest keeps it from asking its maker's servers for anything.
FLAGS = [
    "--no-sandbox", "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--no-first-run", "--disable-quic", "--disable-dev-shm-usage",
]  # fmt: skip

# How long something may take says nothing about the pages on a busy machine.
expect.set_options(timeout=60_000)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One for each file: its driver leaves an event loop in the thread, in which Django asks no database."""
    path = chromium()
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield running
        running.close()


@pytest.fixture
def screen(browser: Browser, live: Live) -> Iterator[Callable[..., Screen]]:
    """Opens screens; what went wrong in one of them unseen fails the test."""
    opened: list[Screen] = []

    def open_screen(size: Size, person: Person | None = None, **given: Any) -> Screen:
        opened.append(Screen(browser, live.root, size, person, **given))
        return opened[-1]

    yield open_screen
    faults = [fault for one in opened for fault in one.faults]
    for one in opened:
        one.close()
    assert faults == []


@pytest.fixture(params=list(Size), ids=[size.value for size in Size])
def size(request: pytest.FixtureRequest) -> Size:
    """A phone in one hand, and a desk."""
    return request.param
