"""The short form of `make fuzz`: each operation tried, and some walks along the links between them."""

import os
import re
import subprocess
import sys

from config.home import PROJECT
from tests.operation_ids import operations


def test_no_made_up_request_gets_an_answer_that_is_not_described():
    command = [sys.executable, "-m", "tests.fuzz.run", "--examples", "1", "--phases", "fuzzing,stateful"]
    env = {
        name: value for name, value in os.environ.items() if not name.startswith(("DATABASE_", "ROUNDLAY_"))
    }

    done = subprocess.run(command, cwd=PROJECT, env=env, capture_output=True, text=True, timeout=600)

    assert done.returncode == 0, done.stdout[-6000:] + done.stderr[-2000:]
    [tested] = re.findall(r"Tested: (\d+)", done.stdout)
    assert int(tested) == len(operations())
    [tried] = re.findall(r"(\d+) generated, \d+ passed", done.stdout)
    assert int(tried) > len(operations())
