"""What the pages print is told where it is read: its times are of there."""

from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.building import a_hut, a_yard
from tests.browser.screen import Size


@pytest.mark.parametrize("zone", ["America/Vancouver", "Etc/UTC"])
def test_a_print_is_asked_for_in_the_zone_of_the_phone(screen, live, zone):
    lead = live.crew()
    a_yard(lead)
    cabin = a_hut(lead)
    one: Any = screen(Size.PHONE, lead, timezone_id=zone)

    for address in ("/yard", f"/cabins/{cabin}"):
        one.go(address)
        link = one.page.locator("#sheets a").last
        expect(link).to_be_visible()
        href = link.get_attribute("href")
        assert ("zone=America%2FVancouver" in href) == (zone == "America/Vancouver")
        with one.page.expect_download() as waiting:
            link.click()
        assert waiting.value.suggested_filename.endswith(".pdf")
