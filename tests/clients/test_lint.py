"""What two common linters of OpenAPI find in the schema: nothing."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.clients.conftest import HERE, SCHEMA
from tests.machine_tools import node_tool


@pytest.fixture(scope="module")
def linters(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("lint") / "linters"
    shutil.copytree(HERE / "lint", folder, ignore=shutil.ignore_patterns("node_modules"))
    install = [node_tool("npm"), "ci", "--ignore-scripts", "--prefer-offline", "--no-audit", "--no-fund"]
    subprocess.run(install, cwd=folder, check=True, capture_output=True, timeout=600)
    return folder


@pytest.mark.parametrize(
    "lint",
    [
        ["redocly", "lint", "--extends", "recommended"],
        ["spectral", "lint", "--fail-severity", "hint", "--ruleset", ".spectral.yaml"],
    ],
    ids=lambda lint: lint[0],
)
def test_a_linter_finds_nothing_in_the_schema(linters: Path, lint: list[str]) -> None:
    env = os.environ | {"REDOCLY_TELEMETRY": "off"}
    done = subprocess.run(
        [node_tool("npx"), "--no-install", *lint, str(SCHEMA)], cwd=linters, env=env, capture_output=True,
        text=True, check=False, timeout=600,
    )  # fmt: skip

    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    assert "warning" not in done.stdout, done.stdout[-3000:]
