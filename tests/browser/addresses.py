"""Every page of the service, as the URLconf has it, and what each shows: empty, filled, and gone wrong.

A page that is added to the URLconf has no states here, and the tests say so.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.urls import URLPattern, URLResolver, get_resolver

from tests.browser.building import Site, a_bare_order, a_hut, a_shortage, an_order
from tests.live import Person

# Addresses that show no page of ours: data, files, the interactive documentation, forms' targets.
_NO_PAGES = (
    "api/", "health/", "metrics", "problems", "docs", "README", "DEVELOPERS",
    "CHANGELOG", "worker.js", "sign-out",
)  # fmt: skip


def page_routes() -> list[str]:
    """The routes of all pages."""
    return [route for route in _routes(get_resolver().url_patterns) if not route.startswith(_NO_PAGES)]


def _routes(patterns: list[Any], start: str = "") -> Iterator[str]:
    for one in patterns:
        if isinstance(one, URLResolver):
            yield from _routes(one.url_patterns, start + str(one.pattern))
        elif isinstance(one, URLPattern):
            yield start + str(one.pattern)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crews:
    """Who looks: a crew at work, one that only began, and somebody without a key."""

    site: Site
    bare: Person


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """One state of a page: its address, who opens it, whether the service can be reached."""

    name: str
    address: Callable[[Crews], str]
    who: str = "site"
    reachable: bool = True
    is_wrong: bool = False


def _same(address: str) -> list[State]:
    """A page without an id: of a crew that only began, of one at work, and with the service out of reach."""
    return [
        State(name="empty", address=lambda _: address, who="bare"),
        State(name="filled", address=lambda _: address),
        State(name="unreachable", address=lambda _: address, reachable=False, is_wrong=True),
    ]


def _of_one(filled: Callable[[Crews], str], empty: Callable[[Crews], str] | None = None) -> list[State]:
    """A page of one thing: as it is at work, as it only began, and of a thing that is not there."""
    begun = [State(name="empty", address=empty, who="bare")] if empty else []
    return [
        *begun, State(name="filled", address=filled),
        State(name="unknown", address=lambda crews: _of_nothing(filled(crews)), is_wrong=True),
    ]  # fmt: skip


def _of_nothing(address: str) -> str:
    """The same address with an id that nothing has."""
    first, kind, _, *rest = address.split("/")
    return "/".join([first, kind, str(uuid4()), *rest])


def _first_log(crews: Crews) -> str:
    [log] = crews.site.lead.get("logs?with_hazard=true&limit=1")["items"]
    return f"/logs/{log['id']}"


def _bare_cabin(crews: Crews) -> str:
    cabin = str(uuid4())
    crews.bare.put(f"cabins/{cabin}", {"name": f"Hill hut {cabin[:4]}"})
    return f"/cabins/{cabin}"


STATES: dict[str, list[State]] = {
    "": _same("/"),
    "crew": _same("/crew"),
    "yard": _same("/yard"),
    "chart": _same("/chart"),
    "plans": _same("/plans"),
    "orders": _same("/orders"),
    "no-signal": [State(name="filled", address=lambda _: "/no-signal")],
    "plans/side-by-side": _same("/plans/side-by-side"),
    "sign-in": [
        State(name="filled", address=lambda _: "/sign-in", who="nobody"),
        State(name="refused", address=lambda _: "/sign-in?refused", who="nobody"),
    ],
    "sign-in/link": [State(name="filled", address=lambda _: "/sign-in/link", who="nobody")],
    "logs/<uuid:id>": _of_one(_first_log),
    "orders/<uuid:id>": _of_one(
        lambda crews: f"/orders/{an_order(crews.site.lead, crews.site.yard)}",
        lambda crews: f"/orders/{a_bare_order(crews.bare)}",
    ),
    "cabins/<uuid:id>": _of_one(lambda crews: f"/cabins/{crews.site.cabin}", _bare_cabin),
    "cabins/<uuid:id>/layout": _of_one(
        lambda crews: f"/cabins/{crews.site.cabin}/layout", lambda crews: f"{_bare_cabin(crews)}/layout"
    ),
    "cabins/<uuid:id>/cut-list": _of_one(
        lambda crews: f"/cabins/{crews.site.cabin}/cut-list", lambda crews: f"{_bare_cabin(crews)}/cut-list"
    ),
    "cabins/<uuid:id>/openings": _of_one(
        lambda crews: f"/cabins/{crews.site.cabin}/openings", lambda crews: f"{_bare_cabin(crews)}/openings"
    ),
    "cabins/<uuid:id>/wall": _of_one(
        lambda crews: f"/cabins/{crews.site.cabin}/wall", lambda crews: f"/cabins/{a_hut(crews.bare)}/wall"
    ),
    "plans/<uuid:id>": _of_one(
        lambda crews: f"/plans/{crews.site.plan}", lambda crews: f"/plans/{a_shortage(crews.bare)}"
    ),
}
