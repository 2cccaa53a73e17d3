"""The service under torture: PostgreSQL, web and both workers, each killed and started alone."""

import os
import secrets
import shutil
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from signal import SIGKILL
from typing import IO, Any

import psutil
import psycopg

from config.database import ServerPlace, answers
from config.run import HOST, manage, service_commands
from config.supervised import SupervisedDatabase, SupervisedProcess

_WAIT_S = 90
_STEP_S = 0.1


class NotBack(RuntimeError):
    """The service did not come back after a kill."""


class Service:
    """Its processes by name; `key` opens its first crew to the lead."""

    def __init__(self, place: ServerPlace, port: int, told: IO[bytes]) -> None:
        self.place, self.port, self.key, self.told = place, port, "", told
        self.env = dict(os.environ) | {
            "DATABASE_URL": place.url(),
            "DJANGO_SETTINGS_MODULE": "config.settings",
            "ROUNDLAY_SECRET_KEY": secrets.token_urlsafe(32),
            "ROUNDLAY_WEBHOOKS_TO_PRIVATE": "1",
            "ROUNDLAY_REQUESTS_PER_MINUTE": "0",
            "ROUNDLAY_KEYLESS_REQUESTS_PER_MINUTE": "0",
        }
        self.ended_by_themselves = 0
        # Lasting, as `make run` has it: what it says is stored must not lie in its memory alone.
        self._database, self._kept = SupervisedDatabase(place), dict[str, SupervisedProcess]()

    def begin(self) -> None:
        self._database.start()
        manage("migrate", "--verbosity", "0", env=self.env, quiet=True)
        told = manage("found_crew", "First crew", "--lead", "Odda", env=self.env, quiet=True)
        self.key = told.strip()
        for name, command in service_commands(self.port).items():
            self._kept[name] = SupervisedProcess(name, command, env=self.env, told=self.told)
        self.await_ready()

    def end(self) -> None:
        for one in self._kept.values():
            one.stop(seconds=10)
        self._database.stop()

    def sql(self) -> psycopg.Connection[Any]:
        """A connection of our own to its database."""
        return psycopg.connect(self.place.url(), autocommit=True)

    def process(self, name: str) -> psutil.Process:
        return psutil.Process(self._kept[name].pid)

    def postmaster(self) -> psutil.Process:
        return psutil.Process(int((self.place.data / "postmaster.pid").read_text().split()[0]))

    def start_database(self) -> None:
        """Start PostgreSQL, which recovers by itself from what a kill left."""
        await_true(self._database.mend, "PostgreSQL")

    def await_database(self) -> None:
        await_true(lambda: answers(self.place), "PostgreSQL")

    def mend(self, killed: str) -> None:
        """Start again what ended, as `make run` does, and count what was not killed."""
        for name, one in self._kept.items():
            if one.mend(rest_s=0) and name != killed:
                self.ended_by_themselves += 1

    def await_ready(self) -> None:
        await_true(self._ready, "The service")

    def _ready(self) -> bool:
        try:
            with urllib.request.urlopen(f"http://{HOST}:{self.port}/health/ready", timeout=5) as answer:
                return bool(answer.status == 200)
        except OSError:
            return False


def await_true(said: Callable[[], bool], what: str) -> None:
    for _ in range(int(_WAIT_S / _STEP_S)):
        if said():
            return
        time.sleep(_STEP_S)
    raise NotBack(f"{what} did not come back within {_WAIT_S} seconds.")


def kill(processes: list[psutil.Process]) -> None:
    """SIGKILL to each, and wait until they are gone."""
    for one in processes:
        try:
            one.send_signal(SIGKILL)
        except psutil.NoSuchProcess:
            continue
    psutil.wait_procs(processes, timeout=_WAIT_S)


@contextmanager
def tortured_service(port: int) -> Iterator[Service]:
    """A running service with a database of its own; both are gone afterwards."""
    name = f"/tmp/roundlay-torture-{os.getpid()}"
    place = ServerPlace(data=Path(f"{name}-data"), sockets=Path(name))
    with Path(f"{name}.log").open("wb") as told:
        service = Service(place, port, told)
        try:
            service.begin()
            yield service
        finally:
            service.end()
            shutil.rmtree(place.sockets, ignore_errors=True)
            shutil.rmtree(place.data, ignore_errors=True)
