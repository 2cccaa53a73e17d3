"""The soak's short form: every kind of client does one whole turn, nothing fails, nothing is left open."""

import json
import os
import subprocess
import sys
from pathlib import Path

from config.home import PROJECT

# What the lasting processes may hold at most: two web processes with four threads each, a planner with two
# jobs and the default queue with four, and the few by which workers listen and beat.
CONNECTIONS_MOST = 2 * (4 + 1) + (2 + 4) + 2 * 8


def test_twenty_seconds_of_mixed_load_without_an_error(tmp_path: Path) -> None:
    env = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    figures = tmp_path / "figures.json"

    done = subprocess.run(
        [sys.executable, "-m", "tests.soak.run", "--minutes", "0.33", "--clients", "4", "--pause", "0.02",
         "--turns", "1", "--json", str(figures)],
        cwd=PROJECT, env=env, capture_output=True, text=True, check=False, timeout=600,
    )  # fmt: skip

    assert done.returncode == 0, done.stdout + done.stderr[-3000:]
    found = json.loads(figures.read_text())
    assert found["errors"] == 0
    assert set(found["turns"]) == {"charting", "building", "buying", "reading"}
    connections = [sample["connections"] for sample in found["samples"]]
    assert max(connections) <= CONNECTIONS_MOST
    half = len(connections) // 2
    assert max(connections[half:]) <= max(connections[:half]) + 2, connections
