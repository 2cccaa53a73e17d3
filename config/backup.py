"""`make backup FILE=` and `make restore FILE=`: the whole database as one file, and back.

The dump is taken at one moment while the service goes on. A restore is one transaction: whole or not at all.
"""

import os
import re
import shutil
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

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
_NEXT_ERA = """
    DO $$ BEGIN
        IF to_regproc('public.roundlay_event_position') IS NOT NULL THEN
            PERFORM public.roundlay_event_position();
        END IF;
    END $$
"""


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def tool(name: str, *, server: int) -> str:
    """The path of pg_dump or pg_restore: the machine's own, or ours if that is older than the server."""
    found = shutil.which(name)
    if found:
        told = subprocess.run([found, "--version"], capture_output=True, text=True, check=True).stdout
        version = re.search(r"\d+", told)
        if version and int(version[0]) >= server:
            return found
    return str(binaries() / name)


def run_tool(name: str, url: str, *arguments: str) -> None:
    """Run it on the database; the password goes by the environment, where no list of processes shows it."""
    given = conninfo_to_dict(url)
    env = dict(os.environ)
    if password := given.pop("password", None):
        env["PGPASSWORD"] = str(password)
    with psycopg.connect(url) as connection:
        server = connection.info.server_version // 10000
    command = [
        tool(name, server=server),
        *arguments,
        "--no-password",
        f"--dbname={make_conninfo('', **given)}",
    ]
    done = subprocess.run(command, env=env, capture_output=True, text=True, check=False)
    if done.returncode:
        raise CannotBackUp(f"{name} failed:\n{done.stderr.strip()[-2000:]}")


def backup(url: str, file: Path) -> None:
    """Write the database to a new file that only its owner may read. It holds webhooks' secrets."""
    if file.exists():
        raise CannotBackUp(f"{file} exists already, and a backup overwrites nothing. Name another file.")
    half = file.with_name(f"{file.name}.part")
    half.unlink(missing_ok=True)
    half.touch(mode=0o600)
    try:
        # How often a key asked within the last minute is worth nothing later.
        options = ["--format=custom", "--no-owner", "--no-privileges"]
        run_tool("pg_dump", url, *options, "--exclude-table-data=crews_requestcount", f"--file={half}")
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
    options = ["--exit-on-error", "--single-transaction", "--no-owner", "--no-privileges"]
    run_tool("pg_restore", url, *options, str(file))
    with psycopg.connect(url) as connection:
        connection.execute(_NEXT_ERA)


def _tell(server: "psycopg.Connection[tuple[object, ...]]", statement: str, *names: str) -> None:
    server.execute(sql.SQL(statement).format(*map(sql.Identifier, names)))


def main(arguments: list[str]) -> int:
    """`backup FILE` or `restore FILE`, of DATABASE_URL or else of the private server, started if need be."""
    if len(arguments) != 2 or arguments[0] not in ("backup", "restore") or not arguments[1]:
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
