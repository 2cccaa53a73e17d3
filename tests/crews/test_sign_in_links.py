"""A link signs one browser in, once, within ten minutes, and leaves nothing behind by which another could."""

import re
from datetime import timedelta
from pathlib import Path
from threading import Barrier, Thread
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.utils.timezone import now

from crews.accounts.access import secret_hash
from crews.accounts.cookies import COOKIE
from crews.accounts.models import AccessKey, SignInLink
from crews.accounts.sign_in_links import GOOD_FOR, PATH, make_sign_in_link, use_sign_in_link
from crews.history.models import Change
from tests.people import Someone, a_crew


def key_of(who: Someone) -> AccessKey:
    return AccessKey.objects.select_related("member").get(secret_sha256=secret_hash(who.key))


def secret_for(who: Someone, **given: Any) -> str:
    return make_sign_in_link(key_of(who), **{"at": now()} | given).removeprefix(PATH)


def opened(secret: str, client: Client | None = None) -> Any:
    """What the browser gets that sends what the link holds."""
    return (client or Client()).post("/sign-in/link", {"link": secret})


def test_the_first_browser_gets_a_key_of_its_own_and_a_second_gets_none(lead):
    secret = secret_for(lead.who)

    first, second = opened(secret), opened(secret)

    assert (first.status_code, second.status_code) == (204, 410)
    cookie = first.cookies[COOKIE]
    assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Strict", "/api/v1/")
    assert cookie.value != lead.who.key
    assert COOKIE not in second.cookies
    own = AccessKey.objects.get(secret_sha256=secret_hash(cookie.value))
    assert (own.member, own.role, own.name) == (lead.who.member, "lead", "signed in by a link")
    assert timedelta(days=89) < own.expires_at - now() < timedelta(days=91)


def test_the_key_opens_the_api_for_the_pages_and_the_lead_can_revoke_it(lead):
    client = Client()
    opened(secret_for(lead.who), client)

    assert client.get("/api/v1/me").json()["crew"]["id"] == str(lead.who.crew.id)

    [own] = [key for key in lead.get("keys").body["items"] if key["name"] == "signed in by a link"]
    lead.post(f"keys/{own['id']}/revoke")
    assert client.get("/api/v1/me").status_code == 401


def test_a_link_is_good_for_ten_minutes(lead):
    at = now()
    in_time, late = (
        secret_for(lead.who, at=at - GOOD_FOR + timedelta(seconds=30)),
        secret_for(lead.who, at=at),
    )

    assert timedelta(minutes=10) == GOOD_FOR
    assert use_sign_in_link(late, at=at + GOOD_FOR) is None
    assert opened(in_time).status_code == 204


def test_looking_at_the_page_uses_nothing_up(lead):
    secret = secret_for(lead.who)

    page = Client().get("/sign-in/link")

    assert page.status_code == 200
    assert "default-src 'none'" in page.headers["Content-Security-Policy"]
    assert opened(secret).status_code == 204


def test_only_a_hash_is_stored_and_the_secret_never_stands_in_an_address(lead, caplog):
    path = make_sign_in_link(key_of(lead.who), at=now())
    address, _, secret = path.partition("#")
    caplog.set_level("DEBUG")
    with connection.cursor() as cursor:
        cursor.execute("SELECT row_to_json(link)::text FROM crews_signinlink link")
        [(stored,)] = cursor.fetchall()

    opened(secret)

    assert address == "/sign-in/link", "what stands behind the mark is never sent"
    assert len(secret) > 30
    assert secret not in caplog.text
    assert secret not in stored
    assert secret.encode().hex() not in stored
    assert secret_hash(secret).hex() in stored
    assert not SignInLink.objects.exists(), "and the hash goes when the link is used"


def test_the_history_says_who_signed_in_by_what(lead):
    opened(secret_for(lead.who))

    made = Change.objects.filter(kind="access_key", crew=lead.who.crew).latest("id")

    assert (made.member, made.request_id) == (lead.who.member, "sign-in link")
    assert "log_" not in str(made.after.get("secret_sha256", ""))


def test_a_learners_link_makes_a_learners_key_and_a_demoted_leads_link_no_more_than_they_have(lead, learner):
    assert use_key_role(secret_for(learner.who)) == "learner"

    demoted = secret_for(lead.who)
    type(lead.who.member).objects.filter(id=lead.who.member.id).update(role="builder")
    assert use_key_role(demoted) == "builder"


def use_key_role(secret: str) -> str:
    return str(AccessKey.objects.get(secret_sha256=secret_hash(opened(secret).cookies[COOKIE].value)).role)


def test_who_has_left_is_not_signed_in(lead, builder):
    secret = secret_for(builder.who)
    type(builder.who.member).objects.filter(id=builder.who.member.id).update(left_at=now())

    assert opened(secret).status_code == 410


def test_guessing_is_slowed_by_address(db, settings, within_one_minute):
    settings.KEYLESS_REQUESTS_PER_MINUTE = 3

    answers = [opened("once_guessed").status_code for _ in range(4)]

    assert answers == [410, 410, 410, 429]


def test_another_site_cannot_send_it(lead):
    strict = Client(enforce_csrf_checks=True)

    assert opened(secret_for(lead.who), strict).status_code == 403


def test_links_that_are_over_are_forgotten(lead):
    secret_for(lead.who, at=now() - timedelta(hours=1))

    secret_for(lead.who)

    assert SignInLink.objects.count() == 1


def test_of_two_browsers_at_the_same_moment_one_gets_in(transactional_db):
    secret = secret_for(a_crew())
    start, got = Barrier(2), list[str | None]()

    def use() -> None:
        start.wait()
        got.append(use_sign_in_link(secret, at=now()))
        connection.close()

    both = [Thread(target=use) for _ in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join()

    assert len([key for key in got if key]) == 1


@pytest.fixture
def key_file(lead: Any, tmp_path: Path) -> Path:
    file = tmp_path / "key"
    file.write_text(f"{lead.who.key}\n")
    return file


def test_the_command_prints_the_path_of_a_link(key_file, capsys):
    call_command("sign_in_link", str(key_file))

    path = capsys.readouterr().out.strip()
    assert re.fullmatch(r"/sign-in/link#once_[A-Za-z0-9_-]{32}", path)
    assert opened(path.removeprefix(PATH)).status_code == 204


def test_the_command_refuses_a_key_that_opens_nothing(key_file):
    key_file.write_text("log_of_nobody")

    with pytest.raises(CommandError, match="opens nothing"):
        call_command("sign_in_link", str(key_file))
