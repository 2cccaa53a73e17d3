"""What a web process loads: everything it answers with, and nothing of the solver."""

import os
import subprocess
import sys

from config.home import PROJECT

# Large, and for workers, printing and those alone who ask for a take-off.
NOT_IN_WEB = (
    "numba",
    "numpy",
    "llvmlite",
    "scipy",
    "typst",
    "planning.core.search",
    "planning.core.plate_error",
)
_LOADED = """
import sys
import config.wsgi
from django.urls import get_resolver
assert get_resolver().url_patterns
from django.test import Client
assert Client().get("/health/live").status_code == 200
print(*sys.modules)
"""


def test_a_web_process_loads_nothing_of_the_solver_and_no_printing_press() -> None:
    env = os.environ | {"DJANGO_SETTINGS_MODULE": "config.settings", "ROUNDLAY_ALLOWED_HOSTS": "testserver"}

    done = subprocess.run(
        [sys.executable, "-c", _LOADED], cwd=PROJECT, env=env, capture_output=True, text=True, check=False
    )

    assert done.returncode == 0, done.stderr
    loaded = done.stdout.split()
    assert "planning.plans.views" in loaded
    assert [name for name in loaded if name.startswith(NOT_IN_WEB)] == []
