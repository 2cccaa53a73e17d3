"""What `make run` does: database, demo, web and worker, the main job once; then serves until Ctrl-C."""

import errno
import http.client
import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager

from config.commands import CannotRun, check_reachable, has_crew, manage, say
from config.database import private_place, settle_in
from config.demo import FOUNDING, demo_key, key_file, load_demo, show_demo
from config.home import PrivateServerFailed
from config.kernels import Kernels, compiling
from config.supervised import SupervisedDatabase, SupervisedProcess
from config.switches import SwitchRefused, is_on, secret
from config.welcome import LOOPBACK as HOST
from config.welcome import Door, door, hosts, welcome

_WEB_SECONDS = 300


def check_port(door: Door) -> None:
    """Refuse a port that something else listens on, before anything is started."""
    try:
        family = socket.getaddrinfo(door.bind, door.port, type=socket.SOCK_STREAM)[0][0]
        with socket.socket(family) as trial:
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            trial.bind((door.bind, door.port))
    except PermissionError as refused:
        raise CannotRun(
            f"Port {door.port} is for root alone. Choose another: make run PORT=8000"
        ) from refused
    except OSError as fault:
        if fault.errno == errno.EADDRINUSE:
            free = door.port + 1 if door.port < 65_535 else 8000
            raise CannotRun(f"Port {door.port} is taken. Choose another one: make run PORT={free}") from fault
        raise CannotRun(f"{door.bind} is no address of this machine: {fault.strerror}.") from fault


def service_commands(port: int, bound: str = "") -> dict[str, list[str]]:
    """What the service consists of: the command of each process, by what it does."""
    python = sys.executable
    web = [python, "-m", "config.web", "--bind", bound or f"{HOST}:{port}", "--grace", "8"]
    worker = [python, "manage.py", "procrastinate", "worker", "--shutdown-graceful-timeout", "1"]
    # Short tasks have a worker of their own, so that they do not wait behind the planner.
    planner = [*worker, "--name", "planner", "--queues", "planning", "--concurrency", "2"]
    default_queue = [*worker, "--name", "default", "--queues", "default", "--concurrency", "4"]
    return {"web": web, "planner": planner, "default": default_queue}


@contextmanager
def running_service(
    port: int, env: dict[str, str], *, own: Door | None = None, leaving: Callable[[], None] = lambda: None
) -> Iterator[list[SupervisedProcess]]:
    """Web and workers, running while the block runs; `leaving` is called before they are stopped."""
    own = own or Door(bind=HOST, port=port)
    commands = service_commands(port, own.bound)
    kept = [SupervisedProcess(name, command, env=env) for name, command in commands.items()]
    try:
        await_web(own, kept[0])
        yield kept
    finally:
        leaving()
        for one in reversed(kept):
            one.stop(seconds=10)


def await_web(own: Door, web: SupervisedProcess) -> None:
    """Wait until the API answers, be it that it wants a key, HTTPS, or to be asked by another name."""
    for _ in range(_WEB_SECONDS * 5):
        asking = http.client.HTTPConnection(own.near, own.port, timeout=5)
        try:
            asking.request("GET", "/api/v1/me")
            if asking.getresponse().status < 500:
                return
        except (OSError, http.client.HTTPException):
            pass
        finally:
            asking.close()
        if web.ended:
            break
        time.sleep(0.2)
    raise CannotRun("The web process did not come up; what it printed above says why.")


def run(own: Door, *, once: bool) -> int:
    """Start everything, show the demo, and serve unless `once`; the status to end with."""
    env = dict(os.environ) | {"DJANGO_SETTINGS_MODULE": "config.settings", "PYTHONUNBUFFERED": "1"}
    if env.get("ROUNDLAY_LOG_FORMAT") != "json":
        env.setdefault("ROUNDLAY_LOG_LEVEL", "WARNING")  # what is shown here is for a person
    if not env.get("ROUNDLAY_ALLOWED_HOSTS"):
        env["ROUNDLAY_ALLOWED_HOSTS"] = hosts(own)
    with ExitStack() as stack:
        database = _database(env)
        check_port(own)
        say("-> Compiling the planner's kernels beside the rest (at the first start, about a minute)")
        kernels = stack.enter_context(compiling(env))
        if database is not None:
            say("-> Database: starting the private PostgreSQL (at the first start, some seconds)")
            stack.callback(database.stop)
            started, place = database.start(), database.place
            say(f"   {'started' if started else 'joined the one running'}; data in {place.data}")
            env["DATABASE_URL"] = place.url()
        url = env["DATABASE_URL"]
        say("-> Migrations (at the first start, some ten seconds)")
        manage("migrate", "--verbosity", "1", env=env, quiet=True)
        _demo(url, env, private=database is not None)
        say("-> Web and workers")
        leaving = database.leave if database is not None else lambda: None
        kept = stack.enter_context(running_service(own.port, env, own=own, leaving=leaving))
        shown = main_job(own, url, env, kernels)
        welcome(own, url, env, staying=not once)
        if not once:
            serve(kept, database)
        return 0 if shown or not once else 1


def _database(env: dict[str, str]) -> SupervisedDatabase | None:
    """The private database, not started yet but free to be started; None if DATABASE_URL names another."""
    if given := secret("DATABASE_URL"):
        env["DATABASE_URL"] = given
        env.pop("DATABASE_URL_FILE", None)
        say("-> Database: the one in DATABASE_URL")
        check_reachable(env["DATABASE_URL"])
        return None
    settle_in(say, command="make run")
    database = SupervisedDatabase(private_place(), say=say)
    database.await_earlier()  # before the port is looked at, which it may hold still
    return database


def _demo(url: str, env: dict[str, str], *, private: bool) -> None:
    """The demo comes by itself into an empty private database, and into no other."""
    if private:
        say("-> Demo (at the first start, some ten seconds)")
        load_demo(url, env)
    elif not has_crew(url):
        say(FOUNDING)


def main_job(own: Door, url: str, env: dict[str, str], kernels: Kernels) -> bool:
    """Show the demo, if the database has one; False if that failed, which is no reason not to serve."""
    root = own.root(own.near)
    if not key_file(url).exists():
        if has_crew(url):
            say("-> This database has crews of its own; nothing is planned by itself.")
        return True
    if not demo_key(url, root):
        say("-> The demo's key that is kept here opens nothing (any more); nothing is planned by itself.")
        return True
    say("-> The main job: planning the demo's first cabin (about 15 s)")
    kernels.wait()
    if show_demo(url, root, env):
        return True
    say("   The demo could not be shown; the line above says why.")
    return False


def serve(kept: list[SupervisedProcess], database: SupervisedDatabase | None) -> None:
    """Until Ctrl-C; whatever ends by itself meanwhile is started again."""
    asked = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: asked.set())
    say("\nServing. Ctrl-C stops everything.")
    while not asked.wait(1):
        if database is not None and database.mend():
            say("PostgreSQL ended and was started again.")
        for one in kept:
            if one.mend():
                say(f"The process {one.name} ended and was started again.")
    say("\nStopping.")


def check_settings() -> None:
    """Raises SwitchRefused if a setting of the service cannot be meant, before anything is started."""
    import config.settings  # noqa: F401 - reads them all


def main() -> int:
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        check_settings()
        return run(door(), once=is_on("ONCE"))
    except (CannotRun, PrivateServerFailed, SwitchRefused) as reason:
        say(f"\n{reason}")
        return 1
    except KeyboardInterrupt:
        say("\nStopped.")
        return 130


if __name__ == "__main__":
    sys.exit(main())
