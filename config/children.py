"""Child processes that end when their parent ends, however that comes."""

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import IO

_PR_SET_PDEATHSIG = 1


def end_with_parent(parent: int, how: signal.Signals) -> None:
    """In the child before it starts: get the signal when the parent dies (Linux; elsewhere nothing)."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, how)
        if os.getppid() != parent:
            os._exit(1)


def start_child(
    command: Sequence[str], *, env: Mapping[str, str], told: IO[bytes] | None = None
) -> subprocess.Popen[bytes]:
    """Start a command in a process group of its own: Ctrl-C is for the launcher, which stops it in order.

    What it prints goes to `told`, or where ours goes.
    """
    parent = os.getpid()
    return subprocess.Popen(
        command,
        env=dict(env),
        stdin=subprocess.DEVNULL,
        stdout=told,
        stderr=told,
        process_group=0,
        preexec_fn=lambda: end_with_parent(parent, signal.SIGTERM),
    )


def stop_child(child: subprocess.Popen[bytes], *, how: signal.Signals, seconds: float) -> None:
    """Ask the child to end, and after `seconds` make it."""
    if child.poll() is None:
        child.send_signal(how)
        with contextlib.suppress(subprocess.TimeoutExpired):
            child.wait(timeout=seconds)
    if child.poll() is None:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child.pid, signal.SIGKILL)
        child.wait()


def resident_bytes(pid: int) -> int:
    """How much memory the process has (Linux; elsewhere, and if it is gone, 0)."""
    try:
        return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, IndexError):
        return 0
