"""Whose turn it is to run the private server: one at a time, whoever was killed before."""

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from config.server_lock import GOING_DOWN, ServerLock, StillHeld

# A process that takes the turn, lets a server of its own inherit the lock, and is killed or lets go as told.
_HOST = """
import os, subprocess, sys, time
from pathlib import Path
from config.server_lock import ServerLock
lock = ServerLock(Path(sys.argv[1]))
server = lock.take(join=lambda: False)
subprocess.Popen(["sleep", sys.argv[2]], pass_fds=[server])
os.close(server)
if sys.argv[3] == "shared":
    lock.share()
print("started", flush=True)
time.sleep(60)
"""


def a_host(folder: Path, *, server_seconds: float, shared: bool) -> "subprocess.Popen[str]":
    command = [sys.executable, "-c", _HOST, str(folder), str(server_seconds), "shared" if shared else "alone"]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert running.stdout
    assert running.stdout.readline() == "started\n"
    return running


def killed(running: "subprocess.Popen[str]") -> None:
    running.kill()
    running.wait()
    assert running.stdout
    running.stdout.close()


def test_what_is_left_of_a_killed_run_is_waited_for_and_that_is_said(tmp_path):
    killed(a_host(tmp_path, server_seconds=1.5, shared=True))
    said: list[str] = []
    began = time.monotonic()

    got = ServerLock(tmp_path, say=said.append).take(join=lambda: True)

    assert got is not None, "it is not joined, though its server may answer still"
    assert time.monotonic() - began > 0.5
    assert said == [GOING_DOWN]
    os.close(got)


def test_one_that_shares_its_server_is_joined_as_soon_as_it_answers(tmp_path):
    host = a_host(tmp_path, server_seconds=60, shared=True)
    answers = iter([False, False, True])

    assert ServerLock(tmp_path).take(join=lambda: next(answers)) is None

    killed(host)


def test_one_that_does_not_share_is_never_joined(tmp_path):
    host = a_host(tmp_path, server_seconds=60, shared=False)

    with pytest.raises(StillHeld):
        ServerLock(tmp_path).take(join=lambda: True, seconds=0.5)

    killed(host)


def test_nobody_joins_one_that_has_let_go(tmp_path):
    first, second = ServerLock(tmp_path), ServerLock(tmp_path)
    server = first.take(join=lambda: False)
    assert server is not None
    first.share()
    assert second.take(join=lambda: True) is None

    first.let_go()  # its server still runs
    waiting = threading.Timer(0.5, os.close, [server])
    waiting.start()
    got = second.take(join=lambda: True)

    assert got is not None
    assert not waiting.is_alive(), "the server was waited for"
    os.close(got)


def test_waiting_for_the_earlier_one_ends_with_it_and_not_before(tmp_path):
    killed(a_host(tmp_path, server_seconds=1, shared=False))
    began = time.monotonic()

    ServerLock(tmp_path).await_earlier()

    assert time.monotonic() - began > 0.3
    assert ServerLock(tmp_path).take(join=lambda: False, seconds=0.1) is not None


def test_where_nobody_was_yet_there_is_nothing_to_wait_for(tmp_path):
    ServerLock(tmp_path / "none").await_earlier(seconds=0)

    assert not ServerLock(tmp_path / "none").is_hosted()
