"""The whole database as one file, and back on another machine."""

import os
import stat
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import psycopg
import pytest
from psycopg.conninfo import make_conninfo

from config.backup import CannotBackUp, backup, counts_file, drill, keep, main, restore, tool, worth_keeping
from tests.people import a_crew

PROJECT = Path(__file__).resolve().parent.parent
_ASK = """
import django; django.setup()
from django.test import Client
answer = Client().get("/api/v1/me", headers={"authorization": "Bearer " + input()})
print(answer.status_code, answer.json()["crew"]["name"])
"""


def everything(url):
    """What a database holds: the rows of each table, its triggers and constraints."""
    with psycopg.connect(url) as held:
        tables = held.execute(
            "SELECT tablename FROM pg_tables"
            " WHERE schemaname = 'public' AND tablename <> 'crews_requestcount'"
        ).fetchall()
        rows = {
            name: held.execute(
                f"SELECT count(*), md5(coalesce(string_agg(t::text, ' ' ORDER BY t::text), '')) FROM {name} t"
            ).fetchone()
            for (name,) in tables
        }
        kept = held.execute(
            "SELECT tgname FROM pg_trigger UNION ALL SELECT conname FROM pg_constraint ORDER BY 1"
        ).fetchall()
    return rows, [name for (name,) in kept if not name.startswith("RI_")]


def test_a_backup_restored_elsewhere_is_the_same_and_its_keys_open(here, elsewhere, tmp_path):
    lead = a_crew("Alder Bend crew")
    file = tmp_path / "a folder" / "roundlay.dump"
    file.parent.mkdir()

    backup(here, file)
    assert restore(elsewhere, file) == ""

    assert everything(elsewhere) == everything(here)
    assert everything(elsewhere)[0]["crews_crew"][0] == 1
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    env = os.environ | {
        "DATABASE_URL": elsewhere,
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "ROUNDLAY_ALLOWED_HOSTS": "testserver",
    }
    asked = subprocess.run(
        [sys.executable, "-c", _ASK], input=lead.key, cwd=PROJECT, env=env,
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert asked.stdout.strip() == "200 Alder Bend crew"


def test_on_another_server_the_next_era_of_events_begins_with_the_restore(here, elsewhere, tmp_path):
    file = tmp_path / "all.dump"
    with psycopg.connect(here, autocommit=True) as held:
        held.execute("UPDATE crews_eventera SET server = server - 1, era = 4")
        backup(here, file)
        held.execute("UPDATE crews_eventera SET server = server + 1, era = 0")

    restore(elsewhere, file)

    with psycopg.connect(elsewhere) as restored:
        found = restored.execute("SELECT era, roundlay_event_position() >> 44 FROM crews_eventera")
        assert found.fetchone() == (5, 5)


def test_a_database_that_is_not_empty_is_replaced_only_when_told_and_kept_aside(here, elsewhere, tmp_path):
    a_crew("The first crew")
    first, second = tmp_path / "first.dump", tmp_path / "second.dump"
    backup(here, first)
    a_crew("The second crew")
    backup(here, second)
    restore(elsewhere, second)
    with pytest.raises(CannotBackUp, match="not empty"):
        restore(elsewhere, first)

    aside = restore(elsewhere, first, replace=True)

    assert everything(elsewhere)[0]["crews_crew"][0] == 1
    assert everything(make_conninfo(elsewhere, dbname=aside))[0]["crews_crew"][0] == 2


def test_a_restore_of_a_database_in_use_changes_nothing(here, elsewhere, tmp_path):
    a_crew()
    file = tmp_path / "one.dump"
    backup(here, file)
    restore(elsewhere, file)

    with psycopg.connect(elsewhere), pytest.raises(CannotBackUp, match="Stop the service"):
        restore(elsewhere, file, replace=True)

    assert everything(elsewhere) == everything(here)


def test_a_file_that_is_no_backup_leaves_the_database_as_it_was(here, elsewhere, tmp_path):
    a_crew()
    good, broken = tmp_path / "good.dump", tmp_path / "broken.dump"
    backup(here, good)
    broken.write_bytes(good.read_bytes()[: good.stat().st_size // 2])

    for file in (broken, tmp_path / "none.dump"):
        with pytest.raises(CannotBackUp):
            restore(elsewhere, file)

    assert everything(elsewhere)[0] == {}
    restore(elsewhere, good)
    before = everything(elsewhere)
    with pytest.raises(CannotBackUp):
        restore(elsewhere, broken, replace=True)
    assert everything(elsewhere) == before


def test_a_backup_overwrites_nothing_and_leaves_no_half(here, tmp_path):
    file = tmp_path / "kept.dump"
    file.write_text("an earlier backup")

    with pytest.raises(CannotBackUp, match="exists already"):
        backup(here, file)
    with pytest.raises(psycopg.OperationalError):
        backup(make_conninfo(here, dbname="nowhere"), tmp_path / "new.dump")

    assert file.read_text() == "an earlier backup"
    assert list(tmp_path.iterdir()) == [file]


def test_the_command_says_what_it_did_or_what_to_do(here, elsewhere, tmp_path, capsys, monkeypatch):
    a_crew()
    file = str(tmp_path / "all.dump")
    monkeypatch.setenv("DATABASE_URL", here)
    assert main(["backup", file]) == 0
    assert main(["backup", file]) == 1
    monkeypatch.setenv("DATABASE_URL", elsewhere)
    assert main(["restore", file]) == 0
    monkeypatch.setenv("REPLACE", "1")
    assert main(["restore", file]) == 0
    assert main(["restore", ""]) == 2

    told = capsys.readouterr().out
    for words in ("Backed up to", "exists already", "Restored from", "kept as the database", "Name a file"):
        assert words in told


def test_a_tool_older_than_the_server_is_not_used(tmp_path, monkeypatch):
    old = tmp_path / "pg_dump"
    old.write_text("#!/bin/sh\necho 'pg_dump (PostgreSQL) 9.6.1'\n")
    old.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))

    assert tool("pg_dump", server=9) == str(old)
    assert tool("pg_dump", server=18) != str(old)


def test_a_backup_of_a_newer_server_is_read_in_as_statements(here, elsewhere, tmp_path, monkeypatch):
    """The servers of the tests are of one release: one of them is said to be older."""
    a_crew()
    file = tmp_path / "newer.dump"
    backup(here, file)
    monkeypatch.setattr("config.backup.server_of", lambda url: 15 if url == elsewhere else 18)
    written = []
    monkeypatch.setattr("config.backup.run_tool", lambda *given: written.append(given))

    restore(elsewhere, file)

    assert everything(elsewhere) == everything(here)
    assert written == [], "pg_restore was not asked"


def test_of_old_backups_one_a_day_a_week_and_a_month_is_kept():
    first = datetime(2025, 1, 1, 2, 40, tzinfo=UTC)
    nights = [first + timedelta(days=n, hours=h) for n in range(500) for h in (0, 6)]

    staying = sorted(worth_keeping(nights))

    last = nights[-1]
    assert staying[-7:] == [last - timedelta(days=n) for n in reversed(range(7))]
    assert 7 + 12 <= len(staying) + 3 <= 7 + 5 + 12
    assert last - staying[0] > timedelta(days=300)
    assert worth_keeping(nights[:1]) == {first}


def test_a_folder_keeps_what_is_worth_it_and_touches_no_other_file(here, tmp_path):
    a_crew()
    folder = tmp_path / "backups"
    for day in range(1, 15):
        keep(here, folder, at=datetime(2026, 6, day, 2, 40, tzinfo=UTC))
        (folder / "roundlay-by-hand.dump").write_text("mine")

    there = {one.name for one in folder.iterdir()}
    dumps = {name for name in there if name.startswith("roundlay-2026") and name.endswith(".dump")}

    assert len(dumps) == 8, "seven days, and the week before them"
    assert there == dumps | {f"{name}.counts" for name in dumps} | {"roundlay-by-hand.dump"}
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_a_drill_reads_the_newest_backup_in_and_leaves_nothing_behind(here, tmp_path):
    a_crew()
    file, _ = keep(here, tmp_path, at=datetime.now(UTC))
    a_crew("One more")  # the backup is held against what it held, not against what is there now

    told = drill(here, tmp_path)

    assert "each table has the rows that it had" in told
    with psycopg.connect(here) as held:
        [left] = held.execute("SELECT count(*) FROM pg_database WHERE datname LIKE '%drill'").fetchone()
    assert left == 0
    counts_file(file).write_text(counts_file(file).read_text().replace('"crews_crew": 1', '"crews_crew": 2'))
    with pytest.raises(CannotBackUp, match="crews_crew: 2, read 1"):
        drill(here, tmp_path)
    with pytest.raises(CannotBackUp, match="no backup"):
        drill(here, tmp_path / "nowhere")
