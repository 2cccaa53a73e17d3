"""A pytest plugin: a throwaway PostgreSQL for the tests, unless DATABASE_URL is given.

The address is fixed when pytest reads this plugin, before Django's settings; the server itself starts with
the first test that needs a database, one for each pytest process.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from config.database import ServerPlace, running_server

_OURS = "ROUNDLAY_THROWAWAY"
_PLACE = None
if not os.environ.get("DATABASE_URL") or os.environ.get(_OURS):
    _name = f"/tmp/roundlay-test-{os.getpid()}"
    _PLACE = ServerPlace(data=Path(f"{_name}-data"), sockets=Path(_name))
    os.environ["DATABASE_URL"] = _PLACE.url()
    os.environ[_OURS] = "1"  # a pytest-xdist process inherits this, and makes an address of its own

# Which crews are full is looked up once in ten seconds: that would come into any test that counts queries.
os.environ.setdefault("ROUNDLAY_CREW_MB", "0")


@pytest.fixture(scope="session")
def postgres() -> Iterator[None]:
    with ExitStack() as stack:
        if _PLACE:
            stack.callback(shutil.rmtree, _PLACE.sockets, ignore_errors=True)
            stack.callback(shutil.rmtree, _PLACE.data, ignore_errors=True)
            stack.enter_context(running_server(_PLACE, lasting=False))
        yield
