"""The interactive docs show operations under the policy that they are given."""

import pytest
from playwright.sync_api import Browser, expect

from tests.live import Live

pytestmark = pytest.mark.browser


def test_the_interactive_docs_open_under_their_policy(browser: Browser, live: Live):
    with browser.new_context() as context:
        page, said = context.new_page(), []
        page.on("console", lambda one: said.append(one.text) if one.type == "error" else None)

        page.goto(f"{live.root}/api/docs")

        expect(page.locator(".opblock").first).to_be_visible(timeout=60_000)
        assert said == []
