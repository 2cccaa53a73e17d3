"""Whose turn it is to run a private PostgreSQL: two locks of the kernel, which no crash leaves behind.

`host` is held by the process that starts the server and stops it; it lets go as soon as it begins to stop.
While the server is there for others as well, the file says so. `server` is held by the server's own
processes, until the last of them is gone, also when their host was killed. So whoever gets both may start a
server, and who finds the one let go and the other held knows that an earlier server is still going down.
"""

import fcntl
import os
import time
from collections.abc import Callable
from pathlib import Path

from config.home import PrivateServerFailed

_SHARED = b"shared"
_WAIT_SECONDS = 120.0
_LOOK_EVERY_SECONDS = 0.1
GOING_DOWN = "   an earlier run of this clone is still going down (or a backup is under way); waiting for it"


class StillHeld(PrivateServerFailed):
    """Another process kept the server to itself for too long."""


class ServerLock:
    """The two locks of one server, in a folder of its own."""

    def __init__(self, folder: Path, *, say: Callable[[str], None] | None = None) -> None:
        self._folder, self._say = folder, say
        self._host: int | None = None

    def take(self, *, join: Callable[[], bool], seconds: float = _WAIT_SECONDS) -> int | None:
        """Wait for our turn to start the server; the lock that the server is to inherit.

        None if somebody shares theirs and `join()` says that it answers. Raises StillHeld after `seconds`.
        """
        waited = _Wait(self._say, seconds)
        while True:
            if self._take_host():
                break
            if self._is_shared() and join():
                return None
            waited.a_little()
        try:
            while (server := self._try("server")) is None:
                waited.a_little()
        except BaseException:
            self.let_go()
            raise
        return server

    def await_earlier(self, *, seconds: float = _WAIT_SECONDS) -> None:
        """Wait while an earlier server goes down or another one is not yet there for others."""
        waited = _Wait(self._say, seconds)
        while not (self._is_shared() if self._is_held("host") else not self._is_held("server")):
            waited.a_little()

    def is_hosted(self) -> bool:
        """True if somebody is there who will stop the server."""
        return self._is_held("host")

    def share(self) -> None:
        """Others may use the server from now on, until we let go."""
        if self._host is not None:
            os.pwrite(self._host, _SHARED, 0)

    def let_go(self) -> None:
        """Nobody joins from now on: the server is about to stop, or is not ours any more."""
        if self._host is not None:
            os.ftruncate(self._host, 0)
            os.close(self._host)
            self._host = None

    def _take_host(self) -> bool:
        if self._host is None:
            self._host = self._try("host")
            if self._host is not None:
                os.ftruncate(self._host, 0)  # what a killed one left
        return self._host is not None

    def _is_shared(self) -> bool:
        try:
            return (self._folder / "host.lock").read_bytes() == _SHARED
        except FileNotFoundError:
            return False

    def _is_held(self, name: str) -> bool:
        if not self._folder.exists():
            return False
        got = self._try(name)
        if got is not None:
            os.close(got)
        return got is None

    def _try(self, name: str) -> int | None:
        lock = os.open(self._folder / f"{name}.lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(lock)
            return None
        return lock


class _Wait:
    """Waits in small steps, says so once, and not for ever."""

    def __init__(self, say: Callable[[str], None] | None, seconds: float) -> None:
        self._say, self._until = say, time.monotonic() + seconds
        self._said = False

    def a_little(self) -> None:
        if time.monotonic() > self._until:
            raise StillHeld(
                "Another process of this clone (a run, a backup or a restore) has the private PostgreSQL"
                " to itself, or an earlier one does not end. Stop it, then try again."
            )
        if self._say and not self._said:
            self._said = True
            self._say(GOING_DOWN)
        time.sleep(_LOOK_EVERY_SECONDS)
