"""Two workers at one queue: fair between crews, nothing run twice, one of them killed on the way."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from config.home import PROJECT


def measured(tmp_path: Path, *more: str) -> dict[str, Any]:
    """What the command found out, with small yards and jobs of a second."""
    env = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    figures = tmp_path / "figures.json"
    done = subprocess.run(
        [sys.executable, "-m", "tests.scale.workers", "--json", str(figures), *more],
        cwd=PROJECT, env=env, capture_output=True, text=True, check=False, timeout=1800,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr[-3000:]
    found: dict[str, Any] = json.loads(figures.read_text())
    return found


def test_two_workers_are_fair_run_nothing_twice_and_outlive_one_of_them(tmp_path: Path) -> None:
    found = measured(tmp_path, "--workers", "2", "--kill-one", "--greedy", "10", "--each", "1")

    jobs = found["jobs"]
    assert len(jobs) == 20
    assert {job["state"] for job in jobs} == {"done"}
    assert len({job["plan"] for job in jobs}) == len(jobs), "a plan for each job, and one only"
    assert found["killed_at_work"], "the worker that was killed had taken jobs up"
    # The crew with ten jobs asked first, and yet all the others' jobs were begun before most of its.
    begun = [job["crew"] for job in sorted(jobs, key=lambda job: job["first_begun_at"])]
    last_of_others = max(at for at, crew in enumerate(begun) if crew != "greedy")
    assert begun[last_of_others:].count("greedy") >= 5, begun
    # Only what the killed worker had at hand was begun a second time.
    again = [job for job in jobs if job["runs"] > 1]
    assert {job["id"] for job in again} <= set(found["at_hand_when_killed"])
