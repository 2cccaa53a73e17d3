"""A pytest plugin: writes how each test ended and after how many seconds, a line of JSON each, as it goes."""

import json
import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis.internal.conjecture import engine

# That it fails is enough; the smallest example is nobody's business here.
engine.MAX_SHRINKING_SECONDS = 1
WHERE = "ROUNDLAY_TESTS_SEEN"


def _write(test: str, when: str, outcome: str, seconds: float) -> None:
    if "PYTEST_XDIST_WORKER" not in os.environ:
        with Path(os.environ[WHERE]).open("a") as file:
            file.write(
                json.dumps({"test": test, "when": when, "outcome": outcome, "seconds": seconds}) + "\n"
            )


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    _write(report.nodeid, report.when, report.outcome, report.duration)


def pytest_collectreport(report: Any) -> None:
    if report.failed:
        _write(report.nodeid, "collect", "failed", 0.0)
