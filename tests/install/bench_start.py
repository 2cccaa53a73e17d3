"""`make bench-start`: seconds from an empty clone to the printed setting sheet, and what is installed.

The committed state is cloned into a scratch folder with an empty home, the locked packages are fetched
beforehand, and then `make run ONCE=1` is timed as a new user types it. Everything is removed afterwards.
"""

import argparse
import os
import platform
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent.parent
BAR_SECONDS = 100


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def megabytes(folder: Path) -> float:
    """What the files of a folder take on the disk."""
    told = subprocess.run(["du", "-sk", str(folder)], capture_output=True, text=True, check=True).stdout
    return int(told.split()[0]) / 1024


def fetch(lock: str, folder: Path) -> None:
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps"]
    command += ["--require-hashes", "--requirement", lock, "--dest", str(folder)]
    subprocess.run(command, cwd=PROJECT, check=True)


def clean_environment(home: Path, wheels: Path) -> dict[str, str]:
    """As a new user has it, with the packages at hand and no index."""
    kept = ("PATH", "LANG", "LC_ALL", "TERM", "PYENV_ROOT", "PYENV_VERSION", "USER", "LOGNAME")
    env = {name: os.environ[name] for name in kept if name in os.environ}
    return env | {"HOME": str(home), "PIP_NO_INDEX": "1", "PIP_FIND_LINKS": str(wheels)}


def timed(clone: Path, env: dict[str, str]) -> float:
    """Run it and print its lines with the seconds so far; the seconds until the sheet stood there."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port = trial.getsockname()[1]
    began = time.monotonic()
    sheet = 0.0
    command = ["make", "run", "ONCE=1", f"PORT={port}"]
    with subprocess.Popen(
        command, cwd=clone, env=env, text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    ) as running:
        assert running.stdout
        for line in running.stdout:
            took = time.monotonic() - began
            if line.startswith(("->", "   still", "SETTING", "EXPECTED")):
                say(f"{took:7.1f} s  {line.rstrip()}")
            if line.startswith("EXPECTED LEVELS"):
                sheet = took  # the sheet stands there whole
    if running.returncode or not sheet:
        raise SystemExit(f"make run ended with {running.returncode} and printed no setting sheet.")
    return sheet


def remove_data(env: dict[str, str], clone: Path) -> None:
    """What the clone kept outside of itself."""
    where = "from config.database import private_place as p; print(p().data.parent, p().sockets, sep='\\n')"
    command = [str(clone / ".venv/bin/python"), "-c", where]
    told = subprocess.run(command, cwd=clone, env=env, capture_output=True, text=True, check=False).stdout
    for folder in told.splitlines():
        shutil.rmtree(folder, ignore_errors=True)


def main() -> int:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--run-time-only", action="store_true", help="do not install what developers need")
    asked = reader.parse_args()
    with tempfile.TemporaryDirectory(prefix="roundlay-start-") as made:
        scratch = Path(made)
        wheels, home, clone = scratch / "wheels", scratch / "home", scratch / "a clone"
        home.mkdir()
        say("-> Fetching the locked packages (not counted)")
        fetch("requirements.lock" if asked.run_time_only else "requirements-dev.lock", wheels)
        subprocess.run(["git", "clone", "--quiet", "--no-local", str(PROJECT), str(clone)], check=True)
        env = clean_environment(home, wheels)
        load = os.getloadavg()[0]
        say(f"-> {os.cpu_count()} cores, load average {load:.1f}, Python {platform.python_version()}")
        try:
            seconds = timed(clone, env)
            say(f"\nFrom an empty clone to the setting sheet: {seconds:.0f} s (bar: {BAR_SECONDS} s)")
            say(f"Load average beforehand {load:.1f}, after it {os.getloadavg()[0]:.1f}")
            say(f"Environment of the service: {megabytes(clone / '.venv'):.0f} MB")
            if not asked.run_time_only:
                subprocess.run(["make", "dev"], cwd=clone, env=env, check=True, stdout=subprocess.DEVNULL)
                say(f"With what developers need:  {megabytes(clone / '.venv'):.0f} MB")
        finally:
            remove_data(env, clone)
    return 0 if seconds <= BAR_SECONDS else 1


if __name__ == "__main__":
    sys.exit(main())
