"""What the commands of config/ share: how they speak, and how they run manage.py's."""

import subprocess
import sys
from collections.abc import Mapping

import psycopg

from config.home import PROJECT
from config.logs import without_secrets


class CannotRun(RuntimeError):
    """The service cannot be started; the message says why and what to do."""


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the commands are for


def manage(*arguments: str, env: Mapping[str, str], quiet: bool = False) -> str:
    """Run one of manage.py's commands; its output, or CannotRun with what it said."""
    done = subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=PROJECT,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise CannotRun(f"manage.py {arguments[0]} failed:\n{done.stdout[-1000:]}{done.stderr[-3000:]}")
    if not quiet:
        say(done.stdout.rstrip())
    return done.stdout


def check_reachable(url: str) -> None:
    """Raises CannotRun with the server's own words if the database cannot be entered."""
    try:
        psycopg.connect(url, connect_timeout=5).close()
    except psycopg.Error as fault:
        told = without_secrets(str(fault).strip())
        raise CannotRun(f"The database that DATABASE_URL names cannot be entered:\n{told}") from fault


def has_crew(url: str) -> bool:
    """Whether the migrated database has any crew."""
    with psycopg.connect(url) as connection:
        found = connection.execute("SELECT EXISTS (SELECT 1 FROM crews_crew)").fetchone()
    return found == (True,)
