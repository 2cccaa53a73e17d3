"""A pytest plugin: tools of the machine that some tests need and no package brings, a browser and Node.

Without one its tests are skipped, and the end of the run says so once. CI is held to have them all.
"""

import os
import shutil
from collections.abc import Sequence
from typing import Any

import pytest

CHROMIUMS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
_MISSING = "Not on this machine: "


def chromium() -> str:
    """A Chromium to drive: the one that CHROMIUM names, else the first found; the test needs it."""
    return os.environ.get("CHROMIUM") or _needed("a Chromium (or CHROMIUM=/path/to/one)", CHROMIUMS)


def node_tool(name: str) -> str:
    """`node` or `npm`; the test needs it."""
    return _needed(f"{name} of Node 20 or newer", (name,))


def _needed(words: str, names: Sequence[str]) -> str:
    for name in names:
        found = shutil.which(name)
        if found:
            return found
    if os.environ.get("CI") == "true":
        pytest.fail(f"{_MISSING}{words}. In CI it must be there: .ci/run installs it.")
    pytest.skip(f"{_MISSING}{words}")


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Say once for each tool how many tests were left out for want of it."""
    told: dict[str, int] = {}
    for report in terminalreporter.stats.get("skipped", []):
        reason = str(report.longrepr[2]) if isinstance(report.longrepr, tuple) else ""
        if _MISSING in reason:
            words = reason[reason.index(_MISSING) :]
            told[words] = told.get(words, 0) + 1
    for words, count in told.items():
        terminalreporter.write_line(f"{words}. {count} tests were left out.", yellow=True)
