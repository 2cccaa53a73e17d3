"""An archive of a crew that has something of everything; the crew itself is not on this server."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from django.db import connection
from psycopg.conninfo import make_conninfo

from config.archive.opening import ArchiveRefused
from config.archive.reading_in import read_in
from tests.archive.world import LATER, a_full_crew, archive_of, counted, forget
from tests.cabins.building import a_log
from tests.people import a_crew


@pytest.fixture(scope="session")
def made_once() -> dict[str, bytes]:
    return {}


@pytest.fixture
def archive(transactional_db: None, asker: Any, tmp_path: Path, made_once: dict[str, bytes]) -> Path:
    """The file. Made by the first test that asks for it, and written anew for every other."""
    if not made_once:
        lead = asker(a_crew())
        a_full_crew(lead, asker)
        made_once["zip"] = archive_of(lead, tmp_path).read_bytes()
        forget(lead.who.crew)
    file = tmp_path / "crew.zip"
    file.write_bytes(made_once["zip"])
    return file


@pytest.fixture
def refused(archive: Path, stranger: Any) -> Any:
    """Reads an archive in that must be refused, beside another crew; gives what was said."""
    a_log(stranger.who.crew)
    before = counted()

    def read(file: Path) -> str:
        with pytest.raises(ArchiveRefused) as said:
            read_in(file, at=LATER)
        assert counted() == before
        return str(said.value)

    return read


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
    """The conninfo of an empty database."""
    name = f"elsewhere_{uuid4().hex[:8]}"
    with psycopg.connect(make_conninfo(here, dbname="postgres"), autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name} ENCODING 'UTF8' LOCALE 'C.UTF-8' TEMPLATE template0")
        yield make_conninfo(here, dbname=name)
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")
