"""An archive of a crew that has something of everything; the crew itself is not on this server."""

from pathlib import Path
from typing import Any

import pytest

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
