"""`make audit`: known vulnerabilities in what is locked. Fails for those, says plainly if nobody knew.

pip-audit asks the index for advisories. An index without them, or none in reach, is no reason to stop work,
and none to believe that all is well: then this says that nothing was audited.
"""

import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from config.home import PROJECT

LOCK = PROJECT / "requirements-dev.lock"  # with all that the service needs as well
_SECONDS = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Audited:
    """What pip-audit found: how many packages it knew, those it did not, and what is wrong with which."""

    known: int
    unknown: tuple[str, ...]
    vulnerable: tuple[str, ...]


def read_report(text: str) -> Audited:
    """Of pip-audit's JSON. ValueError if it is none."""
    try:
        packages = json.loads(text)["dependencies"]
        known = [one for one in packages if "skip_reason" not in one]
        return Audited(
            known=len(known),
            unknown=tuple(one["name"] for one in packages if "skip_reason" in one),
            vulnerable=tuple(
                f"{one['name']} {one['version']}: {found['id']}"
                f" (mended in {', '.join(found['fix_versions']) or 'no version yet'})"
                for one in known
                for found in one["vulns"]
            ),
        )
    except (KeyError, TypeError) as odd:
        raise ValueError("not a report of pip-audit") from odd


def run_pip_audit() -> "subprocess.CompletedProcess[str]":
    command = [sys.executable, "-m", "pip_audit", "--no-deps", "--disable-pip", "--format", "json"]
    command += ["--progress-spinner", "off", "--requirement", str(LOCK)]
    return subprocess.run(command, cwd=PROJECT, capture_output=True, text=True, check=False, timeout=_SECONDS)


def audit(
    run: Callable[[], "subprocess.CompletedProcess[str]"], say: Callable[[str], None], lock: Path = LOCK
) -> int:
    """1 if something locked is known to be vulnerable, 2 if pip-audit cannot read the lock; else 0."""
    if not lock.exists():
        say(f"There is no {lock.name} to audit.")
        return 2
    try:
        done = run()
        found = read_report(done.stdout)
    except subprocess.TimeoutExpired:
        say("NOT AUDITED: the advisories could not be reached in time.")
        return 0
    except ValueError:
        say(f"NOT AUDITED: pip-audit gave no report.\n{done.stderr.strip()[-600:]}")
        return 0 if _out_of_reach(done.stderr) else 2
    for line in found.vulnerable:
        say(f"VULNERABLE: {line}")
    if found.vulnerable:
        return 1
    if not found.known:
        say(f"NOT AUDITED: the index has no advisories for any of {len(found.unknown)} packages.")
        return 0
    say(f"{found.known} packages have no known vulnerability.")
    if found.unknown:
        say(f"NOT AUDITED: {', '.join(found.unknown)}.")
    return 0


def _out_of_reach(told: str) -> bool:
    """True if pip-audit failed for want of the network, and not for a fault of ours."""
    return any(
        word in told
        for word in ("Connection", "connect", "Timeout", "timed out", "HTTPError", "ServiceError")
    )


def main() -> int:
    return audit(run_pip_audit, lambda text: print(text, flush=True))  # noqa: T201 - what the command is for


if __name__ == "__main__":
    sys.exit(main())
