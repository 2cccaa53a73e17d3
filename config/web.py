"""The web service: binds one socket, loads everything once, and keeps several processes answering on it.

One that ends is replaced; so is one that a request made grow past its limit, which ends when it has answered.
SIGTERM ends all in order. If this process is killed, the others let go of the socket within a second.
"""

import argparse
import contextlib
import os
import resource
import select
import signal
import socket
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from config.children import resident_bytes
from config.commands import say
from config.switches import SwitchRefused, cores, whole_number

_BACKLOG = 2048
_LOOK_S = 1.0
# What ended sooner than this is not begun again without a rest as long.
_REST_S = 1.0
_FILES = 16_384


def listening_socket(bind: str) -> socket.socket:
    """Bound to HOST:PORT, [HOST]:PORT or unix:PATH, and listening. Raises OSError."""
    address: Any
    if bind.startswith("unix:"):
        path = Path(bind.removeprefix("unix:"))
        if path.is_socket():
            path.unlink()  # of one that was killed
        family, address = socket.AF_UNIX, path.as_posix()
    else:
        host, _, port = bind.rpartition(":")
        family, *_, address = socket.getaddrinfo(host.strip("[]"), int(port), type=socket.SOCK_STREAM)[0]
    made = socket.socket(family, socket.SOCK_STREAM)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind(address)
        if family == socket.AF_UNIX:
            Path(address).chmod(0o660)
        made.listen(_BACKLOG)
    except OSError:
        made.close()
        raise
    return made


@dataclass(slots=True, kw_only=True)
class _Child:
    pid: int
    slot: int
    begun: float = field(default_factory=time.monotonic)
    leaving: bool = False


@dataclass(slots=True, kw_only=True)
class Web:
    """The processes that answer on one socket; each has a slot, by which the metrics name it."""

    listening: socket.socket
    application: Any
    processes: int
    most_bytes: int
    grace_s: float
    counters: Path
    children: list[_Child] = field(default_factory=list)
    rests_until: float = 0.0
    told: bool = False

    def run(self) -> None:
        with self._woken_by_signals() as woken:
            while not self.told:
                self._reap()
                self._retire_grown()
                self._fill()
                select.select([woken], [], [], _LOOK_S)
                with contextlib.suppress(BlockingIOError):
                    os.read(woken, 1024)
        self._stop()

    @contextlib.contextmanager
    def _woken_by_signals(self) -> Iterator[int]:
        woken, waking = os.pipe()
        os.set_blocking(woken, False)
        os.set_blocking(waking, False)
        signal.set_wakeup_fd(waking, warn_on_full_buffer=False)
        signal.signal(signal.SIGTERM, self._tell)
        signal.signal(signal.SIGINT, self._tell)
        signal.signal(signal.SIGCHLD, lambda *_: None)
        yield woken
        signal.set_wakeup_fd(-1)

    def _tell(self, *_: Any) -> None:
        self.told = True

    def _reap(self) -> None:
        for child in list(self.children):
            if os.waitpid(child.pid, os.WNOHANG)[0]:
                self.children.remove(child)
                for gauges in self.counters.glob(f"gauge_live*_{child.slot}.db"):
                    gauges.unlink(missing_ok=True)
                if time.monotonic() - child.begun < _REST_S:
                    self.rests_until = time.monotonic() + _REST_S

    def _retire_grown(self) -> None:
        for child in self.children:
            if not child.leaving and resident_bytes(child.pid) > self.most_bytes:
                child.leaving = True
                os.kill(child.pid, signal.SIGTERM)

    def _fill(self) -> None:
        staying = sum(not child.leaving for child in self.children)
        if time.monotonic() >= self.rests_until:
            for _ in range(self.processes - staying):
                self._start()

    def _start(self) -> None:
        taken = {child.slot for child in self.children}
        slot = min(set(range(len(taken) + 1)) - taken)
        held = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGTERM, signal.SIGINT})
        pid = os.fork()
        if pid == 0:
            _serve(self.application, self.listening, slot, held)
        signal.pthread_sigmask(signal.SIG_SETMASK, held)
        self.children.append(_Child(pid=pid, slot=slot))

    def _stop(self) -> None:
        self.listening.close()
        for child in self.children:
            os.kill(child.pid, signal.SIGTERM)
        until = time.monotonic() + self.grace_s
        while self.children and time.monotonic() < until:
            time.sleep(0.05)
            self._reap()
        for child in self.children:
            os.kill(child.pid, signal.SIGKILL)


def _serve(application: Any, listening: socket.socket, slot: int, mask: Any) -> None:
    """In the new process: serve, and end without what the first one has registered for its own end."""
    status = 1
    try:
        from config import metrics
        from config.web_process import WebProcess

        signal.set_wakeup_fd(-1)
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        metrics.counting_as(slot)
        one = WebProcess(application, listening, slot=slot)
        signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        one.run()
        status = 0
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


def _allow_many_files() -> None:
    """A connection takes up to three; many systems begin with 1,024."""
    now, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = _FILES if most == resource.RLIM_INFINITY else min(_FILES, most)
    if now != resource.RLIM_INFINITY and now < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, most))


def main() -> int:
    reader = argparse.ArgumentParser(description="The web service.")
    reader.add_argument("--bind", default="127.0.0.1:8000", help="HOST:PORT, [HOST]:PORT or unix:PATH")
    reader.add_argument("--grace", type=float, default=30, help="seconds for answers under way at SIGTERM")
    asked = reader.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    _allow_many_files()
    with tempfile.TemporaryDirectory(prefix="roundlay-metrics-") as counters:
        os.environ["PROMETHEUS_MULTIPROC_DIR"] = counters  # before anything that counts is loaded
        try:
            processes = whole_number("ROUNDLAY_WEB_PROCESSES", min(max(2, cores()), 8), least=1, most=64)
            most_mb = whole_number("ROUNDLAY_WEB_MEMORY_MB", 400, least=150, most=1024 * 1024)
            listening = listening_socket(asked.bind)
            from config.wsgi import application
        except SwitchRefused as refused:
            say(str(refused))
            return 1
        except OSError as fault:
            say(f"{asked.bind} cannot be listened on: {fault.strerror}.")
            return 1
        Web(
            listening=listening, application=application, processes=processes, most_bytes=most_mb * 1024**2,
            grace_s=asked.grace, counters=Path(counters),
        ).run()  # fmt: skip
    return 0


if __name__ == "__main__":
    sys.exit(main())
