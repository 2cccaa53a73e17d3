"""`make mutants`: changes of rules, actions and protocol, sampled, and whether the tests notice each.

First the tests run once under coverage that keeps which test ran which line; `--tests` names fewer of them.
What it kept lies in .private/mutants and serves until the next commit. Then each sampled change is made in a
copy of the project, and the tests that ran its line run there, the most particular first. A change that none
of them notices is printed with file, line and change; what each came to stands in .private/mutants.

One database server serves all: each copy has a database of its own, made once.
"""

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from queue import Queue

from config.database import ServerPlace, running_server
from config.home import PROJECT
from tests.mutants.changes import Change, changes_of
from tests.mutants.touched import KEPT, touched

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
LONGEST_S = 150


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


@dataclass(slots=True, kw_only=True)
class Copy:
    """A copy of what git knows with the compiled kernels, in which changes are tried, and its database."""

    place: Path
    database: str
    _is_clean: bool = field(default=False, init=False)

    def notices(self, path: str, change: Change, tests: Sequence[str]) -> tuple[bool, str]:
        """Whether a test fails, or never ends, with the change made in the copy; and what was seen."""
        if not tests:
            return False, "no test runs it"
        file = self.place / path
        text = file.read_text()
        file.write_text(change.applied(text))
        made = "--reuse-db" if self._is_clean else "--create-db"
        self._is_clean = False  # a run that is cut off leaves rows behind
        try:
            done = subprocess.run(
                [sys.executable, "-m", "pytest", "-q", "-x", "--tb=line", "--reuse-db", made, *tests],
                cwd=self.place, env=os.environ | {"DATABASE_URL": self.database},
                timeout=LONGEST_S, capture_output=True, text=True, check=False,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return True, "it never ended"
        finally:
            file.write_text(text)
        self._is_clean = True
        return done.returncode != 0, f"{done.returncode} {' | '.join(done.stdout.splitlines()[-3:])}"


def _copies(count: int, server: ServerPlace) -> Iterator[Copy]:
    names = subprocess.run(["git", "ls-files", "-z"], cwd=PROJECT, capture_output=True, text=True, check=True)
    for number in range(count):
        place = Path(tempfile.mkdtemp(prefix="roundlay-mutants-"))
        for name in filter(None, names.stdout.split("\0")):
            (place / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(PROJECT / name, place / name)
        search = Path("planning") / "core" / "search" / "__pycache__"
        if (PROJECT / search).exists():
            shutil.copytree(PROJECT / search, place / search)
        yield Copy(place=place, database=server.url(f"copy{number}"))


def main() -> int:
    reader = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    reader.add_argument("--sample", type=int, default=300)
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    reader.add_argument("--only", nargs="*", default=[], help="beginnings of the files' paths")
    reader.add_argument("--tests", nargs="*", help="files or folders, instead of all that can be traced")
    given = reader.parse_args()
    known = touched(given.tests or traceable(), jobs=given.jobs)
    sample = sampled(given.sample, given.seed, given.only)
    free = Queue[Copy]()

    def tried(one: tuple[str, Change]) -> bool:
        path, change = one
        copy = free.get()
        try:
            noticed, seen = copy.notices(path, change, known.tests_of(path, change))
        finally:
            free.put(copy)
        told = f"{path}:{change.line}: {change.old} -> {change.new}"
        log.write(f"{'noticed' if noticed else 'SURVIVED'} {told}  {seen}\n")
        log.flush()
        if not noticed:
            sys.stdout.write(f"{told}\n")
            sys.stdout.flush()
        return noticed

    with ExitStack() as stack:
        home = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="roundlay-mutants-")))
        server = ServerPlace(data=home / "data", sockets=home / "sockets")
        home.chmod(0o755)  # root's server runs as another user
        stack.enter_context(running_server(server, lasting=False))
        log = stack.enter_context((KEPT / f"seed-{given.seed}.log").open("w"))
        for copy in _copies(given.jobs, server):
            stack.callback(shutil.rmtree, copy.place, ignore_errors=True)
            free.put(copy)
        with ThreadPoolExecutor(given.jobs) as pool:
            noticed = sum(pool.map(tried, sample))
    sys.stdout.write(f"seed {given.seed}: noticed {noticed} of {len(sample)}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
