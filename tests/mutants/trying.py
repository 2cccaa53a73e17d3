"""A change is made in a copy of the project and its tests run there: noticed, survived, or no verdict.

Only a test that fails with the change and passes without it notices. All else that can end a run, a module
that cannot be imported, a run that never ends, is held against the unchanged code, which must do well.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from config.home import PROJECT
from tests.mutants.changes import Change
from tests.mutants.stem import WAIT_S

LONGEST_S = 150
# A run that is cut off counts if the unchanged code needs at most this share of its time.
FAR_LESS = 1 / 3


class Verdict(StrEnum):
    NOTICED = "noticed"
    SURVIVED = "SURVIVED"
    NONE = "no verdict"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """How a run of tests ended: pytest's exit code, None for one that was cut off, and what failed."""

    code: int | None
    seconds: float
    failed: Sequence[str]
    printed: str


@dataclass(slots=True, kw_only=True)
class Copy:
    """A copy of what git knows with the compiled kernels, in which changes are tried, and its database."""

    place: Path
    database: str
    _stem: subprocess.Popen[str] | None = field(default=None, init=False)
    _is_clean: bool = field(default=False, init=False)
    _sound: set[str] = field(default_factory=set, init=False)
    _writes: int = field(default=0, init=False)

    @classmethod
    def made(cls, database: str) -> "Copy":
        known = subprocess.run(
            ["git", "ls-files", "-z"], cwd=PROJECT, capture_output=True, text=True, check=True
        )
        place = Path(tempfile.mkdtemp(prefix="roundlay-mutants-"))
        for name in filter(None, known.stdout.split("\0")):
            (place / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(PROJECT / name, place / name)
        kernels = Path("planning") / "core" / "search" / "__pycache__"
        if (PROJECT / kernels).exists():
            shutil.copytree(PROJECT / kernels, place / kernels)
        return cls(place=place, database=database)

    def close(self) -> None:
        if self._stem and self._stem.stdin:
            self._stem.stdin.close()
            self._stem.wait()
        shutil.rmtree(self.place, ignore_errors=True)

    def verdict(self, path: str, change: Change, tests: Sequence[str]) -> tuple[Verdict, str]:
        """What the tests say to the change, made here for as long as they run, and what was seen."""
        if not tests:
            return Verdict.SURVIVED, "no test runs it"
        file = self.place / path
        text = file.read_text()
        self._write(file, change.applied(text))
        try:
            run = self._run(tests, LONGEST_S)
        finally:
            self._write(file, text)
        if run.code == 0:
            return Verdict.SURVIVED, f"{len(tests)} tests in {run.seconds:.0f} s"
        if run.code is None:
            unchanged = self._run(tests, LONGEST_S * FAR_LESS)
            ends = unchanged.code == 0
            return Verdict.NOTICED if ends else Verdict.NONE, "it never ended" if ends else "it takes long"
        seen = run.failed[0] if run.failed else f"ended with {run.code}: {run.printed}"
        if run.code == 1 and run.failed and self._passes(run.failed[:1]):
            return Verdict.NOTICED, seen
        return Verdict.NOTICED if self._passes(tests) else Verdict.NONE, seen

    def _passes(self, tests: Sequence[str]) -> bool:
        """Whether these pass with nothing changed, the second time at a database made anew."""
        if self._sound.issuperset(tests):
            return True
        for _ in range(2):
            if self._run(tests, LONGEST_S).code == 0:
                self._sound.update(tests)
                return True
            self._is_clean = False
        return False

    def _write(self, file: Path, text: str) -> None:
        """Write it with a time of its own: compiled files are known by the second and their length."""
        file.write_text(text)
        self._writes += 1
        moment = int(time.time()) + self._writes
        os.utime(file, (moment, moment))

    def _run(self, tests: Sequence[str], seconds: float) -> Run:
        if self._stem is None or self._stem.poll() is not None:
            self._stem = subprocess.Popen(
                [sys.executable, "-m", "tests.mutants.stem"],
                cwd=self.place, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
                env=os.environ | {
                    "DATABASE_URL": self.database, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",
                    "ROUNDLAY_COVER_ALL": "1", "OPENBLAS_NUM_THREADS": "1",
                },
            )  # fmt: skip
        seen, printed = self.place / ".seen", self.place / ".printed"
        for old in (seen, printed):
            old.unlink(missing_ok=True)
        asked = {
            "tests": list(tests), "seconds": seconds, "create": not self._is_clean,
            "seen": str(seen), "printed": str(printed),
        }  # fmt: skip
        began = time.monotonic()
        assert self._stem.stdin
        assert self._stem.stdout
        self._stem.stdin.write(f"{json.dumps(asked)}\n")
        self._stem.stdin.flush()
        code = json.loads(self._stem.stdout.readline())
        ends = [json.loads(line) for line in seen.read_text().splitlines()] if seen.exists() else []
        if code is None or (code and not ends):
            self._is_clean = False  # rows that are left behind, or a database half made
        elif ends:
            self._is_clean = True
        lines = printed.read_text(errors="replace").splitlines() if printed.exists() else []
        return Run(
            code=code, seconds=time.monotonic() - began - WAIT_S,
            failed=[one["test"] for one in ends if one["outcome"] == "failed"],
            printed=" | ".join(lines[-3:]),
        )  # fmt: skip
