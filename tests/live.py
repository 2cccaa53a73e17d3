"""A pytest plugin: the service as processes of its own, for those who use it from outside.

One for each pytest process, with a database of its own beside the tests' one. Tests part by crew: each
founds one by HTTP, so that none sees what another wrote, and nothing is cleared between them.
"""

import json
import os
import socket
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from config.commands import manage
from config.run import running_service

# A name under which a browser that is told so finds the service as other machines do, without HTTPS.
IN_THE_NETWORK = "shed.example"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What the service answered; `body` is its JSON, or its text."""

    status: int
    body: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Someone with a key, who asks the live service by HTTP."""

    root: str
    key: str

    def ask(self, method: str, address: str, body: Any = None, **headers: str) -> Answer:
        """The answer, whatever its status; a text is sent as CSV."""
        kind = "text/csv" if isinstance(body, str) else "application/json"
        data = None if body is None else body if isinstance(body, str) else json.dumps(body)
        request = urllib.request.Request(
            f"{self.root}/api/v1/{address}", method=method, data=data.encode() if data else None,
            headers={"Authorization": f"Bearer {self.key}", "Content-Type": kind, **headers},
        )  # fmt: skip
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return _read(answer)
        except urllib.error.HTTPError as refusal:
            with closing(refusal):
                return _read(refusal)

    def must(self, method: str, address: str, body: Any = None, **headers: str) -> Any:
        """The body of an answer that is no refusal."""
        answer = self.ask(method, address, body, **headers)
        assert answer.status < 400, f"{method} {address}: {answer.status} {answer.body}"
        return answer.body

    def get(self, address: str) -> Any:
        return self.must("GET", address)

    def put(self, address: str, body: Any) -> Any:
        return self.must("PUT", address, body)

    def post(self, address: str, body: Any = None) -> Any:
        return self.must("POST", address, body)


def _read(answer: Any) -> Answer:
    text = answer.read().decode()
    kind = answer.headers.get("Content-Type", "")
    return Answer(status=answer.status, body=json.loads(text) if "json" in kind else text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Live:
    """The running service: its root, the key of its first lead, and an origin that its CORS list names."""

    root: str
    key: str
    other_origin: str
    env: dict[str, str]

    def crew(self, name: str = "Alder Bend crew", **fields: Any) -> Person:
        """A new crew; its lead."""
        founder = Person(root=self.root, key=self.key)
        return Person(root=self.root, key=founder.put(f"crews/{uuid4()}", {"name": name, **fields})["key"])


def joined(lead: Person, name: str, role: str) -> Person:
    """Someone new in the lead's crew."""
    member = str(uuid4())
    lead.put(f"members/{member}", {"name": name, "role": role})
    made = lead.put(f"keys/{uuid4()}", {"member": member, "name": f"{name}'s phone", "role": role})
    return Person(root=lead.root, key=made["secret"])


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


@contextmanager
def own_database() -> Iterator[str]:
    """The address of an empty database beside the tests' own, dropped afterwards."""
    given = conninfo_to_dict(os.environ["DATABASE_URL"])
    name = f"roundlay_live_{uuid4().hex}"
    with psycopg.connect(make_conninfo(**given | {"dbname": "postgres"}), autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name} ENCODING 'UTF8' TEMPLATE template0")
        try:
            yield make_conninfo(**given | {"dbname": name})
        finally:
            server.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="session")
def live(postgres: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    private: Path = tmp_path_factory.mktemp("live")
    port, other = free_port(), f"http://127.0.0.1:{free_port()}"
    with own_database() as database:
        env = os.environ | {
            "DATABASE_URL": database, "ROUNDLAY_PRIVATE_DIR": str(private), "ROUNDLAY_CORS_ORIGINS": other,
            "DJANGO_SETTINGS_MODULE": "config.settings", "ROUNDLAY_LOG_LEVEL": "WARNING",
            "ROUNDLAY_ALLOWED_HOSTS": f"127.0.0.1,{IN_THE_NETWORK}",
            "PYTHONWARNINGS": "default",
        }  # fmt: skip
        manage("migrate", "--verbosity", "0", env=env, quiet=True)
        told = manage("found_crew", "First crew", "--lead", "Odda", env=env, quiet=True)
        with running_service(port, env):
            yield Live(root=f"http://127.0.0.1:{port}", key=told.strip(), other_origin=other, env=env)
