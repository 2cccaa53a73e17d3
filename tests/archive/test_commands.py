"""The operator's commands: to a new file, into another server; killed half way nothing is left."""

import os
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest
from django.db import connection

from config.archive.commands import run
from config.archive.opening import ArchiveRefused
from config.archive.reading_in import read_in
from config.archive.tables import tables
from crews.accounts.access import secret_hash
from crews.accounts.models import Crew
from tests.archive.world import LATER, counted
from tests.cabins.building import a_log
from tests.people import a_crew

PROJECT = Path(__file__).resolve().parent.parent.parent
pytestmark = pytest.mark.django_db(transaction=True)


def command(*arguments: str, database: str) -> "subprocess.Popen[str]":
    env = os.environ | {"DATABASE_URL": database, "DJANGO_SETTINGS_MODULE": "config.settings"}
    return subprocess.Popen(
        [sys.executable, "-m", "config.archive", *arguments], cwd=PROJECT, env=env, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip


def done(*arguments: str, database: str) -> str:
    """What the command said, once it is done."""
    running = command(*arguments, database=database)
    said = running.communicate(timeout=300)[0]
    assert running.returncode == 0, said
    return said


def test_a_crew_goes_from_one_server_to_an_empty_one(here, elsewhere, lead, tmp_path):
    for _ in range(3):
        a_log(lead.who.crew)
    file = tmp_path / "a folder" / "crew.zip"
    file.parent.mkdir()

    done("export", lead.who.crew.name, str(file), database=here)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert list(file.parent.iterdir()) == [file]

    told = done("import", str(file), database=elsewhere)

    assert "        3 inventory.log\n" in told
    key = told.rsplit(": ", 1)[1].strip()
    with psycopg.connect(elsewhere) as there:
        found = there.execute(
            "SELECT crew_id, role FROM crews_accesskey WHERE secret_sha256 = %s", [secret_hash(key)]
        ).fetchall()
        logs = there.execute("SELECT to_jsonb(one)::text FROM inventory_log one ORDER BY id").fetchall()
    assert found == [(lead.who.crew.id, "lead")]
    with connection.cursor() as cursor:
        cursor.execute("SELECT to_jsonb(one)::text FROM inventory_log one ORDER BY id")
        assert cursor.fetchall() == logs


def test_the_commands_say_what_they_did_or_what_to_do(lead, tmp_path, capsys):
    a_crew("Twin crew")
    twin = a_crew("Twin crew").crew
    file = tmp_path / "crew.zip"

    assert run(["export", str(twin.id), str(file)]) == 0
    assert run(["export", str(twin.id), str(file)]) == 1
    assert run(["export", "Twin crew", str(tmp_path / "twin.zip")]) == 1
    assert run(["export", "No such crew", str(tmp_path / "none.zip")]) == 1
    assert run(["export", str(twin.id), str(tmp_path / "no folder" / "crew.zip")]) == 1
    assert run(["import", str(file)]) == 1
    assert run(["import", ""]) == run(["export", "", "x"]) == run([]) == 2

    told = capsys.readouterr().out
    for words in (
        f"rows of Twin crew to {file}", "exists already", "2 crews are called Twin crew", str(twin.id),
        "There is no crew No such crew", "No such file", "on this server already", "make import-crew FILE=",
    ):  # fmt: skip
        assert words in told
    assert list(tmp_path.iterdir()) == [file]


def test_two_archives_are_not_read_in_at_once(here, archive):
    with psycopg.connect(here) as other:
        other.execute("SELECT pg_advisory_xact_lock(hashtextextended('import of an archive', 0))")
        with pytest.raises(ArchiveRefused, match="another archive is being read in"):
            read_in(archive, at=LATER)

    assert read_in(archive, at=LATER).rows


@contextmanager
def held_up(database: str, table: str) -> Iterator[Callable[[], None]]:
    """Nobody else writes to the table; yields a function that waits until somebody tries."""
    waiting = "SELECT 1 FROM pg_locks WHERE relation = %s::regclass AND NOT granted"
    with psycopg.connect(database) as other:
        other.execute(f"LOCK TABLE {table} IN EXCLUSIVE MODE")

        def wait() -> None:
            for _ in range(3000):
                if other.execute(waiting, [table]).fetchone():
                    return
                time.sleep(0.1)
            raise AssertionError(f"nobody came to {table}")

        yield wait


@pytest.mark.parametrize("table", ["crews_crew", "inventory_log", "planning_reservation", "crews_accesskey"])
def test_an_import_killed_half_way_leaves_nothing_and_can_be_done_again(here, archive, stranger, table):
    before = counted()

    with held_up(here, table) as somebody_waits:
        reading = command("import", str(archive), database=here)
        somebody_waits()
        reading.send_signal(signal.SIGKILL)
        reading.communicate()

    assert reading.returncode == -signal.SIGKILL
    assert counted() == before
    assert not Crew.objects.exclude(id=stranger.who.crew.id).exists()
    done("import", str(archive), database=here)
    assert set(counted()) == {table.name for table in tables()}
    assert min(counted()[table.name] for table in tables()) > 0
