"""The audit fails for what is known to be vulnerable, and never says that what nobody looked at is well."""

import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from config.audit import LOCK, audit

WELL = {"name": "peeler", "version": "1.2", "vulns": []}
BAD = {"name": "scribe", "version": "0.9", "vulns": [{"id": "PYSEC-2026-1", "fix_versions": ["1.0"]}]}
UNMENDED = {"name": "adze", "version": "2", "vulns": [{"id": "PYSEC-2026-2", "fix_versions": []}]}
NOBODY_KNOWS = {"name": "wedge", "skip_reason": "Dependency not found on PyPI and could not be audited"}


def report(*packages: Any, code: int = 0) -> Callable[[], Any]:
    text = json.dumps({"dependencies": packages, "fixes": []})
    return lambda: subprocess.CompletedProcess([], code, stdout=text, stderr="")


def failing(told: str) -> Callable[[], Any]:
    return lambda: subprocess.CompletedProcess([], 1, stdout="", stderr=told)


def audited(run: Callable[[], Any], lock: Path = LOCK) -> tuple[int, str]:
    """The command's status, and what it said."""
    said: list[str] = []
    status = audit(run, said.append, lock)
    return status, "\n".join(said)


def test_what_is_known_to_be_vulnerable_fails():
    status, said = audited(report(WELL, BAD, UNMENDED, NOBODY_KNOWS, code=1))

    assert status == 1
    assert "scribe 0.9: PYSEC-2026-1 (mended in 1.0)" in said
    assert "adze 2: PYSEC-2026-2 (mended in no version yet)" in said


def test_what_is_known_to_be_well_passes():
    assert audited(report(WELL)) == (0, "1 packages have no known vulnerability.")


def test_what_nobody_knows_is_named():
    status, said = audited(report(WELL, NOBODY_KNOWS))

    assert status == 0
    assert "NOT AUDITED: wedge" in said


def test_an_index_without_advisories_is_said_to_have_audited_nothing():
    status, said = audited(report(NOBODY_KNOWS, NOBODY_KNOWS))

    assert status == 0
    assert said.startswith("NOT AUDITED")
    assert "no known vulnerability" not in said


@pytest.mark.parametrize("told", ["ConnectionError: refused", "ServiceError: ", "Read timed out"])
def test_advisories_out_of_reach_are_said_to_be_so(told):
    status, said = audited(failing(told))

    assert status == 0
    assert said.startswith("NOT AUDITED")


def test_a_hanging_service_is_out_of_reach():
    def hangs() -> Any:
        raise subprocess.TimeoutExpired("pip-audit", 1)

    assert audited(hangs)[0] == 0


@pytest.mark.parametrize("odd", [failing("invalid requirement on line 7"), report("no package")])
def test_a_lock_that_cannot_be_read_fails(odd):
    assert audited(odd)[0] == 2


def test_a_missing_lock_fails(tmp_path):
    assert audited(report(WELL), tmp_path / "requirements.lock")[0] == 2
