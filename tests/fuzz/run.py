"""`make fuzz`: schemathesis over the whole schema against the running service; no 5xx, no undescribed answer.

On this machine alone, with a database of its own that is gone afterwards, and bounded by count: so many
examples of each operation and so many walks along the links between them. The same seed tries the same.
"""

import argparse
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from config.children import start_child, stop_child
from config.home import PROJECT
from config.run import HOST, manage, service_commands
from tests.bench.service import free_port, throwaway_database
from tests.schema import SCHEMA_FILE

CHECKS = [
    "not_a_server_error", "status_code_conformance", "content_type_conformance",
    "response_headers_conformance", "response_schema_conformance",
]  # fmt: skip
_TOO_LONG_S = 4 * 3600


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


@contextmanager
def fuzzed_service(folder: Path) -> Iterator[int]:
    """The web processes alone, on a crew that has everything: no worker sends or plans what is made up."""
    with throwaway_database():
        os.environ["ROUNDLAY_KEYLESS_REQUESTS_PER_MINUTE"] = "0"
        env = dict(os.environ) | {"ROUNDLAY_PRIVATE_DIR": str(folder)}
        manage("migrate", "--verbosity", "0", env=env, quiet=True)
        subprocess.run(
            [sys.executable, "-m", "tests.fuzz.world", str(folder / "world.json")],
            cwd=PROJECT, env=env, check=True,
        )  # fmt: skip
        port = free_port()
        web = start_child(service_commands(port)["web"], env=env)
        try:
            _await(port, web)
            yield port
        finally:
            stop_child(web, how=signal.SIGTERM, seconds=10)


def _await(port: int, web: "subprocess.Popen[bytes]") -> None:
    for _ in range(300):
        with socket.socket() as trial:
            if trial.connect_ex((HOST, port)) == 0:
                return
        if web.poll() is not None:
            break
        time.sleep(0.1)
    raise RuntimeError("The web process did not come up; what it printed above says why.")


def fuzz(*, phases: str, examples: int, seed: int | None, only: str, more: list[str]) -> int:
    """0 if every answer was one that the schema describes; prints what schemathesis found."""
    fixed = ["--generation-deterministic"]
    chance = fixed if seed is None else ["--seed", str(seed), "--generation-database", "none"]
    chosen = ["--include-operation-id-regex", only] if only else []
    with tempfile.TemporaryDirectory(prefix="roundlay-fuzz-") as made, fuzzed_service(Path(made)) as port:
        command = [
            str(Path(sys.executable).with_name("schemathesis")), "run", str(SCHEMA_FILE),
            "--url", f"http://{HOST}:{port}", "--checks", ",".join(CHECKS), "--phases", phases,
            "--max-examples", str(examples), *chance, *chosen,
            "--continue-on-failure", "--no-color", "--warnings", "off", "--max-redirects", "0",
            "--request-timeout", "60", "--suppress-health-check", "all", *more,
        ]  # fmt: skip
        env = dict(os.environ) | {
            "SCHEMATHESIS_HOOKS": "tests.fuzz.hooks", "FUZZ_WORLD": f"{made}/world.json",
            "PYTHONPATH": str(PROJECT), "DJANGO_SETTINGS_MODULE": "config.settings",
        }  # fmt: skip
        return subprocess.run(command, cwd=made, env=env, check=False, timeout=_TOO_LONG_S).returncode


def main() -> int:
    reader = argparse.ArgumentParser(description="schemathesis over the whole schema, on this machine.")
    reader.add_argument("--examples", type=int, default=100, choices=range(1, 5001), metavar="N")
    reader.add_argument("--phases", default="examples,coverage,fuzzing,stateful")
    reader.add_argument("--seed", type=int, help="without it every run tries the same")
    reader.add_argument("--only", default="", metavar="REGEX", help="operations whose id matches")
    asked, more = reader.parse_known_args()
    return fuzz(phases=asked.phases, examples=asked.examples, seed=asked.seed, only=asked.only, more=more)


if __name__ == "__main__":
    sys.exit(main())
