"""`make mutants`: changes of rules, actions and protocol, sampled, and whether the tests notice each.

First the tests run once under coverage that keeps which test ran which line; `--tests` names fewer of them.
What it kept lies in .private/mutants and serves until the next commit. Then each sampled change is made in a
copy of the project, and the tests that ran its line run there, the most particular first. A change that none
of them notices is printed with file, line and change.
"""

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import Queue

import coverage

from config.home import PROJECT
from tests.mutants.changes import Change, changes_of

KEPT = PROJECT / ".private" / "mutants"
PRODUCT = ("config", "crews", "inventory", "cabins", "planning")
# What these tests try runs in other processes, or is no rule.
NOT_TRACED = ("browser", "service", "clients", "fuzz", "torture", "soak", "install", "scale", "archive")
# Rules, actions, queries, access, versions, idempotency and the judge; not words, schema or compiled kernels.
MUTATED = (
    "*/core/**/*.py", "*/*/actions.py", "*/*/queries.py", "crews/accounts/access.py",
    "crews/accounts/idempotency.py", "crews/accounts/limits.py", "crews/api/versions.py",
    "crews/api/idempotent.py",
    "inventory/deliveries/*.py", "inventory/logs/*.py", "inventory/orders/*.py", "inventory/yards/*.py",
    "cabins/*/[!v]*.py", "planning/plans/*.py", "planning/walls/*.py", "planning/jobs/sawn_logs.py",
)  # fmt: skip
LEFT_OUT = (
    "kernels.py", "/drawings/", "/printed/", "bench.py", "warm.py",
    "/serializers.py", "/views.py", "/models.py", "/fields.py",
)  # fmt: skip
MOST_TESTS = 60
LONGEST_S = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """Which tests ran which line, and which any line, of each file (paths from the project's folder)."""

    by_line: Mapping[str, Mapping[int, Sequence[str]]]
    lines_of: Mapping[str, int]

    def tests_of(self, path: str, line: int) -> list[str]:
        """Those that ran the line, or any of the file if it runs at import; the most particular first."""
        lines = self.by_line.get(path, {})
        tests = lines.get(line) or {test for tests in lines.values() for test in tests}
        return sorted(tests, key=lambda test: (self.lines_of[test], test))[:MOST_TESTS]


def touched(tests: Sequence[str]) -> Touched:
    """Which test ran which line: read, or found out by running them if the code is another by now."""
    state = subprocess.run(
        ["git", "rev-parse", "HEAD"], cwd=PROJECT, capture_output=True, text=True, check=True
    ).stdout.strip()
    data = KEPT / f"{state}.coverage"
    if not data.exists():
        KEPT.mkdir(parents=True, exist_ok=True)
        settings = KEPT / "coverage.ini"
        settings.write_text(f"[run]\nsource =\n    {chr(10).join(f'    {one}' for one in PRODUCT).strip()}\n")
        subprocess.run(
            [
                sys.executable, "-m", "pytest", "-q", "-n", "2", "--dist", "loadscope", "--cov",
                f"--cov-config={settings}", "--cov-context=test", "--cov-report=", *tests,
            ],
            cwd=PROJECT, check=True,
            env={**os.environ, "COVERAGE_FILE": str(data), "ROUNDLAY_COVER_ALL": "1"},
        )  # fmt: skip
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


def traceable() -> list[str]:
    """The test files and folders whose tests run the product in their own process."""
    every = sorted((PROJECT / "tests").iterdir())
    return [
        f"tests/{one.name}"
        for one in every
        if one.name not in NOT_TRACED and (one.name.startswith("test_") or any(one.glob("**/test_*.py")))
    ]


def sampled(count: int, seed: int, only: Sequence[str]) -> list[tuple[str, Change]]:
    """So many changes of the product, each as likely as any other."""
    paths = sorted({path for pattern in MUTATED for path in PROJECT.glob(pattern)})
    names = [path.relative_to(PROJECT).as_posix() for path in paths]
    every = [
        (name, change)
        for name in names
        if not any(part in f"/{name}" for part in LEFT_OUT) and (not only or name.startswith(tuple(only)))
        for change in changes_of((PROJECT / name).read_text())
    ]
    return random.Random(seed).sample(every, min(count, len(every)))


def _copies(count: int) -> Iterator[Path]:
    """Copies of what git knows, each with the compiled kernels and this environment."""
    names = subprocess.run(["git", "ls-files", "-z"], cwd=PROJECT, capture_output=True, text=True, check=True)
    for _ in range(count):
        place = Path(tempfile.mkdtemp(prefix="roundlay-mutants-"))
        for name in filter(None, names.stdout.split("\0")):
            (place / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(PROJECT / name, place / name)
        search = Path("planning") / "core" / "search" / "__pycache__"
        if (PROJECT / search).exists():
            shutil.copytree(PROJECT / search, place / search)
        yield place


def is_noticed(place: Path, path: str, change: Change, tests: Sequence[str]) -> bool:
    """Whether a test fails, or never ends, with the change made in the copy at `place`."""
    if not tests:
        return False
    file = place / path
    text = file.read_text()
    file.write_text(change.applied(text))
    try:
        command = [sys.executable, "-m", "pytest", "-q", "-x", *tests]
        done = subprocess.run(command, cwd=place, capture_output=True, timeout=LONGEST_S, check=False)
    except subprocess.TimeoutExpired:
        return True
    finally:
        file.write_text(text)
    return done.returncode != 0


def main() -> int:
    reader = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    reader.add_argument("--sample", type=int, default=300)
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    reader.add_argument("--only", nargs="*", default=[], help="beginnings of the files' paths")
    reader.add_argument("--tests", nargs="*", help="files or folders, instead of all that can be traced")
    given = reader.parse_args()
    tests = given.tests or traceable()
    known, sample = touched(tests), sampled(given.sample, given.seed, given.only)
    free: Queue[Path] = Queue()
    for place in _copies(given.jobs):
        free.put(place)

    def tried(one: tuple[str, Change]) -> bool:
        path, change = one
        place = free.get()
        try:
            noticed = is_noticed(place, path, change, known.tests_of(path, change.line))
        finally:
            free.put(place)
        if not noticed:
            sys.stdout.write(f"{path}:{change.line}: {change.old} -> {change.new}\n")
            sys.stdout.flush()
        return noticed

    try:
        with ThreadPoolExecutor(given.jobs) as pool:
            noticed = sum(pool.map(tried, sample))
    finally:
        while not free.empty():
            shutil.rmtree(free.get(), ignore_errors=True)
    sys.stdout.write(f"seed {given.seed}: noticed {noticed} of {len(sample)}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
