"""`make check-install`: the run-time lock goes in as it stands, with an old pip and with the newest.

Needs nothing but a Python of 3.11 or newer and the package index, from which the locked files are fetched
once. Everything else comes from two folders: those files, and for every locked package a newer release that
does not exist in the world. So what is newest today cannot matter, and a resolver that was asked would
stumble: that it would is tried first, for a check that cannot fail proves nothing.
"""

import os
import re
import subprocess
import sys
import tempfile
import time
import zipfile
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent.parent
LOCK = PROJECT / "requirements.lock"
# What Debian 12 brings; it does not run on a Python newer than itself.
OLD_PIP = "23.0.1" if sys.version_info < (3, 12) else "23.2.1" if sys.version_info < (3, 13) else "24.1"
# Every module of ours is imported with what is locked for run time and nothing else.
_IMPORT_ALL = """
import importlib, pkgutil
import django
django.setup()
import config.wsgi
for name in ("config", "crews", "inventory", "cabins", "planning"):
    for one in pkgutil.walk_packages(importlib.import_module(name).__path__, f"{name}."):
        if not one.name.endswith("__main__") and one.name != "config.audit":
            importlib.import_module(one.name)
"""


class CheckFailed(RuntimeError):
    """The lock cannot be installed as it stands; the message says what was said."""


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def run(*command: str | Path, **more: str) -> str:
    """Its output. Raises CheckFailed with it, if it fails."""
    env = {name: value for name, value in os.environ.items() if not name.startswith("PIP_CONSTRAINT")} | more
    done = subprocess.run(
        [str(part) for part in command], cwd=PROJECT, env=env, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise CheckFailed(f"{' '.join(map(str, command))}\n{done.stdout[-1500:]}{done.stderr[-1500:]}")
    return done.stdout


def locked_names() -> list[str]:
    """The packages of the lock."""
    return sorted(set(re.findall(r"^([A-Za-z0-9._-]+)==", LOCK.read_text(), re.MULTILINE)))


def fetch(folder: Path) -> None:
    """The locked files for this Python and machine, from the index or from pip's cache."""
    run(sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps",
        "--require-hashes", "--only-binary=:all:", "--requirement", LOCK, "--dest", folder)  # fmt: skip


def pretend_newer(folder: Path) -> None:
    """A release 9999 of every locked package, with every extra that another asks of it."""
    folder.mkdir()
    for name in locked_names():
        stem = f"{re.sub(r'[-_.]+', '_', name)}-9999"
        told = f"Metadata-Version: 2.1\nName: {name}\nVersion: 9999\n"
        told += "".join(f"Provides-Extra: {extra}\n" for extra in ("pool", "binary", "django", "sidecar"))
        with zipfile.ZipFile(folder / f"{stem}-py3-none-any.whl", "w") as wheel:
            wheel.writestr(f"{stem}.dist-info/METADATA", told)
            wheel.writestr(f"{stem}.dist-info/WHEEL", "Wheel-Version: 1.0\nTag: py3-none-any\n")
            wheel.writestr(f"{stem}.dist-info/RECORD", "")


def environment(folder: Path, pip: str) -> Path:
    """A new virtual environment with that pip; its Python."""
    run(sys.executable, "-m", "venv", folder)
    python = folder / "bin" / "python"
    upgrade = ["--upgrade"] if pip == "pip" else []
    run(python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *upgrade, pip)
    return python


def install(python: Path, folders: list[Path], *more: str) -> None:
    found = [part for folder in folders for part in ("--find-links", str(folder))]
    run(python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-input", "--no-index",
        "--require-hashes", *found, *more, "--requirement", LOCK, PIP_FIND_LINKS="")  # fmt: skip


def check(scratch: Path, pip: str, folders: list[Path]) -> None:
    """Install, let pip look whether all fits together, and import all that is ours."""
    began = time.monotonic()
    python = environment(scratch / "env", pip)
    version = run(python, "-m", "pip", "--version").split()[1]
    if version == OLD_PIP:
        try:
            install(python, folders, "--dry-run")
        except CheckFailed as stumbled:
            if "must have their versions pinned" not in str(stumbled):
                raise
        else:
            raise CheckFailed("The resolver did not stumble over newer releases: this check cannot fail.")
    install(python, folders, "--no-deps", "--no-compile")
    run(python, "-m", "pip", "--disable-pip-version-check", "check")
    here = {"DJANGO_SETTINGS_MODULE": "config.settings", "DATABASE_URL": "postgresql:///nowhere"}
    run(python, "-c", _IMPORT_ALL, ROUNDLAY_SECRET_KEY="for this check alone", **here)
    took = time.monotonic() - began
    say(f"   pip {version}: {len(locked_names())} packages installed and imported, {took:.0f} s")


def main() -> int:
    say("-> The run-time lock with an old pip and with the newest")
    try:
        with tempfile.TemporaryDirectory(prefix="roundlay-install-") as made:
            scratch = Path(made)
            fetch(scratch / "locked")
            pretend_newer(scratch / "newer")
            for pip in (f"pip=={OLD_PIP}", "pip"):
                with tempfile.TemporaryDirectory(dir=scratch) as own:
                    check(Path(own), pip, [scratch / "locked", scratch / "newer"])
    except CheckFailed as reason:
        say(str(reason))
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
