"""An archive of a crew that has something of everything; the crew itself is not on this server."""

from pathlib import Path
from typing import Any

import pytest

from tests.archive.world import a_full_crew, archive_of, forget
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
