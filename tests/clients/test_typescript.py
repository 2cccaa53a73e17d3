"""The TypeScript client: types of every operation, compiled strictly; the main job done with them alone."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.browser.building import HEAD
from tests.cabins.building import a_layout
from tests.clients.conftest import HERE, SCHEMA
from tests.machine_tools import node_tool
from tests.schema import schema

# A default in the schema means that a field may be left out, not that a client has to give it.
_TYPES = ["openapi-typescript", str(SCHEMA), "--default-non-nullable=false", "-o", "schema.d.ts"]


def run(folder: Path, *command: str) -> str:
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, timeout=600)
    assert done.returncode == 0, f"{command[:3]}: {done.stdout[-3000:]}{done.stderr[-3000:]}"
    return done.stdout


@pytest.fixture(scope="session")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the locked packages, the generated types, and the main job compiled against them."""
    npm, npx, _ = node_tool("npm"), node_tool("npx"), node_tool("node")
    folder = tmp_path_factory.mktemp("typescript") / "client"
    shutil.copytree(HERE / "typescript", folder, ignore=shutil.ignore_patterns("node_modules"))
    run(folder, npm, "ci", "--ignore-scripts", "--prefer-offline", "--no-audit", "--no-fund")
    run(folder, npx, "--no-install", *_TYPES)
    run(folder, npx, "--no-install", "tsc", "--project", ".")
    return folder


def test_every_operation_has_its_types(compiled):
    operations = {
        operation["operationId"]
        for part in ("paths", "webhooks")
        for path in schema()[part].values()
        for operation in path.values()
    }

    typed = (compiled / "schema.d.ts").read_text().split("export interface operations {")[1]

    assert set(re.findall(r"^    (\w+): \{$", typed, re.MULTILINE)) == operations


def test_the_main_job_is_done_with_the_types_alone(compiled, live):
    lead = live.crew()
    rows = [f"{n + 1},R1,white spruce,{320 + 3 * n},{300 + 3 * n},{285 + 3 * n},6000,0,," for n in range(14)]
    chart = "\n".join([HEAD, *rows, ""])

    said = run(
        compiled, node_tool("node"), "made/main_job.js", live.root, lead.key, chart,
        json.dumps(a_layout(rounds=3)),
    )  # fmt: skip

    told = json.loads(said)
    progress = lead.get(f"cabins/{told['cabin']}/progress")
    assert (told["set"], told["measured"]) == (4, 8)
    assert (progress["rounds_complete"], progress["logs_set"]) == (1, 4)
    assert all(wall["start_is_measured"] and wall["end_is_measured"] for wall in progress["walls"])
    assert lead.get(f"plans/{told['plan']}")["state"] == "adopted"
