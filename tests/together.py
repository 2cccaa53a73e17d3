"""A pytest plugin: which tests stay in one pytest process, because they share something costly.

pytest-xdist deals every other test out by itself.
"""

from pathlib import PurePosixPath
from typing import Any

import pytest
from xdist.scheduler import LoadScopeScheduling

# The live service and generated clients; an archive of a whole crew; a service started again; worlds of rows.
FOLDERS = {"browser": "live", "clients": "live", "archive": "archive"}
FILES = {"test_service.py", "test_isolation.py", "test_hostile.py", "test_query_counts.py", "test_units.py"}


class Together(LoadScopeScheduling):
    """Deals out groups of tests, and all that are in none one by one."""

    def _split_scope(self, nodeid: str) -> str:
        path = PurePosixPath(nodeid.partition("::")[0])
        return FOLDERS.get(path.parent.name) or (path.name if path.name in FILES else nodeid)


@pytest.hookimpl
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Together:
    return Together(config, log)
