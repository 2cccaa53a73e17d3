"""`make mutants`: changes of rules, actions and protocol, sampled, and whether the tests notice each.

First the tests run once under coverage that keeps which test ran which line; `--tests` names fewer of them.
What it kept lies in .private/mutants and serves until the next commit. Then each sampled change is made in a
copy of the project, and the tests that ran its line run there, the most particular first. A change that none
of them notices, or that ends without a verdict, is printed with file, line and change; what each came to
stands in .private/mutants.

One database server serves all: each copy has a database of its own, made once.
"""

import argparse
import os
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path
from queue import Queue

from config.database import ServerPlace, running_server
from config.home import PROJECT
from tests.mutants.changes import Change, changes_of
from tests.mutants.touched import KEPT, touched
from tests.mutants.trying import Copy, Verdict

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

    def tried(one: tuple[str, Change]) -> Verdict:
        path, change = one
        copy = free.get()
        try:
            verdict, seen = copy.verdict(path, change, known.tests_of(path, change))
        finally:
            free.put(copy)
        told = f"{path}:{change.line}: {change.old} -> {change.new}"
        log.write(f"{verdict} {told}  {seen}\n")
        log.flush()
        if verdict != Verdict.NOTICED:
            sys.stdout.write(f"{told}{'' if verdict == Verdict.SURVIVED else f'  {verdict}: {seen}'}\n")
            sys.stdout.flush()
        return verdict

    with ExitStack() as stack:
        home = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="roundlay-mutants-")))
        server = ServerPlace(data=home / "data", sockets=home / "sockets")
        home.chmod(0o755)  # root's server runs as another user
        stack.enter_context(running_server(server, lasting=False))
        log = stack.enter_context((KEPT / f"seed-{given.seed}.log").open("w"))
        for number in range(given.jobs):
            copy = Copy.made(server.url(f"copy{number}"))
            stack.callback(copy.close)
            free.put(copy)
        with ThreadPoolExecutor(given.jobs) as pool:
            verdicts = Counter(pool.map(tried, sample))
    sys.stdout.write(
        f"seed {given.seed}: noticed {verdicts[Verdict.NOTICED]} of {len(sample)}"
        f" ({verdicts[Verdict.NONE]} without a verdict)\n"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
