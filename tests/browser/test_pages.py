"""Every page of the URLconf in every state: accessible, within 320 px, large enough to hit, no faults."""

import pytest
from playwright.sync_api import Browser

from crews.accounts.pages import POLICY
from tests.browser.addresses import STATES, Crews, State, page_routes
from tests.browser.building import a_site
from tests.browser.looking import cut_off, findings, hidden_when_focused, too_small
from tests.browser.screen import Screen, Size
from tests.live import Live

CASES = [
    pytest.param(route, state, id=f"{route or 'home'} {state.name}")
    for route, states in STATES.items()
    for state in states
]


@pytest.fixture(scope="session")
def crews(live: Live) -> Crews:
    return Crews(site=a_site(live.crew()), bare=live.crew("Far Ridge crew", length_unit="ft_in"))


def opened(screen, crews: Crews, state: State, size: Size) -> Screen:
    """The page in this state. It is not kept for later: each visit is a first one."""
    who = {"site": crews.site.lead, "bare": crews.bare, "nobody": None}[state.who]
    one = screen(size, who, service_workers="block")
    if not state.reachable:
        one.page.route("**/api/v1/**", lambda route: route.abort("internetdisconnected"))
    one.go(state.address(crews))
    return one


def test_no_page_of_the_service_is_left_out(browser: Browser):
    assert set(page_routes()) == set(STATES)


@pytest.mark.parametrize(("route", "state"), CASES)
def test_a_page_can_be_used_by_everybody(screen, crews, route, state):
    page = opened(screen, crews, state, Size.PHONE).page

    told = page.locator("#told").inner_text().strip()
    faults = [*findings(page), *too_small(page), *hidden_when_focused(page), *cut_off(page, width=320)]
    if state.name == "filled":  # and at a desk
        faults += [*cut_off(page, width=1280), *findings(page), *too_small(page, buttons_px=24)]
    assert not faults, "\n".join(faults)
    assert page.locator("h1").count() == 1
    assert bool(told) == state.is_wrong, "what went wrong is told in words, and nothing else is"


def test_a_page_that_is_not_there_says_so_and_runs_under_the_same_policy(screen, crews):
    one = screen(Size.PHONE, crews.site.lead)

    answer = one.page.goto("/no-such-page")

    assert answer.status == 404
    assert answer.headers["content-security-policy"] == POLICY
    assert findings(one.page) == []
