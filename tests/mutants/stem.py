"""A process that has imported everything that is not ours, and runs pytest in forks of itself.

What others wrote takes longer to import than most tests take to run. Nothing of the project is imported
here, so each fork reads it with the change that was made. Reads lines of JSON (`tests`, `seconds`, `seen`,
`create`), answers each with one: pytest's exit code, or null for a fork that was ended after `seconds`.
"""

import contextlib
import importlib
import json
import os
import signal
import sys
import time
import traceback
from collections.abc import Sequence

OTHERS = (
    "pytest", "_pytest.junitxml", "django.test", "django.core.management.commands.migrate", "django.forms",
    "django.db.models", "django.contrib.postgres", "hypothesis.strategies", "numba", "numpy", "psycopg_pool",
    "psycopg.types.json", "openpyxl", "yaml", "jsonschema_rs", "httpx", "scipy.integrate", "shapely", "pint",
    "whitenoise.middleware", "pypdf", "procrastinate",
)  # fmt: skip
PLUGINS = (
    "pytest_django.plugin", "_hypothesis_pytestplugin", "tests.postgres", "tests.machine_tools", "tests.live",
    "tests.mutants.seen",
)  # fmt: skip
# In place of the project's own, which deal tests out among processes.
OPTIONS = ("-o", "addopts=", "--strict-markers", "-p", "no:cacheprovider", "--import-mode=importlib")
WAIT_S = 0.01


def _import_others() -> None:
    for name in OTHERS:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)


def _arguments(tests: Sequence[str], *, create: bool) -> list[str]:
    plugins = [part for name in PLUGINS for part in ("-p", name)]
    return [
        *OPTIONS,
        *plugins,
        "-q",
        "-x",
        "--tb=line",
        "--reuse-db",
        *(["--create-db"] if create else []),
        *tests,
    ]


def _run(arguments: Sequence[str], printed: str) -> int:
    """pytest, in this fork and its own group; what it prints goes to a file."""
    os.setsid()
    sheet = os.open(printed, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    for number in (1, 2):
        os.dup2(sheet, number)
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    return int(importlib.import_module("pytest").main(list(arguments)))


def _ended(fork: int, seconds: float) -> int | None:
    """How the fork ended; None if it was ended for having run too long."""
    until = time.monotonic() + seconds
    code = None
    while time.monotonic() < until:
        found, status = os.waitpid(fork, os.WNOHANG)
        if found:
            code = os.waitstatus_to_exitcode(status)
            break
        time.sleep(WAIT_S)
    with contextlib.suppress(ProcessLookupError):  # the fork, if it runs still, and what it started
        os.killpg(fork, signal.SIGKILL)
    if code is None:
        os.waitpid(fork, 0)
    return code


def main() -> None:
    _import_others()
    for line in sys.stdin:
        asked = json.loads(line)
        os.environ["ROUNDLAY_TESTS_SEEN"] = asked["seen"]
        fork = os.fork()
        if not fork:
            code = 3
            try:
                code = _run(_arguments(asked["tests"], create=asked["create"]), asked["printed"])
            except BaseException:
                traceback.print_exc()
            finally:
                sys.stdout.flush()
                sys.stderr.flush()
                os._exit(code)
        sys.stdout.write(f"{json.dumps(_ended(fork, asked['seconds']))}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
