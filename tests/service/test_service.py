"""The whole service as processes: the two commands as a new user meets them, and README's first hour."""

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from config.home import ROOT_HOME, as_root, id_of
from config.welcome import qr

ROOT = Path(__file__).resolve().parent.parent.parent
START_SECONDS = 450  # a machine with much else to do; what fails ends by itself


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return trial.getsockname()[1]


class Service:
    """`make run`'s process with a private folder of its own."""

    def __init__(self, private: Path) -> None:
        self.private, self.port = private, free_port()
        self.env = {k: v for k, v in os.environ.items() if k not in ("DATABASE_URL", "ROUNDLAY_THROWAWAY")}
        self.env |= {
            "ROUNDLAY_PRIVATE_DIR": str(private),
            "PORT": str(self.port),
            "PYTHONWARNINGS": "default",
        }

    def once(self, **env: str) -> "subprocess.CompletedProcess[str]":
        return subprocess.run(
            [sys.executable, "-m", "config.run"], cwd=ROOT, env=self.env | {"ONCE": "1"} | env,
            capture_output=True, text=True, timeout=START_SECONDS, check=False,
        )  # fmt: skip

    def start(self, **env: str) -> "subprocess.Popen[str]":
        """Start it and wait until it says that it serves."""
        running = subprocess.Popen(
            [sys.executable, "-m", "config.run"], cwd=ROOT, env=self.env | env, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        )  # fmt: skip
        self.printed = ""
        assert running.stdout
        for line in running.stdout:
            self.printed += line
            if line.startswith("Serving"):
                return running
        raise AssertionError(f"it ended with {running.wait()}:\n{self.printed}")

    @property
    def key(self) -> str:
        return (self.private / "demo-key").read_text()

    def status(self, path: str, key: str = "") -> int:
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}")
        if key:
            request.add_header("Authorization", f"Bearer {key}")
        try:
            with urllib.request.urlopen(request, timeout=10) as answer:
                return answer.status
        except urllib.error.HTTPError as refusal:
            return refusal.code

    def page(self, path: str) -> str:
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=10) as answer:
            return answer.read().decode()

    def answered(self, path: str, key: str) -> int:
        """The status, or 0 while nobody answers."""
        try:
            return self.status(path, key)
        except OSError:
            return 0

    def left_over(self) -> list[str]:
        """Processes of this service that still run."""
        return list(self.processes().values())

    def processes(self) -> dict[int, str]:
        """What runs of this service: the command by its pid."""
        found = {}
        for entry in Path("/proc").iterdir():
            if entry.name.isdigit():
                try:
                    environ = (entry / "environ").read_bytes()
                except OSError:
                    continue
                if f"ROUNDLAY_PRIVATE_DIR={self.private}".encode() in environ:
                    command = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode()
                    found[int(entry.name)] = command
        return found


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """A service in a folder with a space in its name; its data are removed afterwards."""
    one = Service(tmp_path_factory.mktemp("a clone", numbered=True) / "private folder")
    yield one
    if as_root():
        shutil.rmtree(ROOT_HOME / id_of(one.private.resolve()), ignore_errors=True)


def test_once_it_plans_the_demo_and_prints_what_a_lead_wants_to_see(service):
    done = service.once()

    assert done.returncode == 0, done.stdout + done.stderr
    for wanted in (
        "SETTING SHEET",
        "round 1",
        "weight to lift",
        "EXPECTED LEVELS",
        "/api/docs",
        "Access key",
    ):
        assert wanted in done.stdout
    assert len(re.findall(r"\d+ kg to \d+ kg", done.stdout)) >= 4
    assert service.left_over() == []


def test_started_again_it_goes_on_with_its_data_and_ctrl_c_stops_everything(service):
    """Started twice: a start while the one before goes down waits for it."""
    began = time.monotonic()
    before = service.start()

    assert "has an adopted plan" in service.printed
    assert time.monotonic() - began < START_SECONDS / 3
    before.terminate()  # as `make` does when it is ended itself; nobody waits for the launcher
    running = service.start()
    assert before.wait(timeout=30) == 0
    before.stdout.close()

    assert service.status("/api/v1/me", service.key) == 200
    assert service.status("/api/v1/me") == 401
    assert service.status("/problems/plan-stale") == 200
    assert service.status("/nowhere") == 404
    docs = service.page("/api/docs")
    assert "swagger-ui-bundle.js" in docs
    assert re.findall(r'(?:src|href)="(https?:)?//', docs) == [], "the page asks no other host"
    running.send_signal(signal.SIGINT)
    assert running.wait(timeout=30) == 0
    running.stdout.close()
    assert service.left_over() == []


def test_a_key_that_opens_nothing_any_more_keeps_nobody_from_being_served(service):
    """As after a restore of another server's database, or when the demo's key was revoked."""
    good = service.key
    (service.private / "demo-key").write_text("log_of_another_database")

    try:
        running = service.start()
        served = service.status("/api/v1/me", good)
        running.terminate()
        running.wait(timeout=30)
        running.stdout.close()
    finally:
        (service.private / "demo-key").write_text(good)

    assert served == 200
    assert "opens nothing" in service.printed
    assert "Access key" not in service.printed


def test_a_phone_signs_in_once_by_the_printed_link_which_stands_in_no_log(service):
    """On an address beyond the usual one; this machine stands for the phone."""
    running = service.start(BIND="127.0.0.2", ROUNDLAY_LOG_FORMAT="json", ROUNDLAY_LOG_LEVEL="INFO")
    printed = service.printed
    try:
        [link] = re.findall(rf"^http://127\.0\.0\.2:{service.port}/sign-in/link#\S+$", printed, re.MULTILINE)
        address, _, secret = link.partition("#")
        statuses = [sign_in(address, secret, service.port) for _ in range(2)]
    finally:
        running.send_signal(signal.SIGINT)
        running.wait(timeout=60)
    logged = running.stdout.read()
    running.stdout.close()

    assert statuses == [(204, 200), (410, 401)], "the first browser gets in, and no other"
    assert qr(link, coloured=False) in printed
    assert "is not encrypted" in printed
    assert '"path": "/sign-in/link"' in logged
    assert secret not in logged
    assert secret not in printed.replace(link, "")


def sign_in(address: str, secret: str, port: int) -> tuple[int, int]:
    """What a new browser is told that sends what the link holds, and what the API tells it then."""
    kept = urllib.request.HTTPCookieProcessor()
    browser = urllib.request.build_opener(kept)
    with browser.open(address, timeout=30) as page:
        [token] = re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', page.read().decode())
    form = urllib.parse.urlencode({"link": secret, "csrfmiddlewaretoken": token}).encode()

    def told(asked: str, data: bytes | None = None) -> int:
        try:
            with browser.open(asked, data, timeout=30) as answer:
                return answer.status
        except urllib.error.HTTPError as refusal:
            return refusal.code

    return told(address, form), told(f"http://127.0.0.2:{port}/api/v1/me")


def test_a_port_in_use_is_refused_with_the_way_out(service):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]

        done = service.once(PORT=str(port))

    assert done.returncode == 1
    assert f"Port {port} is taken" in done.stdout
    assert "PORT=" in done.stdout


@pytest.fixture(scope="module")
def running(service: Service) -> "Iterator[subprocess.Popen[str]]":
    """It serves; the last test that asks for it kills it."""
    started = service.start()
    yield started
    started.kill()
    started.wait(timeout=10)
    started.stdout.close()


@pytest.mark.usefixtures("running")
def test_the_first_hour_in_the_readme_works_as_written(service):
    shown = re.findall(r"^```sh\n(.*?)^```", (ROOT / "README.md").read_text(), re.MULTILINE | re.DOTALL)

    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", "\n".join(shown)],
        env=service.env | {"ROOT": f"http://127.0.0.1:{service.port}/api/v1", "KEY": service.key},
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip

    assert done.returncode == 0, done.stdout[-3000:] + done.stderr
    assert len(shown) >= 5
    assert '"rounds_complete"' in done.stdout


def test_what_is_killed_is_started_again_and_a_killed_launcher_takes_everything_with_it(service, running):
    again = [kill_and_await(service, what) for what in ("--name default", "config.web", "postgres -D")]
    # The service may answer a moment before the launcher has said why.
    late = threading.Timer(60, running.kill)
    late.start()
    names = ("The process default", "The process web", "PostgreSQL")
    missing = {f"{name} ended and was started again" for name in names}
    while missing and (line := running.stdout.readline()):
        missing = {one for one in missing if one not in line}
    late.cancel()
    running.kill()
    running.wait(timeout=10)

    for _ in range(300):
        if not service.left_over():
            break
        time.sleep(0.2)
    running.stdout.close()
    assert service.left_over() == []
    assert all(again)
    assert missing == set()


def kill_and_await(service: Service, what: str) -> bool:
    """SIGKILL to the processes of that command; whether others took their place and the service answers."""
    killed = {pid for pid, command in service.processes().items() if what in command}
    for pid in killed:
        os.kill(pid, signal.SIGKILL)
    assert killed
    for _ in range(600):
        again = {pid for pid, command in service.processes().items() if what in command} - killed
        if again and service.answered("/api/v1/me", service.key) == 200:
            return True
        time.sleep(0.1)
    return False
