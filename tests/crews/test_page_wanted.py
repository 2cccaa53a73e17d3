"""After signing in the page comes that was wanted, and never another host's."""

import pytest
from django.test import Client

from crews.accounts.cookies import COOKIE


def signed_in_for(wanted: str, key: str) -> str:
    answer = Client().post("/sign-in", {"key": key, "wanted": wanted})
    assert answer.status_code == 302
    assert answer.cookies[COOKIE].value == key
    return str(answer.headers["Location"])


@pytest.mark.parametrize(
    "wanted", ["/logs/3f0c2f5e-6f0b-4a57-9a53-0d1c4f1f8a11", "/yard?order=-middle&free=true", "/"]
)
def test_a_label_leads_to_its_log_after_signing_in(lead, wanted):
    assert signed_in_for(wanted, lead.who.key) == wanted


@pytest.mark.parametrize(
    "wanted",
    [
        "https://elsewhere.example/",
        "//elsewhere.example/yard",
        "/\\elsewhere.example",
        "///elsewhere.example",
        "/\t/elsewhere.example",
        "javascript:alert(1)",
        "logs",
        "/api/v1/me",
        "/sign-out",
        "",
    ],
)
def test_no_other_host_and_no_other_address_is_led_to(lead, wanted):
    assert signed_in_for(wanted, lead.who.key) == "/"
