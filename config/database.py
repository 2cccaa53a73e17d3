"""The private PostgreSQL: where it lies, how it is started, joined and stopped.

Used when DATABASE_URL is not given. The server listens on a Unix socket only, in a short folder that
nobody else may enter (a socket's path may hold about 100 bytes, whatever the length of the clone's path).
PostgreSQL refuses to run as root: then an unprivileged user runs it, from a copy of the binaries that the
user can read, and owns nothing but the data and socket folders.
"""

import contextlib
import os
import pwd
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg

from config.children import end_with_parent, stop_child
from config.home import (
    HomeUnclear,
    PrivateServerFailed,
    as_root,
    database_home,
    id_of,
    make_folder,
    settle,
)
from config.postgres_files import binaries
from config.server_lock import ServerLock
from config.switches import SwitchRefused, is_on, seconds, secret, whole_number

DATABASE, OWNER = "roundlay", "roundlay"
_MOST_SECONDS = 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class ServerPlace:
    """Where one private server lives: its data and its socket folder."""

    data: Path
    sockets: Path

    def url(self, database: str = DATABASE) -> str:
        return f"postgresql://{OWNER}@/{database}?host={self.sockets}"


def private_place() -> ServerPlace:
    """Where this clone's lasting server lives."""
    home = database_home()
    return ServerPlace(
        data=home / "postgres", sockets=Path("/tmp") / f"roundlay-{os.geteuid()}-{id_of(home)}"
    )


def database_settings() -> dict[str, Any]:
    """Django's settings for the database: DATABASE_URL (a PostgreSQL URL or conninfo) or the private one."""
    try:
        given = psycopg.conninfo.conninfo_to_dict(secret("DATABASE_URL") or private_place().url())
    except psycopg.ProgrammingError as fault:
        raise SwitchRefused(f"DATABASE_URL is no address of a database: {fault}".strip()) from fault
    pool = {
        "min_size": 1,
        "max_size": whole_number("ROUNDLAY_DATABASE_POOL", 8, least=1, most=1000),
        "timeout": seconds("ROUNDLAY_DATABASE_WAIT_SECONDS", 5, most=_MOST_SECONDS),
    }
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": given.pop("dbname", DATABASE),
        "USER": given.pop("user", ""),
        "PASSWORD": given.pop("password", ""),
        "HOST": given.pop("host", ""),
        "PORT": given.pop("port", ""),
        # A connection that the server ended is found out before it is used, not by a request that fails.
        "CONN_HEALTH_CHECKS": True,
        # With a threshold, whichever, crews/api/prepared.py may prepare; Django's own cursors never do.
        "OPTIONS": {"pool": pool, "connect_timeout": 5, "prepare_threshold": 5, **given},
        "TEST": {"TEMPLATE": "template0"},
    }


def _runner() -> pwd.struct_passwd | None:
    """Who runs PostgreSQL: ourselves, or for root an unprivileged user."""
    if not as_root():
        return None
    for name in (os.environ.get("ROUNDLAY_POSTGRES_USER"), "postgres", "nobody"):
        with contextlib.suppress(KeyError):
            if name:
                return pwd.getpwnam(name)
    raise PrivateServerFailed(
        "Found no unprivileged user to run PostgreSQL; name one in ROUNDLAY_POSTGRES_USER."
    )


def _become(runner: pwd.struct_passwd | None, parent: int) -> None:
    """In the child before it starts: drop root's rights, and end (fast shutdown) when the parent ends."""
    if runner:
        os.setgroups([])
        os.setgid(runner.pw_gid)
        os.setuid(runner.pw_uid)
    os.setpgid(0, 0)  # Ctrl-C at the terminal is for the launcher, which stops us in order
    end_with_parent(parent, signal.SIGINT)  # after the change of user, which forgets such a wish


def _own(folder: Path, runner: pwd.struct_passwd | None) -> None:
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if folder.is_symlink() or folder.stat().st_uid not in {os.geteuid(), runner.pw_uid if runner else -1}:
        raise PrivateServerFailed(f"{folder} belongs to somebody else.")
    folder.chmod(0o700)
    if runner:
        os.chown(folder, runner.pw_uid, runner.pw_gid)


def answers(place: ServerPlace) -> bool:
    """True if a server takes connections there: tried, not guessed from files."""
    with (
        contextlib.suppress(psycopg.OperationalError),
        psycopg.connect(place.url("postgres"), connect_timeout=3),
    ):
        return True
    return False


def _lay_out(place: ServerPlace, runner: pwd.struct_passwd | None, *, lasting: bool) -> None:
    """initdb, once."""
    if (place.data / "PG_VERSION").exists():
        return
    command = [str(binaries() / "initdb"), "-D", str(place.data), "-U", OWNER, "--auth=trust", "-E", "UTF8"]
    command += ["--locale=C.UTF-8"] if lasting else ["--locale=C.UTF-8", "--no-sync"]
    parent = os.getpid()
    done = subprocess.run(
        command,
        capture_output=True,
        text=True,
        cwd="/",
        preexec_fn=lambda: _become(runner, parent),
        check=False,
    )
    if done.returncode:
        raise PrivateServerFailed(f"initdb failed: {done.stderr.strip() or done.stdout.strip()}")


def _launch(
    place: ServerPlace, runner: pwd.struct_passwd | None, lock: int, *, lasting: bool
) -> subprocess.Popen[bytes]:
    """Start the server; it and all its processes hold `lock` until they are gone."""
    options = {
        "listen_addresses": "",
        "unix_socket_directories": str(place.sockets),
        "max_connections": "200",
    }
    if not lasting:
        options |= {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}
    command = [str(binaries() / "postgres"), "-D", str(place.data)]
    command += [part for name, value in options.items() for part in ("-c", f"{name}={value}")]
    parent = os.getpid()
    try:
        with (place.sockets / "server.log").open("ab") as log:
            return subprocess.Popen(
                command, cwd="/", stdin=subprocess.DEVNULL, stdout=log, stderr=log, pass_fds=[lock],
                preexec_fn=lambda: _become(runner, parent),
            )  # fmt: skip
    finally:
        os.close(lock)


def _await(place: ServerPlace, process: subprocess.Popen[bytes], seconds: float = 60) -> None:
    for _ in range(int(seconds * 10)):
        if answers(place):
            return
        if process.poll() is not None:
            break
        time.sleep(0.1)
    log = (place.sockets / "server.log").read_text(errors="replace")[-2000:]
    raise PrivateServerFailed(f"PostgreSQL did not start. The end of its log:\n{log}")


def _make_database(place: ServerPlace) -> None:
    making = f"CREATE DATABASE {DATABASE} ENCODING 'UTF8' LOCALE 'C.UTF-8' TEMPLATE template0"
    with (
        psycopg.connect(place.url("postgres"), autocommit=True) as connection,
        contextlib.suppress(psycopg.errors.DuplicateDatabase),
    ):
        connection.execute(making)


Say = Callable[[str], None]


@contextlib.contextmanager
def running_server(
    place: ServerPlace, *, lasting: bool = True, lock: ServerLock | None = None, shared: bool = False
) -> Iterator[subprocess.Popen[bytes] | None]:
    """The server of `place`, running while the block runs; yields its process, None if not started here.

    A server that another process shares is joined and left alone; one that is not shared is waited for, and
    so is one that is still going down. `shared`: others may join ours, until `lock` lets go. `lasting=False`
    trades safety against power loss for speed: for tests only.
    """
    runner = _runner()
    _own(place.sockets, runner)
    lock = lock or ServerLock(place.sockets)
    inherited = lock.take(join=lambda: answers(place))
    if inherited is None:
        yield None
        return
    try:
        with _started(place, runner, inherited, lasting=lasting) as process:
            if shared:
                lock.share()
            try:
                yield process
            finally:
                lock.let_go()  # before it stops: from now on nobody joins
    finally:
        lock.let_go()


@contextlib.contextmanager
def _started(
    place: ServerPlace, runner: pwd.struct_passwd | None, lock: int, *, lasting: bool
) -> Iterator[subprocess.Popen[bytes]]:
    try:
        make_folder(place.data.parent)
        _own(place.data, runner)
        _lay_out(place, runner, lasting=lasting)
    except BaseException:
        os.close(lock)
        raise
    process = _launch(place, runner, lock, lasting=lasting)
    try:
        _await(place, process)
        _make_database(place)
        yield process
    finally:
        stop_child(process, how=signal.SIGINT, seconds=30)  # fast shutdown


@contextlib.contextmanager
def database_at_hand(say: Say, *, command: str) -> Iterator[str]:
    """For a command: the address of DATABASE_URL's database, else of the private one, started if need be."""
    if url := secret("DATABASE_URL"):
        yield url
        return
    settle_in(say, command=command)
    place = private_place()
    with running_server(place, lock=ServerLock(place.sockets, say=say)):
        yield place.url()


def settle_in(say: Say, *, command: str) -> None:
    """See to it that this clone uses its own data; a moved one asks, or reads MOVED. Raises HomeUnclear."""

    def ask(question: str) -> bool:
        if os.environ.get("MOVED"):
            return is_on("MOVED")
        if sys.stdin.isatty():
            return input(f"{question} [y/n] ").strip().lower() in ("y", "yes")
        raise HomeUnclear(f"{question} {command} MOVED=1 does that, MOVED=0 leaves them and begins anew.")

    settle(say=say, ask=ask, is_running=_runs_from)


def _runs_from(home: Path) -> bool:
    """Whether a PostgreSQL runs from the data there; the file of one that crashed says nothing."""
    try:
        pid = (home / "postgres" / "postmaster.pid").read_text().split()[0]
        return Path(f"/proc/{pid}/comm").read_text().strip() == "postgres"
    except (OSError, IndexError):
        return False
