"""The planner's kernels, compiled while something else is done; after the first start they are there."""

import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from signal import SIGTERM
from tempfile import TemporaryFile
from typing import IO

from config.children import start_child, stop_child
from config.commands import say

_SAY_EVERY_SECONDS = 15.0


class Kernels:
    """The compilation under way."""

    def __init__(self, child: subprocess.Popen[bytes], told: IO[bytes]) -> None:
        self._child, self._told = child, told
        self._begun = time.monotonic()

    def wait(self) -> None:
        """Until they are compiled, with a line now and then. If that fails, the planner compiles them."""
        next_said = 0.0
        while self._child.poll() is None:
            took = time.monotonic() - self._begun
            if took >= next_said:
                say(f"   still compiling the planner's kernels, {took:.0f} s so far")
                next_said = took + _SAY_EVERY_SECONDS
            time.sleep(0.2)
        if self._child.returncode:
            self._told.seek(0)
            said = self._told.read()[-600:].decode(errors="replace").strip()
            say(f"   the planner's kernels could not be compiled now ({self._child.returncode}): {said}")


@contextmanager
def compiling(env: Mapping[str, str]) -> Iterator[Kernels]:
    """Compile what is not compiled yet while the block runs."""
    with TemporaryFile() as told:
        child = start_child([sys.executable, "-m", "planning.core.search.warm"], env=env, told=told)
        try:
            yield Kernels(child, told)
        finally:
            stop_child(child, how=SIGTERM, seconds=5)
