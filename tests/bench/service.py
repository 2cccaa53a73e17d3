"""The whole service for a measurement: a throwaway PostgreSQL and web processes as `make run` starts them."""

import http.client
import json
import os
import shutil
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psutil
import psycopg

from config.database import ServerPlace, running_server
from config.run import HOST, running_service


class WebRefused(RuntimeError):
    """The service refused a request that the measurement relies on."""


@dataclass(slots=True, kw_only=True)
class Service:
    """Where the service answers, and a connection of our own to its database."""

    port: int
    web_pid: int
    sql: psycopg.Connection[Any]

    def web_processes(self) -> list[psutil.Process]:
        """The processes that answer requests."""
        return psutil.Process(self.web_pid).children()

    def web_mb(self) -> float:
        """Memory of the largest web process."""
        return max(process.memory_info().rss for process in self.web_processes()) / 1e6


class Caller:
    """One client with a kept connection; answers are read whole, the bytes counted where they are many."""

    def __init__(self, port: int, key: str) -> None:
        self._web = http.client.HTTPConnection(HOST, port, timeout=300)
        self._key = key

    def ask(self, method: str, address: str, body: Any = None, **headers: str) -> bytes:
        """The answer's bytes. Raises WebRefused unless it is a 2xx."""
        sent = body if isinstance(body, bytes | None) else json.dumps(body).encode()
        kind = headers.pop("media", "application/json")
        given = {"Authorization": f"Bearer {self._key}", "Content-Type": kind, **headers}
        path = address if address.startswith("/") else f"/api/v1/{address}"
        for attempt in (1, 2):
            try:
                self._web.request(method, path, sent, given)
                answer = self._web.getresponse()
                break
            except (http.client.RemoteDisconnected, ConnectionError):
                self._web.close()  # an idle connection was closed on the other side
                if attempt == 2:
                    raise
        read = answer.read()
        if answer.status >= 300:
            raise WebRefused(f"{method} {path}: {answer.status} {read[:600].decode(errors='replace')}")
        return read

    def json(self, method: str, address: str, body: Any = None, **headers: str) -> Any:
        return json.loads(self.ask(method, address, body, **headers))

    def count(self, address: str) -> int:
        """How many bytes an answer has, read in parts and thrown away."""
        self._web.request("GET", f"/api/v1/{address}", headers={"Authorization": f"Bearer {self._key}"})
        answer = self._web.getresponse()
        if answer.status >= 300:
            raise WebRefused(f"{address}: {answer.status}")
        return sum(len(part) for part in iter(lambda: answer.read(1 << 16), b""))


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind((HOST, 0))
        return int(trial.getsockname()[1])


@contextmanager
def throwaway_database(*, lasting: bool = False) -> Iterator[str]:
    """A PostgreSQL that is gone afterwards; its address. DATABASE_URL names it meanwhile.

    `lasting`: it waits for its disk as one in use does.
    """
    name = f"/tmp/roundlay-bench-{os.getpid()}"
    place = ServerPlace(data=Path(f"{name}-data"), sockets=Path(name))
    os.environ["DATABASE_URL"] = place.url()
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    os.environ["ROUNDLAY_REQUESTS_PER_MINUTE"] = "0"
    os.environ["ROUNDLAY_LOG_LEVEL"] = "WARNING"
    try:
        with running_server(place, lasting=lasting):
            yield place.url()
    finally:
        shutil.rmtree(place.sockets, ignore_errors=True)
        shutil.rmtree(place.data, ignore_errors=True)


@contextmanager
def whole_service(url: str) -> Iterator[Service]:
    """Web and workers on a migrated database."""
    port = free_port()
    with (
        running_service(port, dict(os.environ)) as children,
        psycopg.connect(url, autocommit=True) as sql,
    ):
        sql.execute("SET timezone TO 'UTC'")
        yield Service(port=port, web_pid=children[0].pid, sql=sql)
