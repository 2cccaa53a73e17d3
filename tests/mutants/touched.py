"""Which tests run which line: found out by running them under coverage, kept until the next commit."""

import hashlib
import os
import re
import subprocess
import sys
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import coverage

from config.home import PROJECT
from tests.mutants.changes import Change

KEPT = PROJECT / ".private" / "mutants"
PRODUCT = ("config", "crews", "inventory", "cabins", "planning")
_SOME_FAILED = 1  # one that failed without a change gives no verdict with one
MOST_TESTS, FURTHER_TESTS = 40, 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """Which tests ran which line, and which any line, of each file (paths from the project's folder)."""

    by_line: Mapping[str, Mapping[int, Sequence[str]]]
    lines_of: Mapping[str, int]

    def tests_of(self, path: str, change: Change) -> list[str]:
        """Those that ran what changed; the most particular first, then some of the others."""
        lines = self.by_line.get(path, {})
        near = range(change.near[0], change.near[1] + 1)
        every = (
            set(lines.get(change.line, ()))
            or {test for line in near for test in lines.get(line, ())}
            or {test for name in change.names for test in self._tests_naming(name)}
            or {test for tests in lines.values() for test in tests}
        )
        tests = sorted(every, key=lambda test: (self.lines_of[test], test))
        rest = tests[MOST_TESTS:]
        return [*tests[:MOST_TESTS], *rest[:: max(1, len(rest) // FURTHER_TESTS)][:FURTHER_TESTS]]

    def _tests_naming(self, name: str) -> set[str]:
        """Those that ran a line in which a module's own name stands."""
        word = re.compile(rf"\b{re.escape(name)}\b")
        return {
            test
            for path, lines in self.by_line.items()
            for number, line in enumerate((PROJECT / path).read_text().splitlines(), 1)
            if number in lines and word.search(line)
            for test in lines[number]
        }


def touched(tests: Sequence[str], *, jobs: int) -> Touched:
    """Which test ran which line: read, or found out by running them if the code is another by now."""
    state = subprocess.run(
        ["git", "rev-parse", "HEAD"], cwd=PROJECT, capture_output=True, text=True, check=True
    ).stdout.strip()
    asked = hashlib.sha256("\0".join([state, *sorted(tests)]).encode()).hexdigest()[:12]
    data = KEPT / f"{asked}.coverage"
    if not data.exists():
        KEPT.mkdir(parents=True, exist_ok=True)
        half = KEPT / f"half-{asked}.coverage"
        settings = KEPT / "coverage.ini"
        settings.write_text(f"[run]\nsource =\n    {chr(10).join(f'    {one}' for one in PRODUCT).strip()}\n")
        done = subprocess.run(
            [
                sys.executable, "-m", "pytest", "-q", "-n", str(jobs), "--dist", "loadscope", "--cov",
                f"--cov-config={settings}", "--cov-context=test", "--cov-report=", *tests,
            ],
            cwd=PROJECT, check=False,
            env={**os.environ, "COVERAGE_FILE": str(half), "ROUNDLAY_COVER_ALL": "1"},
        )  # fmt: skip
        if done.returncode not in (0, _SOME_FAILED):
            sys.exit(f"the tests did not run: pytest ended with {done.returncode}")
        half.rename(data)
    held = coverage.CoverageData(basename=str(data))
    held.read()
    by_line: dict[str, dict[int, list[str]]] = {}
    lines_of: Counter[str] = Counter()
    for file in held.measured_files():
        rows: dict[int, list[str]] = defaultdict(list)
        for line, contexts in held.contexts_by_lineno(file).items():
            for test in {one.rsplit("|", 1)[0] for one in contexts if one}:
                rows[line].append(test)
                lines_of[test] += 1
        by_line[Path(file).relative_to(PROJECT).as_posix()] = rows
    return Touched(by_line=by_line, lines_of=lines_of)
