"""The demo: loaded into an empty database (`make demo-data`, or `make run` on the private one), and shown."""

import hashlib
import http.client
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import urlsplit

from psycopg.conninfo import conninfo_to_dict, make_conninfo

from config.commands import CannotRun, check_reachable, has_crew, manage, say
from config.database import database_at_hand, private_place
from config.home import PROJECT, PrivateServerFailed, home, make_folder

FOUNDING = """\
   This database has no crew yet. To found one, which prints the key of its lead:
     .venv/bin/python manage.py found_crew "NAME OF THE CREW" --lead "NAME"
   Or `make demo-data` loads an invented school to try things with."""


def key_file(url: str) -> Path:
    """Where the key of the demo in that database is kept; a database of one's own has its own file."""
    if url == private_place().url():
        return home() / "demo-key"
    named = {name: value for name, value in conninfo_to_dict(url).items() if name != "password"}
    return home() / f"demo-key-{hashlib.sha256(make_conninfo('', **named).encode()).hexdigest()[:10]}"


def load_demo(url: str, env: Mapping[str, str]) -> bool:
    """Load the demo into a migrated database without a crew; False if there is one."""
    if has_crew(url):
        return False
    make_folder(home())
    manage("load_demo", "--key-file", str(key_file(url)), env=env, quiet=True)
    return True


def demo_key(url: str, root: str) -> str:
    """The demo's key; an empty text if there is none, or if the service at `root` does not take it."""
    file = key_file(url)
    if not file.exists():
        return ""
    key = file.read_text().strip()
    where = urlsplit(root)
    asking = http.client.HTTPConnection(where.hostname or "", where.port, timeout=30)
    try:
        asking.request("GET", "/api/v1/me", headers={"Authorization": f"Bearer {key}"})
        return "" if asking.getresponse().status == 401 else key
    except (OSError, http.client.HTTPException):
        return ""
    finally:
        asking.close()


def show_demo(url: str, root: str, env: Mapping[str, str]) -> bool:
    """Plan the demo's first cabin for real and show what its lead wants to see, through the API alone.

    False if that failed; what it printed says why.
    """
    command = [sys.executable, "-m", "config.show_demo", root, str(key_file(url))]
    done = subprocess.run(command, cwd=PROJECT, env=env, check=False)
    return done.returncode == 0


def main() -> int:
    """`make demo-data`: lay out the database of DATABASE_URL, or else the private one, and load the demo."""
    try:
        with database_at_hand(say, command="make demo-data") as url:
            check_reachable(url)
            env = os.environ | {"DATABASE_URL": url}
            manage("migrate", "--verbosity", "0", env=env, quiet=True)
            if not load_demo(url, env):
                say("There is a crew already; the demo was not loaded.")
                return 1
            say(f"The demo school is loaded. Its lead's access key, kept in {key_file(url)}:")
            say(key_file(url).read_text())
            return 0
    except (CannotRun, PrivateServerFailed) as reason:
        say(str(reason))
        return 1


if __name__ == "__main__":
    sys.exit(main())
