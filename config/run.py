"""What `make run` does: database, demo, web and worker, the main job once; then serves until Ctrl-C."""

import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

from config.database import PRIVATE, PROJECT, PrivateServerFailed, private_place
from config.keeping import KeptDatabase, KeptProcess

HOST = "127.0.0.1"
KEY_FILE = PRIVATE / "demo-key"
_WEB_SECONDS = 40


class CannotRun(RuntimeError):
    """The service cannot be started; the message says why and what to do."""


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def check_port(port: int) -> None:
    """Refuse a port that something else listens on, before anything is started."""
    with socket.socket() as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((HOST, port))
        except OSError as taken:
            raise CannotRun(f"Port {port} is taken. Choose another one: make run PORT={port + 1}") from taken


def manage(*arguments: str, env: dict[str, str], quiet: bool = False) -> str:
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


def load_demo(env: dict[str, str]) -> None:
    """Load the demo into an empty database and keep its key where only we can read it."""
    told = manage("load_demo", env=env, quiet=True)
    for line in told.splitlines():
        word, _, value = line.partition(": ")
        if word == "key":
            KEY_FILE.unlink(missing_ok=True)
            KEY_FILE.touch(mode=0o600)
            KEY_FILE.write_text(value.strip())
        else:
            say(f"   {line}")


def service_commands(port: int) -> dict[str, list[str]]:
    """What the service consists of: the command of each process, by what it does."""
    python = sys.executable
    web = [python, "-m", "gunicorn", "config.wsgi", "--bind", f"{HOST}:{port}", "--workers", "2"]
    web += ["--threads", "4", "--worker-tmp-dir", "/tmp", "--log-level", "warning", "--no-control-socket"]
    worker = [python, "manage.py", "procrastinate", "worker", "--shutdown-graceful-timeout", "1"]
    # Short tasks have a worker of their own, so that they do not wait behind the planner.
    planner = [*worker, "--name", "planner", "--queues", "planning", "--concurrency", "2"]
    errands = [*worker, "--name", "errands", "--queues", "errands", "--concurrency", "4"]
    return {"web": web, "planner": planner, "errands": errands}


@contextmanager
def running_service(port: int, env: dict[str, str]) -> Iterator[list[KeptProcess]]:
    """Web and workers, running while the block runs."""
    with tempfile.TemporaryDirectory(prefix="roundlay-metrics-") as shared_counters:
        web_env = env | {"PROMETHEUS_MULTIPROC_DIR": shared_counters}
        kept = [
            KeptProcess(name, command, env=web_env if name == "web" else env)
            for name, command in service_commands(port).items()
        ]
        try:
            await_web(port, kept[0])
            yield kept
        finally:
            for one in reversed(kept):
                one.stop(seconds=10)


def await_web(port: int, web: KeptProcess) -> None:
    """Wait until the API answers; without a key that is a 401."""
    for _ in range(_WEB_SECONDS * 5):
        try:
            urllib.request.urlopen(f"http://{HOST}:{port}/api/v1/me", timeout=5).close()
        except urllib.error.HTTPError as answer:
            if answer.code == 401:
                return
        except OSError:
            pass
        if web.ended:
            break
        time.sleep(0.2)
    raise CannotRun("The web process did not come up; what it printed above says why.")


def run(port: int, *, once: bool) -> None:
    check_port(port)
    env = dict(os.environ) | {"DJANGO_SETTINGS_MODULE": "config.settings", "PYTHONUNBUFFERED": "1"}
    if env.get("ROUNDLAY_LOG_FORMAT") != "json":
        env.setdefault("ROUNDLAY_LOG_LEVEL", "WARNING")  # what is shown here is for a person
    database = None
    with ExitStack() as stack:
        if env.get("DATABASE_URL"):
            say("-> Database: the one in DATABASE_URL")
        else:
            say("-> Database: starting the private PostgreSQL")
            database = KeptDatabase(private_place())
            stack.callback(database.stop)
            started, place = database.start(), database.place
            say(f"   {'started' if started else 'joined the one running'}; data in {place.data}")
            env["DATABASE_URL"] = place.url()
        say("-> Migrations")
        manage("migrate", "--verbosity", "1", env=env, quiet=True)
        say("-> Demo")
        load_demo(env)
        say("-> Web and worker")
        kept = stack.enter_context(running_service(port, env))
        main_job(port, env)
        addresses(port)
        if not once:
            serve(kept, database)


def main_job(port: int, env: dict[str, str]) -> None:
    """Plan the demo's first cabin for real and show what its lead wants to see, through the API alone."""
    if not KEY_FILE.exists():
        say("-> This database has crews of its own; nothing is planned by itself.")
        return
    say("-> The main job: planning the demo's first cabin")
    done = subprocess.run(
        [sys.executable, "-m", "config.show_demo", f"http://{HOST}:{port}", str(KEY_FILE)],
        cwd=PROJECT, env=env, check=False,
    )  # fmt: skip
    if done.returncode:
        raise CannotRun("The main job failed; what it printed above says why.")


def addresses(port: int) -> None:
    say("")
    say(f"API:               http://{HOST}:{port}/api/v1/")
    say(f"Interactive docs:  http://{HOST}:{port}/api/docs")
    say(f"OpenAPI schema:    http://{HOST}:{port}/api/openapi.yaml")
    if KEY_FILE.exists():
        say(f"Access key (demo): {KEY_FILE.read_text()}")


def serve(kept: list[KeptProcess], database: KeptDatabase | None) -> None:
    """Until Ctrl-C; whatever ends by itself meanwhile is started again."""
    say("\nServing. Ctrl-C stops everything.")
    asked = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: asked.set())
    while not asked.wait(1):
        if database is not None and database.mend():
            say("PostgreSQL ended and was started again.")
        for one in kept:
            if one.mend():
                say(f"The process {one.name} ended and was started again.")
    say("\nStopping.")


def main() -> int:
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        port = int(os.environ.get("PORT") or 8000)
        run(port, once=os.environ.get("ONCE") == "1")
    except ValueError:
        say(f"PORT is a number, not {json.dumps(os.environ.get('PORT'))}.")
        return 2
    except (CannotRun, PrivateServerFailed) as reason:
        say(f"\n{reason}")
        return 1
    except KeyboardInterrupt:
        say("\nStopped.")
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main())
