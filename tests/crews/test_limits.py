"""Whoever has no key that opens anything is slowed by address; whoever has one is not slowed by them."""

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from unittest.mock import patch
from uuid import uuid4

import pytest
from django.db import OperationalError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from crews.accounts.addresses import client_address, proxies_from
from crews.accounts.models import AccessKey, RequestCount
from tests.people import Someone

PROXIES = proxies_from(["10.0.0.0/8", "192.0.2.1", "unix"])
GUESS = {"authorization": "Bearer log_guess"}


@pytest.fixture(autouse=True)
def _three_a_minute(settings: Any, within_one_minute: None) -> None:
    settings.KEYLESS_REQUESTS_PER_MINUTE = 3
    settings.TRUSTED_PROXIES = PROXIES


def tried(count: int, address: str = "198.51.100.7", **headers: str) -> list[Any]:
    """So many requests without a good key from one address."""
    client = Client(REMOTE_ADDR=address, raise_request_exception=False)
    return [client.get("/api/v1/me", headers=headers) for _ in range(count)]


@pytest.mark.parametrize("sent", [{}, GUESS, {"authorization": "Basic YTpi"}, {"authorization": "Bearer "}])
def test_an_address_without_a_good_key_waits_until_the_minute_is_over(db, sent):
    answers = tried(4, **sent)

    assert [answer.status_code for answer in answers[:3]] == [401, 401, 401]
    assert [answer.headers["RateLimit-Remaining"] for answer in answers[:3]] == ["2", "1", "0"]
    refused = answers[-1]
    assert refused.status_code == 429
    assert refused.json()["type"] == "/problems/too-many-requests"
    assert 0 < int(refused.headers["Retry-After"]) <= 60
    assert refused.headers["RateLimit-Limit"] == "3"
    assert tried(1, "198.51.100.8")[0].status_code == 401


def test_who_waits_is_told_the_seconds_until_the_next_minute(db, monkeypatch):
    monkeypatch.setattr("crews.accounts.limits.now", lambda: datetime(2026, 5, 4, 9, 30, 42, tzinfo=UTC))

    refused = tried(4)[-1]

    assert (refused.headers["Retry-After"], refused.headers["RateLimit-Reset"]) == ("18", "18")


def test_another_guess_each_time_gains_nothing_and_fills_no_table(db):
    answers = [tried(1, authorization=f"Bearer log_{number}")[0] for number in range(8)]

    assert answers[-1].status_code == 429
    assert RequestCount.objects.count() == 1


def test_one_key_has_one_count_however_its_header_is_written(lead):
    key = lead.who.key
    client = Client(REMOTE_ADDR="198.51.100.7")

    for sent in (f"Bearer {key}", f"bearer {key}", f"BEARER   {key}", f"Bearer {key} "):
        assert client.get("/api/v1/me", headers={"authorization": sent}).status_code == 200

    assert RequestCount.objects.count() == 1


def test_a_good_key_is_not_locked_out_by_a_stranger_at_the_same_address(lead):
    tried(8)
    client = Client(REMOTE_ADDR="198.51.100.7")

    answers = [
        client.get("/api/v1/me", headers={"authorization": f"Bearer {lead.who.key}"}) for _ in range(8)
    ]

    assert {answer.status_code for answer in answers} == {200}


def test_behind_a_proxy_of_ours_the_clients_own_address_counts(db):
    assert tried(8, "10.1.2.3", **{"x-forwarded-for": "203.0.113.9"})[-1].status_code == 429

    assert tried(1, "10.1.2.3", **{"x-forwarded-for": "203.0.113.10"})[0].status_code == 401
    assert tried(1, "203.0.113.9")[0].status_code == 429


def test_nobody_gets_a_new_allowance_by_writing_the_header_themselves(db):
    for number in range(8):
        answers = tried(1, **{"x-forwarded-for": f"203.0.113.{number}"})
        proxied = tried(1, "10.1.2.3", **{"x-forwarded-for": f"203.0.113.{number}, 198.51.100.9"})

    assert [answers[0].status_code, proxied[0].status_code] == [429, 429]


def test_no_limit_is_no_limit(db, settings):
    settings.KEYLESS_REQUESTS_PER_MINUTE = 0

    answers = tried(8)

    assert {answer.status_code for answer in answers} == {401}
    assert not RequestCount.objects.exists()


@pytest.mark.parametrize(
    ("peer", "forwarded", "address"),
    [
        ("198.51.100.7", "", "198.51.100.7"),
        ("198.51.100.7", "203.0.113.9", "198.51.100.7"),
        ("10.0.0.1", "203.0.113.9", "203.0.113.9"),
        ("10.0.0.1", "203.0.113.9, 10.0.0.2", "203.0.113.9"),
        ("10.0.0.1", "1.1.1.1, 203.0.113.9, 192.0.2.1", "203.0.113.9"),
        ("10.0.0.1", "", "10.0.0.1"),
        ("10.0.0.1", "203.0.113.9, nonsense", "10.0.0.1"),
        ("::ffff:10.0.0.1", "203.0.113.9", "203.0.113.9"),
        ("", "203.0.113.9", "203.0.113.9"),
        ("2001:db8:1:2:3:4:5:6", "", "2001:db8:1:2::/64"),
        ("10.0.0.1", "2001:db8:1:2:ffff::1", "2001:db8:1:2::/64"),
    ],
)
def test_the_address_that_asks_is_told_by_our_proxies_alone(peer, forwarded, address):
    assert client_address(peer=peer, forwarded=forwarded, proxies=PROXIES) == address


@given(peer=st.text(max_size=20) | st.ip_addresses().map(str), forwarded=st.text(max_size=60))
def test_no_header_breaks_the_look_for_an_address(peer, forwarded):
    untrusted = client_address(peer=peer, forwarded=forwarded, proxies=())

    assert untrusted == client_address(peer=peer, forwarded="", proxies=())
    client_address(peer="10.0.0.1", forwarded=forwarded, proxies=PROXIES)


def test_a_proxy_that_is_no_address_is_refused_at_the_start():
    with pytest.raises(ValueError, match="proxy"):
        proxies_from(["proxy.example.org"])


def signed_in(key: str, address: str = "198.51.100.7") -> Any:
    return Client(REMOTE_ADDR=address).post("/sign-in", {"key": key})


def test_signing_in_with_keys_that_open_nothing_is_slowed_and_with_a_good_one_is_not(lead):
    tries = [signed_in(f"log_{number}") for number in range(8)]

    assert [(one.status_code, one.headers["Location"]) for one in tries[:3]] == [
        (302, "/sign-in?refused")
    ] * 3
    assert not any("roundlay-key" in one.cookies for one in tries)
    assert tries[-1].status_code == 429
    assert 0 < int(tries[-1].headers["Retry-After"]) <= 60
    assert "Wait a minute" in tries[-1].content.decode()
    good = signed_in(lead.who.key)
    assert (good.status_code, good.headers["Location"]) == (302, "/")
    assert good.cookies["roundlay-key"].value == lead.who.key


def test_what_is_no_key_at_all_counts_as_a_try_too(db):
    assert [signed_in(key).status_code for key in ["", "a b", "é", "x" * 300, "log_x"]][-1] == 429


def test_while_the_database_is_away_the_page_takes_the_key_and_leaves_it_to_the_api(db):
    with patch("crews.accounts.pages.key_of", side_effect=OperationalError):
        assert signed_in("log_maybe").headers["Location"] == "/"


def revoked(who: Someone) -> None:
    AccessKey.objects.filter(member=who.member).update(revoked_at=datetime(2026, 5, 5, tzinfo=UTC))


def expired(who: Someone) -> None:
    long_ago = datetime(2026, 1, 1, tzinfo=UTC)
    AccessKey.objects.filter(member=who.member).update(
        created_at=long_ago, expires_at=long_ago + timedelta(days=1)
    )


def left(who: Someone) -> None:
    who.member.left_at = datetime(2026, 5, 5, tzinfo=UTC)
    who.member.save(update_fields=["left_at"])


@pytest.mark.parametrize("made_bad", [revoked, expired, left])
def test_no_wrong_key_is_told_from_another_by_words_or_work(
    learner, settings, made_bad: Callable[[Someone], None]
):
    settings.KEYLESS_REQUESTS_PER_MINUTE = 1000

    def asked(key: str) -> tuple[Any, list[str]]:
        with CaptureQueriesContext(connection) as captured:
            answer = Client().get("/api/v1/me", headers={"authorization": f"Bearer {key}"})
        assert answer.status_code == 401
        return answer.json(), [re.sub(r"'[^']*'", "?", one["sql"]) for one in captured.captured_queries]

    made_bad(learner.who)

    assert asked(learner.who.key) == asked(f"log_{uuid4().hex}")
