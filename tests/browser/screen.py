"""One browser window as a person has it before them, and whatever goes wrong in it unseen."""

import re
from enum import Enum
from typing import Any

from playwright.sync_api import Browser, ConsoleMessage, Locator, Page, Request

from tests.live import Person


class Size(Enum):
    PHONE = "phone"
    DESK = "desk"


_LOOKS: dict[Size, dict[str, Any]] = {
    Size.PHONE: {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True},
    Size.DESK: {"viewport": {"width": 1280, "height": 800}},
}
_LOOK_MS, _QUIET_LOOKS = 30, 4
# A refusal of the API and a lost network are logged by the browser itself; the pages tell them in words.
_REFUSED = re.compile(r"Failed to load resource: the server responded with a status of 4")
_LOST = re.compile(r"Failed to load resource: net::ERR_(INTERNET_DISCONNECTED|FAILED)$")
_OF_THE_DRIVER = ("Service Worker registration blocked by Playwright",)


class Screen:
    """A fresh browser profile with one page; `faults` are errors that no page should make."""

    def __init__(
        self, browser: Browser, root: str, size: Size, person: Person | None = None, *,
        also: tuple[str, ...] = (), **given: Any,
    ) -> None:  # fmt: skip
        self.root, self.faults = root, list[str]()
        self._hosts = (root, *also, "data:", "blob:")
        self._open: set[Request] = set()
        self.context = browser.new_context(
            base_url=root, locale="en-GB", reduced_motion="reduce", **_LOOKS[size] | given
        )
        self.context.set_default_timeout(60_000)
        if person:
            kept: Any = {"name": "roundlay-key", "value": person.key, "httpOnly": True, "sameSite": "Strict"}
            self.context.add_cookies([kept | {"domain": "127.0.0.1", "path": "/api/v1/"}])
        self.page: Page = self.context.new_page()
        self.page.on("console", self._console)
        self.page.on("pageerror", lambda error: self.faults.append(f"{self.page.url}: {error}"))
        self.page.on("request", lambda request: self._open.add(request))
        for ending in ("requestfinished", "requestfailed"):
            self.page.on(ending, lambda request: self._open.discard(request))
        self.context.on("request", self._asked)

    def _console(self, message: ConsoleMessage) -> None:
        where = str(message.location.get("url"))
        refused = _REFUSED.match(message.text) and (
            "/api/v1/" in where or where == self.page.url.partition("#")[0]
        )
        told_by_the_page = refused or _LOST.match(message.text) or message.text in _OF_THE_DRIVER
        if message.type in ("error", "warning") and not told_by_the_page:
            self.faults.append(f"{self.page.url}: {message.text} {where}")

    def _asked(self, request: Request) -> None:
        if not request.url.startswith(self._hosts):
            self.faults.append(f"{self.page.url} asks another host: {request.url}")

    def go(self, address: str) -> Page:
        """Open a page and wait until its script has nothing more to ask."""
        self.page.goto(address)
        self.settle()
        return self.page

    def settle(self) -> None:
        """Wait until the page asked nothing for a few moments in a row."""
        quiet = 0
        while quiet < _QUIET_LOOKS:
            self.page.wait_for_timeout(_LOOK_MS)
            quiet = 0 if self._open else quiet + 1

    def await_worker(self) -> None:
        """Wait until the service worker has kept everything and stands behind the page."""
        for _ in range(1200):
            if self.page.evaluate("navigator.serviceWorker.controller !== null"):
                return
            self.page.wait_for_timeout(50)
        raise AssertionError("the service worker did not take over; is one of its files missing?")

    def lose_the_signal(self) -> None:
        """Cut the page off, and the worker behind it: what neither has kept cannot be had."""
        self.await_worker()
        self.settle()
        self.context.set_offline(True)
        tried = "fetch('/static/not-kept', { signal: AbortSignal.timeout(5000) })"
        assert self.page.evaluate(f"{tried}.then(() => 'had', () => 'lost')") == "lost"

    def press(self, name: str, *, role: Any = "button") -> None:
        self.page.get_by_role(role, name=name, exact=True).click()

    def field(self, label: str) -> Locator:
        """The field whose label begins so; its unit stands behind."""
        return self.page.get_by_label(re.compile(rf"^{re.escape(label)}\b"))

    def close(self) -> None:
        self.context.close()
