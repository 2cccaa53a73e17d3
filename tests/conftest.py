"""What all tests share: the throwaway database, people, a client that holds answers to the schema."""

import json
import os
import re
from collections.abc import Callable, Iterator
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from django.core.signals import setting_changed
from django.db import connection
from django.dispatch import receiver
from django.test import Client, TransactionTestCase
from django.test.client import ClientHandler
from django.utils.timezone import now
from hypothesis import settings
from psycopg.conninfo import make_conninfo

from crews.accounts.models import Role
from tests.people import Someone, a_crew, join
from tests.schema import check_answer, check_headers

# How long an example takes says nothing about the code on a busy machine.
settings.register_profile("roundlay", deadline=None)
settings.load_profile("roundlay")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark tests with their folder's name, where that is a marker, and trace the pure cores alone.

    These must be covered by examples of their own; to trace the rest would double its time.
    """
    markers = {line.partition(":")[0] for line in config.getini("markers")}
    for item in items:
        if (folder := item.path.parent.name) in markers:
            item.add_marker(folder)
    if "ROUNDLAY_COVER_ALL" in os.environ:  # tests/mutants asks which test runs which line
        return
    for item in items:
        made_up = getattr(getattr(item, "obj", None), "is_hypothesis_test", False)
        if made_up or not {"core", "outside"} & set(item.path.parts):
            item.add_marker("no_cover")


@pytest.fixture(scope="session")
def django_db_modify_db_settings(postgres: None) -> None:
    """pytest-django asks for this before it makes the test database: start the server first."""


# TRUNCATE makes new files for every table and index of the house, filled or not: a second where this takes
# milliseconds. What the migrations wrote stays.
_EMPTY_WHAT_IS_FILLED = """
    DO $$
    DECLARE one regclass; filled boolean;
    BEGIN
        SET LOCAL session_replication_role = replica;
        FOR one IN SELECT format('public.%I', tablename)::regclass FROM pg_tables WHERE schemaname = 'public'
            AND tablename NOT IN (
                'django_migrations', 'django_content_type', 'auth_permission', 'crews_eventera'
            )
        LOOP
            EXECUTE format('SELECT EXISTS (SELECT 1 FROM %s)', one) INTO filled;
            IF filled THEN EXECUTE format('DELETE FROM %s', one); END IF;
        END LOOP;
    END $$
"""


_truncate_all_tables = TransactionTestCase._fixture_teardown


def _empty_tables(self: TransactionTestCase) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT rolsuper FROM pg_roles WHERE rolname = current_user")
        # Only a superuser may leave triggers and foreign keys aside; another DATABASE_URL takes the slow way.
        if cursor.fetchone() != (True,):
            _truncate_all_tables(self)
            return
        cursor.execute(_EMPTY_WHAT_IS_FILLED)


@pytest.fixture(scope="session", autouse=True)
def _tables_emptied_quickly() -> Iterator[None]:
    """What pytest-django calls after a test that committed, in place of Django's TRUNCATE of every table."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", _empty_tables)
        yield


@pytest.fixture
def here(transactional_db: None) -> str:
    """The conninfo of the tests' own database."""
    given = connection.settings_dict
    return make_conninfo(
        dbname=given["NAME"], user=given["USER"], host=given["HOST"], port=given["PORT"] or None,
        password=given["PASSWORD"] or None,
    )  # fmt: skip


@pytest.fixture
def elsewhere(here: str) -> Iterator[str]:
    """The conninfo of an empty database; it goes with what was made beside it under its name."""
    name = f"elsewhere_{uuid4().hex[:8]}"
    with psycopg.connect(make_conninfo(here, dbname="postgres"), autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name} ENCODING 'UTF8' LOCALE 'C.UTF-8' TEMPLATE template0")
        yield make_conninfo(here, dbname=name)
        found = server.execute("SELECT datname FROM pg_database WHERE datname LIKE %s", [f"{name}%"])
        for (one,) in found.fetchall():
            server.execute(f'DROP DATABASE "{one}" WITH (FORCE)')


# Middleware is loaded once and not for each person: whitenoise looks at every file that is served.
_HANDLER = ClientHandler(enforce_csrf_checks=False)


@receiver(setting_changed)
def _load_middleware_anew(**_: Any) -> None:
    _HANDLER._middleware_chain = None


_OTHER_TIME = re.compile(rb'"\d{4}-\d\d-\d\dT[\d:.]+[+-]\d\d:\d\d"')


class Asker:
    """Someone who uses the API by HTTP; every answer is checked against the schema file."""

    def __init__(self, who: Someone | None) -> None:
        self.who = who
        self._client = Client(raise_request_exception=False)
        self._client.handler = _HANDLER

    def ask(
        self, method: str, address: str, body: Any = None, *, media: str = "application/json",
        version: Any = None, **headers: str,
    ) -> Any:  # fmt: skip
        """The answer, with `.body` its JSON (None without one). `version` goes into If-Match."""
        if self.who:
            headers["authorization"] = f"Bearer {self.who.key}"
        if version is not None:
            headers["if-match"] = f'"{version}"'
        data = body if isinstance(body, bytes) else b"" if body is None else json.dumps(body).encode()
        path = address if address.startswith("/") else f"/api/v1/{address}"
        answer: Any = self._client.generic(method, path, data, media if data else "", headers=headers)
        content = b"".join(answer.streaming_content) if answer.streaming else answer.content
        kind = answer.headers.get("Content-Type", "")
        answer.body = json.loads(content) if "json" in kind else content or None
        assert "json" not in kind or not _OTHER_TIME.search(content), "a time that does not end with Z"
        check_answer(method, path.split("?")[0], answer.status_code, kind, answer.body)
        check_headers(method, path.split("?")[0], answer.status_code, answer.headers)
        return answer

    def get(self, address: str, **given: Any) -> Any:
        return self.ask("GET", address, **given)

    def put(self, address: str, body: Any = None, **given: Any) -> Any:
        return self.ask("PUT", address, body, **given)

    def post(self, address: str, body: Any = None, **given: Any) -> Any:
        return self.ask("POST", address, body, **given)

    def patch(self, address: str, body: Any = None, **given: Any) -> Any:
        return self.ask("PATCH", address, body, **given)

    def delete(self, address: str, **given: Any) -> Any:
        return self.ask("DELETE", address, **given)


@pytest.fixture
def within_one_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    """The limits of requests a minute see one moment, so that no test crosses into the next minute."""
    moment = now()
    monkeypatch.setattr("crews.accounts.limits.now", lambda: moment)


@pytest.fixture
def lead(db: None) -> Asker:
    """The lead of a crew."""
    return Asker(a_crew())


@pytest.fixture
def builder(lead: Asker) -> Asker:
    """A builder of the lead's crew."""
    return Asker(join(lead.who.crew, "Brone", Role.BUILDER))


@pytest.fixture
def learner(lead: Asker) -> Asker:
    """A learner of the lead's crew."""
    return Asker(join(lead.who.crew, "Wren", Role.LEARNER))


@pytest.fixture
def stranger(db: None) -> Asker:
    """The lead of another crew."""
    return Asker(a_crew("Far Ridge crew"))


@pytest.fixture
def nobody(db: None) -> Asker:
    """Someone without a key."""
    return Asker(None)


@pytest.fixture
def asker() -> Callable[[Someone | None], Asker]:
    return Asker
