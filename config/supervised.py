"""The service's processes, kept running: one that ends by itself is started again."""

import subprocess
import time
from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from signal import SIGTERM
from typing import IO

from config.children import start_child, stop_child
from config.database import Say, ServerPlace, running_server
from config.home import PrivateServerFailed
from config.server_lock import ServerLock

# What ends as soon as it begins is not started again and again without a rest.
_REST_S = 5.0


class SupervisedProcess:
    """A process of the service, begun as this is made. What it prints goes to `told`, or where ours goes."""

    def __init__(
        self, name: str, command: Sequence[str], *, env: Mapping[str, str], told: IO[bytes] | None = None
    ) -> None:
        self.name, self._command, self._env, self._told = name, command, env, told
        self._begin()

    def _begin(self) -> None:
        self._begun = time.monotonic()
        self.child: subprocess.Popen[bytes] = start_child(self._command, env=self._env, told=self._told)

    @property
    def pid(self) -> int:
        return self.child.pid

    @property
    def ended(self) -> bool:
        return self.child.poll() is not None

    def mend(self, *, rest_s: float = _REST_S) -> bool:
        """Start it again if it ended and has run, or rested, long enough; True if it was started."""
        if not self.ended or time.monotonic() - self._begun < rest_s:
            return False
        self._begin()
        return True

    def stop(self, *, seconds: float) -> None:
        stop_child(self.child, how=SIGTERM, seconds=seconds)


class SupervisedDatabase:
    """The private PostgreSQL of a place; one that another process shares is used and left alone."""

    def __init__(self, place: ServerPlace, *, say: Say | None = None) -> None:
        self.place = place
        self._held = ExitStack()
        self._process: subprocess.Popen[bytes] | None = None
        self._lock = ServerLock(place.sockets, say=say)

    def await_earlier(self) -> None:
        """Wait until an earlier one of this place is gone, with all that stopped before it."""
        self._lock.await_earlier()

    def start(self) -> bool:
        """Start it, or join the one that answers; True if it was started. Raises PrivateServerFailed."""
        self._held.close()
        server = running_server(self.place, lock=self._lock, shared=True)
        self._process = self._held.enter_context(server)
        return self._process is not None

    def mend(self) -> bool:
        """Start it again if it ended, be it ours or one whose host is gone; it recovers by itself.

        True if it was started. What is left of the one before may hold it up: then it is tried again the
        next time.
        """
        ended = not self._lock.is_hosted() if self._process is None else self._process.poll() is not None
        if not ended:
            return False
        try:
            return self.start()
        except PrivateServerFailed:
            return False

    def leave(self) -> None:
        """We are about to stop: nobody joins from now on."""
        self._lock.let_go()

    def stop(self) -> None:
        self._held.close()
