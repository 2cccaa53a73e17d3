"""DEVELOPERS.md's recipe for a field, followed to the letter in a copy of the tree."""

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
LEFT_OUT = shutil.ignore_patterns(".*", "node_modules", "mutants")
EDIT = re.compile(r"In `([^`]+)`:\n\n```\n(.*?\n)(.*?)```", re.DOTALL)
THE_TEST = """
from tests.inventory.test_logs import *

def test_a_log_bears_its_paint_mark(learner, yard):
    log = f"logs/{uuid4()}"
    body = a_log(yard)

    charted = learner.put(log, {**body, "paint_mark": "two red bars"})
    sent_by_an_older_client = learner.put(log, {**body, "remarks": "Dry."}, version=charted.body["version"])

    assert charted.body["paint_mark"] == sent_by_an_older_client.body["paint_mark"] == "two red bars"
    chart = learner.get(f"yards/{yard}/chart").body.decode()
    assert "paint mark" in chart and "two red bars" in chart
"""
WHAT_ELSE_MUST_AGREE = [
    "tests/test_schema.py",
    "tests/test_migrations.py",
    "tests/operations/test_left_out.py",
]


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    tree = tmp_path / "roundlay"
    shutil.copytree(ROOT, tree, ignore=LEFT_OUT)
    return tree


def run(copy: Path, *command: str) -> None:
    env = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST_", "COV_"))}
    env |= {"ROUNDLAY_PRIVATE_DIR": str(copy.parent / "private"), "ROUNDLAY_SECRET_KEY": "of this test"}
    done = subprocess.run(
        command, cwd=copy, env=env, capture_output=True, text=True, check=False, timeout=500
    )
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]


def test_a_field_of_a_log_takes_three_lines_and_two_made_files(copy: Path):
    recipe = (ROOT / "DEVELOPERS.md").read_text().split("## To add a field")[1].split("\n## ")[0]
    edits = EDIT.findall(recipe)
    commands = re.search(r"```sh\n(.*?)```", recipe, re.DOTALL)[1].splitlines()

    for path, known, new in edits:
        text = (copy / path).read_text()
        assert text.count(known) == 1, f"{path} has no such line: {known}"
        (copy / path).write_text(text.replace(known, known + new))
    for command in commands:
        run(copy, *shlex.split(command.replace(".venv/bin/python", sys.executable)))
    (copy / "tests/inventory/test_paint_mark.py").write_text(THE_TEST)

    assert len(edits) == 3 and len(commands) == 2
    tests = ["tests/inventory/test_paint_mark.py::test_a_log_bears_its_paint_mark", *WHAT_ELSE_MUST_AGREE]
    run(copy, sys.executable, "-m", "pytest", "-q", *tests)
