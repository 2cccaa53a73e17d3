"""`make backup FILE=` and `make restore FILE=`: the whole database as one file, and back.

The dump is taken at one moment while the service goes on; beside it lie the counts of all rows then. A
restore is one transaction: whole or not at all. `keep` makes one more in a folder and removes what is old
there; `make restore-drill` reads the newest into a database of its own and holds it against its counts.
"""

import contextlib
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psycopg
from psycopg import sql
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from config.database import database_at_hand
from config.home import PrivateServerFailed
from config.postgres_files import binaries
from config.switches import SwitchRefused, is_on


class CannotBackUp(RuntimeError):
    """No backup or restore was made; the message says why and what to do."""


# On another server the next era of events' positions begins now, and not in the first transaction that writes
# an event, for which all others would have to wait. A backup of an earlier release knows of no positions.
# How often a key asked within the last minute is worth nothing later.
_LEFT_OUT = "crews_requestcount"
_NEXT_ERA = """
    DO $$ BEGIN
        IF to_regproc('public.roundlay_event_position') IS NOT NULL THEN
            PERFORM public.roundlay_event_position();
        END IF;
    END $$
"""


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


# Settings that pg_dump of newer releases writes and older servers do not know.
_UNKNOWN_BEFORE = {"SET transaction_timeout = 0;": 17}
_STAMP = "%Y%m%d-%H%M%S"
# Of the backups that `keep` made: one of each of so many days, weeks and months.
_DAYS, _WEEKS, _MONTHS = 7, 5, 12


def tool(name: str, *, server: int) -> str:
    """The path of pg_dump or pg_restore: the machine's own, or ours if that is older than the server."""
    found = shutil.which(name)
    if found:
        told = subprocess.run([found, "--version"], capture_output=True, text=True, check=True).stdout
        version = re.search(r"\d+", told)
        if version and int(version[0]) >= server:
            return found
    return str(binaries() / name)


def server_of(url: str) -> int:
    """The release of the database's server: 15, 18."""
    with psycopg.connect(url) as connection:
        return connection.info.server_version // 10000


def entering(url: str) -> tuple[list[str], dict[str, str]]:
    """How a tool enters the database: arguments, and the environment with the password, which no list of
    processes shows."""
    given = conninfo_to_dict(url)
    env = dict(os.environ)
    if password := given.pop("password", None):
        env["PGPASSWORD"] = str(password)
    return ["--no-password", f"--dbname={make_conninfo('', **given)}"], env


def run_tool(name: str, url: str, *arguments: str) -> None:
    """Run it on the database."""
    way, env = entering(url)
    command = [tool(name, server=server_of(url)), *arguments, *way]
    done = subprocess.run(command, env=env, capture_output=True, text=True, check=False)
    if done.returncode:
        raise CannotBackUp(f"{name} failed:\n{done.stderr.strip()[-2000:]}")


def counts(connection: "psycopg.Connection[Any]") -> dict[str, int]:
    """How many rows each table has that goes into a backup."""
    named = connection.execute(
        "SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY 1"
    ).fetchall()
    found = {}
    for (name,) in named:
        if name != _LEFT_OUT:
            asked = sql.SQL("SELECT count(*) FROM {}").format(sql.Identifier(name))
            [found[name]] = connection.execute(asked).fetchone() or [0]
    return found


def counts_file(file: Path) -> Path:
    return file.with_name(f"{file.name}.counts")


def backup(url: str, file: Path) -> None:
    """Write the database to a new file that only its owner may read. It holds webhooks' secrets."""
    if file.exists():
        raise CannotBackUp(f"{file} exists already, and a backup overwrites nothing. Name another file.")
    half = file.with_name(f"{file.name}.part")
    half.unlink(missing_ok=True)
    half.touch(mode=0o600)
    try:
        options = ["--format=custom", "--no-owner", "--no-privileges", f"--exclude-table-data={_LEFT_OUT}"]
        with psycopg.connect(url) as held:
            held.isolation_level = psycopg.IsolationLevel.REPEATABLE_READ
            [moment] = held.execute("SELECT pg_export_snapshot()").fetchone() or [""]
            run_tool("pg_dump", url, *options, f"--snapshot={moment}", f"--file={half}")
            counted = counts(held)
        counts_file(file).write_text(json.dumps(counted, indent=1))
        half.rename(file)
    finally:
        half.unlink(missing_ok=True)


def restore(url: str, file: Path, *, replace: bool = False) -> str:
    """Read the file into an empty database. Returns the name under which an earlier one was kept, or "".

    With `replace`, a database that is not empty makes room: the file is read into a new one, and only when
    that stands do the two change names.
    """
    if not file.is_file():
        raise CannotBackUp(f"There is no file {file}.")
    if _is_empty(url):
        _read_in(url, file)
        return ""
    if not replace:
        raise CannotBackUp("The database is not empty. REPLACE=1 reads the file in and keeps it aside.")
    name = str(conninfo_to_dict(url)["dbname"])
    fresh, aside = f"{name}_restoring", f"{name}_until_{datetime.now(UTC):%Y%m%d_%H%M%S}"
    with psycopg.connect(make_conninfo(url, dbname="postgres"), autocommit=True) as server:
        _tell(server, "DROP DATABASE IF EXISTS {}", fresh)
        _tell(server, "CREATE DATABASE {} ENCODING 'UTF8' LOCALE 'C.UTF-8' TEMPLATE template0", fresh)
        try:
            _read_in(make_conninfo(url, dbname=fresh), file)
            with server.transaction():  # both names change, or none
                _tell(server, "ALTER DATABASE {} RENAME TO {}", name, aside)
                _tell(server, "ALTER DATABASE {} RENAME TO {}", fresh, name)
        except psycopg.errors.ObjectInUse as busy:
            raise CannotBackUp("The database is in use. Stop the service, then restore.") from busy
        finally:
            _tell(server, "DROP DATABASE IF EXISTS {}", fresh)
    return aside


def _is_empty(url: str) -> bool:
    with psycopg.connect(url) as connection:
        found = connection.execute("SELECT EXISTS (SELECT 1 FROM pg_tables WHERE schemaname = 'public')")
        return found.fetchone() == (False,)


def _read_in(url: str, file: Path) -> None:
    if _dumped_from(file) > server_of(url):
        _read_into_older(url, file)
    else:
        options = ["--exit-on-error", "--single-transaction", "--no-owner", "--no-privileges"]
        run_tool("pg_restore", url, *options, str(file))
    with psycopg.connect(url) as connection:
        connection.execute(_NEXT_ERA)


def _dumped_from(file: Path) -> int:
    """The release of the server that a backup is of. Raises CannotBackUp if it is none."""
    command = [str(binaries() / "pg_restore"), "--list", str(file)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    release = re.search(r"Dumped from database version: (\d+)", done.stdout)
    if done.returncode or not release:
        raise CannotBackUp(f"{file} is no backup that can be read:\n{done.stderr.strip()[-2000:]}")
    return int(release[1])


def _read_into_older(url: str, file: Path) -> None:
    """Read a newer server's backup in, as statements: an older pg_restore does not know the file's form, a
    newer one sets what an older server does not know."""
    server, (way, env) = server_of(url), entering(url)
    written = [str(binaries() / "pg_restore"), "--file=-", "--no-owner", "--no-privileges", str(file)]
    read = [
        str(binaries() / "psql"),
        "--no-psqlrc",
        "--quiet",
        "--set=ON_ERROR_STOP=1",
        "--single-transaction",
    ]
    with (
        tempfile.TemporaryFile() as told,
        subprocess.Popen(written, stdout=subprocess.PIPE, stderr=told) as writing,
        subprocess.Popen(
            [*read, *way], env=env, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=told
        ) as reading,
    ):
        assert writing.stdout and reading.stdin
        with contextlib.suppress(BrokenPipeError), reading.stdin as into:
            for line in writing.stdout:
                if server >= _UNKNOWN_BEFORE.get(line.decode(errors="replace").strip(), 0):
                    into.write(line)
        writing.stdout.close()
        if reading.wait() or writing.wait():
            told.seek(0)
            raise CannotBackUp(f"It was not read in:\n{told.read().decode(errors='replace').strip()[-2000:]}")


def keep(url: str, folder: Path, *, at: datetime) -> tuple[Path, list[Path]]:
    """One more backup in the folder; returns it, and what was removed there."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    file = folder / f"roundlay-{at:{_STAMP}}.dump"
    backup(url, file)
    made = {one: _made_at(one) for one in folder.glob("roundlay-*.dump")}
    staying = worth_keeping([when for when in made.values() if when])
    removed = [one for one, when in made.items() if when and when not in staying]
    for one in removed:
        one.unlink()
        counts_file(one).unlink(missing_ok=True)
    return file, removed


def _made_at(file: Path) -> datetime | None:
    try:
        return datetime.strptime(file.stem.removeprefix("roundlay-"), _STAMP).replace(tzinfo=UTC)
    except ValueError:
        return None


def worth_keeping(made: list[datetime]) -> set[datetime]:
    """The newest of each of the last days, weeks and months that have one."""
    staying: set[datetime] = set()
    for most, same in ((_DAYS, "%Y-%m-%d"), (_WEEKS, "%G-%V"), (_MONTHS, "%Y-%m")):
        newest = {f"{one:{same}}": one for one in sorted(made)}
        staying |= set(sorted(newest.values())[-most:])
    return staying


def drill(url: str, given: Path) -> str:
    """Read a backup, or the newest of a folder, into a database of its own, and hold it against its counts.

    Returns what was found. Raises CannotBackUp if it cannot be read in, or holds other than it held.
    """
    files = sorted(given.glob("*.dump"), key=lambda one: one.stat().st_mtime) if given.is_dir() else [given]
    if not files or not files[-1].is_file():
        raise CannotBackUp(f"There is no backup {'in ' if given.is_dir() else ''}{given}.")
    file, scratch = files[-1], f"{conninfo_to_dict(url)['dbname']}_drill"
    began = time.monotonic()
    with psycopg.connect(make_conninfo(url, dbname="postgres"), autocommit=True) as server:
        _tell(server, "DROP DATABASE IF EXISTS {}", scratch)
        _tell(server, "CREATE DATABASE {} ENCODING 'UTF8' LOCALE 'C.UTF-8' TEMPLATE template0", scratch)
        try:
            _read_in(make_conninfo(url, dbname=scratch), file)
            with psycopg.connect(make_conninfo(url, dbname=scratch)) as read:
                found = counts(read)
        finally:
            _tell(server, "DROP DATABASE IF EXISTS {} WITH (FORCE)", scratch)
    told = (
        f"{file}: {len(found)} tables, {sum(found.values())} rows, read in {time.monotonic() - began:.0f} s"
    )
    if not counts_file(file).is_file():
        return f"{told}. It has no counts beside it to be held against."
    held = json.loads(counts_file(file).read_text())
    if unlike := [
        f"{name}: {held.get(name)}, read {found.get(name)}"
        for name in {*held, *found}
        if held.get(name) != found.get(name)
    ]:
        raise CannotBackUp(f"{told}, but not what was backed up: {'; '.join(sorted(unlike))}.")
    return f"{told}; each table has the rows that it had."


def _tell(server: "psycopg.Connection[tuple[object, ...]]", statement: str, *names: str) -> None:
    server.execute(sql.SQL(statement).format(*map(sql.Identifier, names)))


def main(arguments: list[str]) -> int:
    """`backup FILE`, `restore FILE`, `keep FOLDER` or `drill FILE-OR-FOLDER`; of DATABASE_URL or else of the
    private server, started if need be."""
    if len(arguments) != 2 or arguments[0] not in ("backup", "restore", "keep", "drill") or not arguments[1]:
        say("Name a file: make backup FILE=roundlay.dump, or make restore FILE=roundlay.dump")
        return 2
    what, file = arguments[0], Path(arguments[1])
    try:
        replace = is_on("REPLACE")
        with database_at_hand(say, command=f"make {what}") as url:
            if what == "backup":
                backup(url, file)
                say(f"Backed up to {file} ({file.stat().st_size // 1024} kB).")
                return 0
            if what == "keep":
                made, removed = keep(url, file, at=datetime.now(UTC))
                say(f"Backed up to {made} ({made.stat().st_size // 1024} kB); {len(removed)} older removed.")
                return 0
            if what == "drill":
                say(drill(url, file))
                return 0
            aside = restore(url, file, replace=replace)
            say(
                f"Restored from {file}."
                + (f" What was there is kept as the database {aside}." if aside else "")
            )
            return 0
    except (CannotBackUp, PrivateServerFailed, SwitchRefused, psycopg.OperationalError, OSError) as reason:
        say(str(reason))
        return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
