"""The web processes as others meet them: half-sent requests, odd bodies, kills, and an end in order."""

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from uuid import uuid4

import psutil
import psycopg
import pytest

from config.commands import manage
from tests.live import free_port, own_database

ROOT = Path(__file__).resolve().parent.parent.parent
pytestmark = pytest.mark.service
_UP_S = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Web:
    """A web service with a crew, and what starts another one like it."""

    database: str
    key: str
    env: dict[str, str]
    port: int

    def start(self, **env: str) -> "subprocess.Popen[bytes]":
        return self.start_at(f"127.0.0.1:{self.port}", **env)

    def start_at(self, bind: str, **env: str) -> "subprocess.Popen[bytes]":
        command = [sys.executable, "-m", "config.web", "--bind", bind]
        return subprocess.Popen(command, cwd=ROOT, env=self.env | env, process_group=0)

    @contextmanager
    def running(self, **env: str) -> "Iterator[subprocess.Popen[bytes]]":
        started = self.start(**env)
        try:
            until(lambda: self.status() == 200)
            yield started
        finally:
            started.terminate()
            started.wait(timeout=60)

    def ask(self, method: str, path: str, body: Any = None, **headers: str) -> http.client.HTTPResponse:
        asking = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        asking.request(method, path, body, self.headers | headers)
        answer = asking.getresponse()
        answer.said = answer.read()  # type: ignore[attr-defined]
        asking.close()
        return answer

    @property
    def headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.key}", "Content-Type": "application/json"}

    def status(self) -> int:
        """Of a question that needs the database, or 0 while nobody answers."""
        try:
            return self.ask("GET", "/api/v1/me").status
        except (OSError, http.client.HTTPException):
            return 0

    def raw(self, *parts: bytes) -> bytes:
        """What comes to a request written by hand, until nothing more does for three seconds."""
        with closing(socket.create_connection(("127.0.0.1", self.port), timeout=10)) as asking:
            for part in parts:
                asking.sendall(part)
                time.sleep(0.2)
            asking.settimeout(3)
            got = b""
            try:
                while part := asking.recv(65536):
                    got += part
            except TimeoutError:
                pass
        return got

    def head(self, *lines: str) -> bytes:
        own = [*lines, "Host: 127.0.0.1", *(f"{name}: {value}" for name, value in self.headers.items())]
        return "\r\n".join([*own, "", ""]).encode()

    def name_of_crew(self) -> str:
        return str(json.loads(self.ask("GET", "/api/v1/crew").said)["name"])  # type: ignore[attr-defined]

    def version(self) -> str:
        return self.ask("GET", "/api/v1/crew").headers["ETag"]


def until(true: Callable[[], bool], seconds: float = _UP_S) -> float:
    """Wait for it; the seconds that it took."""
    began = time.monotonic()
    while not true():
        assert time.monotonic() - began < seconds, f"not within {seconds} s"
        time.sleep(0.05)
    return time.monotonic() - began


@pytest.fixture(scope="module")
def web(postgres: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Web]:
    with own_database() as database:
        env = os.environ | {
            "DATABASE_URL": database, "ROUNDLAY_PRIVATE_DIR": str(tmp_path_factory.mktemp("web")),
            "DJANGO_SETTINGS_MODULE": "config.settings", "ROUNDLAY_LOG_LEVEL": "ERROR",
            "ROUNDLAY_REQUESTS_PER_MINUTE": "0", "ROUNDLAY_KEYLESS_REQUESTS_PER_MINUTE": "0",
            "PYTHONWARNINGS": "default",
        }  # fmt: skip
        manage("migrate", "--verbosity", "0", env=env, quiet=True)
        key = manage("found_crew", "First crew", "--lead", "Odda", env=env, quiet=True).strip()
        yield Web(database=database, key=key, env=env, port=free_port())


@pytest.fixture(scope="module")
def serving(web: Web) -> Iterator[Web]:
    own = replace(web, port=free_port())  # it goes on while others are started and killed
    with own.running():
        yield own


def half_sent(web: Web, at: int) -> socket.socket:
    """A request line, a header or a body that is never finished."""
    made = socket.create_connection(("127.0.0.1", web.port), timeout=10)
    made.sendall(
        (
            b"GET /api/v1/me HT",
            b"GET /api/v1/me HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Half: ",
            web.head("PATCH /api/v1/crew HTTP/1.1", "Content-Length: 500") + b'{"name": "',
        )[at % 3]
    )
    return made


def p95_s(web: Web) -> float:
    """Of 200 questions by two clients, the quietest of three rounds: others work on this machine."""

    def seconds(_: int) -> float:
        began = time.perf_counter()
        assert web.status() == 200
        return time.perf_counter() - began

    def once() -> float:
        with ThreadPoolExecutor(2) as two:
            return sorted(two.map(seconds, range(200)))[190]

    return min(once() for _ in range(3))


def test_200_half_sent_requests_at_most_double_what_others_wait(serving):
    alone = p95_s(serving)
    with ExitStack() as held:
        for at in range(200):
            held.enter_context(closing(half_sent(serving, at)))
        beside = p95_s(serving)

    assert beside <= 2 * alone, f"{alone * 1000:.1f} ms alone, {beside * 1000:.1f} ms beside them"


def test_a_body_in_chunks_is_taken_up_to_the_limit(serving):
    begin = serving.head(
        "PATCH /api/v1/crew HTTP/1.1", f"If-Match: {serving.version()}", "Transfer-Encoding: chunked"
    )

    taken = serving.raw(begin, b'10\r\n{"name": "Alder \r\n', b'5\r\nBend"\r\n1\r\n}\r\n0\r\n\r\n')
    large = serving.raw(begin, b"1500000\r\n" + b" " * 0x1500000 + b"\r\n0\r\n\r\n")

    assert taken.startswith(b"HTTP/1.1 200")
    assert serving.name_of_crew() == "Alder Bend"
    assert large.startswith(b"HTTP/1.1 413")


def test_who_waits_for_a_word_before_the_body_gets_it_or_the_refusal(serving):
    body = b'{"name": "Ash Bend"}'
    asked = "PATCH /api/v1/crew HTTP/1.1", f"If-Match: {serving.version()}", "Expect: 100-continue"

    good = serving.raw(serving.head(*asked, f"Content-Length: {len(body)}"), body)
    large = serving.raw(serving.head(*asked, "Content-Length: 99999999"))

    assert good.startswith(b"HTTP/1.1 100 Continue\r\n\r\nHTTP/1.1 200")
    assert large.startswith(b"HTTP/1.1 413")


@pytest.mark.parametrize(("more", "status"), [(0, 422), (1, 413), (10 * 1024**2, 413)])
def test_a_client_that_sends_too_much_reads_why(serving, more, status):
    size = 20 * 1024**2 + more
    body = b'{"name": "' + b"x" * (size - 12) + b'"}'

    answer = serving.ask("PATCH", "/api/v1/crew", body, **{"If-Match": serving.version()})

    assert answer.status == status
    assert json.loads(answer.said)["status"] == status


def test_head_is_answered_without_a_body_and_the_connection_goes_on(serving):
    asked = serving.head("HEAD /api/v1/me HTTP/1.1") + serving.head("GET /health/live HTTP/1.1")

    told = serving.raw(asked)

    assert told.count(b"\r\n\r\n") == 2, told
    head, live, body = told.split(b"\r\n\r\n")
    assert b"Content-Length: " in head
    assert live.startswith(b"HTTP/1.1 200")
    assert json.loads(body)["state"] == "live"


@pytest.mark.parametrize(
    "asked",
    [b"GET /api/v1/me HTTP/1.1\r\nHo st: x\r\n\r\n", (b"GET / HTTP/1.1\r\nX: " + b"a" * 65_536)[:65_536]],
    ids=["a header with a blank in its name", "too long"],
)
def test_what_is_no_request_is_refused_as_everything_else_is(serving, asked):
    told = serving.raw(asked)

    assert b" 400 " in told.splitlines()[0]
    assert json.loads(told.split(b"\r\n\r\n")[1])["type"] == "/problems/malformed-request"


@pytest.mark.parametrize(
    ("room", "body"),
    [
        ("yards", {"name": "Upper yard"}),
        ("members", {"name": "Wren", "role": "builder"}),
        ("keys", {"name": "Wren's phone", "role": "builder"}),
        ("webhooks", {"url": "https://bench.example/", "kinds": ["delivered"]}),
    ],
)
def test_the_same_put_many_times_at_once_is_done_once(serving, room, body):
    if room == "keys":
        body["member"] = json.loads(serving.ask("GET", "/api/v1/me").said)["member"]["id"]

    def put(address: str) -> int:
        return serving.ask("PUT", address, json.dumps(body)).status

    for _ in range(5):
        if room in ("yards", "members"):
            body["name"] = f"{body['name']}."
        address = f"/api/v1/{room}/{uuid4()}"
        with ThreadPoolExecutor(8) as eight:
            told = sorted(eight.map(put, [address] * 8))

        assert told == [200] * 7 + [201]


def processes(started: "subprocess.Popen[bytes]") -> set[int]:
    return {child.pid for child in psutil.Process(started.pid).children()}


def test_a_killed_process_is_replaced_and_its_counts_go_on(web):
    def counted() -> float:
        told = web.ask("GET", "/metrics").said.decode()  # type: ignore[attr-defined]
        wanted = 'roundlay_requests_total{method="GET",operation="show_me",status="200"} '
        return float(next(line for line in told.splitlines() if line.startswith(wanted)).split()[1])

    with web.running() as started:
        for _ in range(20):
            assert web.status() == 200
        before, first = counted(), processes(started)
        for pid in first:
            os.kill(pid, signal.SIGKILL)
        until(lambda: web.status() == 200, 10)
        after, others = counted(), processes(started)
        told = web.ask("GET", "/metrics").said.decode()

    assert after > before >= 20
    assert len(others) == len(first) >= 2
    assert not others & first
    assert 'roundlay_web_memory_bytes{process="0"}' in told


def test_a_killed_parent_leaves_nothing_on_the_port(web):
    with web.running() as started:
        left = processes(started)
        with closing(half_sent(web, 2)):
            started.kill()
            started.wait(timeout=10)
            began = time.monotonic()
            until(lambda: web.status() == 0, 5)
            with web.running():
                back = time.monotonic() - began
                assert web.status() == 200
            until(lambda: not any(psutil.pid_exists(pid) for pid in left), 15)

    assert back < 5 + started_in(web), f"{back:.1f} s"


def started_in(web: Web) -> float:
    """The seconds of a start with nothing before it."""
    began = time.monotonic()
    with web.running():
        return time.monotonic() - began


def test_told_to_stop_it_answers_what_is_under_way_and_takes_nothing_new(web):
    with ThreadPoolExecutor(1) as aside, web.running() as started:
        version = web.version()
        with psycopg.connect(web.database) as holding:
            holding.execute("SELECT 1 FROM crews_crew FOR UPDATE")
            asked = aside.submit(
                web.ask, "PATCH", "/api/v1/crew", b'{"name": "Birch Bend"}', **{"If-Match": version}
            )
            time.sleep(1)
            started.terminate()
            until(lambda: web.status() == 0, 5)
            assert not asked.done()
        answer = asked.result(timeout=30)
        ended = started.wait(timeout=30)

    assert answer.status == 200
    assert ended == 0


def test_a_process_that_a_request_grew_is_replaced_after_it_has_answered(web):
    with web.running(ROUNDLAY_WEB_MEMORY_MB="150") as started:
        first = processes(started)
        body = b'{"entries": [' + b"{}," * 3_000_000 + b"{}]}"
        answer = web.ask("POST", "/api/v1/batch", body)
        took = until(lambda: first - processes(started) != set(), 20)
        until(lambda: len(processes(started)) == len(first), 20)

    assert answer.status in (400, 422)
    assert took < 20


def test_it_listens_on_a_unix_socket_and_who_comes_through_it_has_no_address(web, tmp_path):
    path = tmp_path / "web.sock"
    started = web.start_at(f"unix:{path}")
    try:
        with closing(socket.socket(socket.AF_UNIX)) as asking:
            until(lambda: path.exists() and asking.connect_ex(str(path)) == 0)
            asking.sendall(b"GET /metrics HTTP/1.0\r\nHost: localhost\r\n\r\n")
            told = asking.makefile("rb").read()
    finally:
        started.terminate()
        ended = started.wait(timeout=30)

    assert told.startswith(b"HTTP/1.0 200"), "as from this machine"
    assert ended == 0
