"""A pytest plugin: which tests stay in one pytest process, because they share something costly.

pytest-xdist deals every other test out by itself.
"""

from pathlib import PurePosixPath
from typing import Any

import pytest
from xdist.scheduler import LoadScopeScheduling

# An archive of a whole crew.
FOLDERS = {"archive"}
# Screens and clients of the live service, one in each process that gets such a file.
FILES_OF = {"browser", "clients"}
# A service started again; worlds of rows.
FILES = {"test_service.py", "test_isolation.py", "test_hostile.py", "test_query_counts.py", "test_units.py"}


class Together(LoadScopeScheduling):
    """Deals out groups of tests, and all that are in none one by one."""

    def _split_scope(self, nodeid: str) -> str:
        path = PurePosixPath(nodeid.partition("::")[0])
        folder = path.parent.name
        if folder in FOLDERS:
            return folder
        return str(path) if folder in FILES_OF or path.name in FILES else nodeid


@pytest.hookimpl
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Together:
    return Together(config, log)
