"""The planner's processes, kept warm: one that has answered waits for this worker's next job.

Loading the planner's kernels takes seconds on a busy machine; a process that is kept spares them.
"""

import json
import queue
import subprocess
import sys
import threading
from contextlib import suppress
from typing import Any

from django.conf import settings


class PlannerProcess:
    """One planner in a process of its own; it ends when this process does, for its input ends then."""

    def __init__(self) -> None:
        self._child = subprocess.Popen(
            [sys.executable, "-m", "planning.core.search.child"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=settings.BASE_DIR,
        )  # fmt: skip
        self._lines: queue.Queue[str | None] = queue.Queue()
        # Read by a thread, so that a cancellation need not wait for a line.
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self._child.stdout is not None
        with suppress(ValueError):  # closed while it was read
            for line in self._child.stdout:
                self._lines.put(line)
        self._lines.put(None)

    @property
    def is_alive(self) -> bool:
        return self._child.poll() is None

    def ask(self, request: dict[str, Any]) -> None:
        """Send a request; its events are then read with `next_event`."""
        self._say(json.dumps(request))

    def stop(self) -> None:
        """Tell it to end the search at hand with its best so far."""
        self._say("stop")

    def next_event(self, *, timeout: float) -> dict[str, Any] | None:
        """The next event, None where the process has ended. Raises queue.Empty after `timeout` seconds."""
        line = self._lines.get(timeout=timeout)
        return None if line is None else json.loads(line)

    def status(self) -> int:
        """How the process ended: negative where it was killed."""
        return self._child.wait()

    def kill(self) -> None:
        self._child.kill()
        self._child.wait()
        for pipe in (self._child.stdin, self._child.stdout):
            if pipe:
                with suppress(BrokenPipeError):  # what it did not live to read
                    pipe.close()

    def _say(self, line: str) -> None:
        """A line to the planner; one that is dead is found out when its answers end."""
        assert self._child.stdin is not None
        with suppress(BrokenPipeError):
            self._child.stdin.write(f"{line}\n")
            self._child.stdin.flush()


_warm: list[PlannerProcess] = []
_lock = threading.Lock()


def take_planner() -> PlannerProcess:
    """A planner that waits for work, or a new one."""
    while True:
        with _lock:
            if not _warm:
                break
            planner = _warm.pop()
        if planner.is_alive:
            return planner
        planner.kill()
    return PlannerProcess()


def keep_planner(planner: PlannerProcess) -> None:
    """Keep a planner that has answered for the next job; there are never more than jobs at one time."""
    with _lock:
        _warm.append(planner)


def end_warm_planners() -> None:
    """End every planner that waits for work."""
    with _lock:
        waiting, _warm[:] = list(_warm), []
    for planner in waiting:
        planner.kill()
