"""Crews that have everything, made once for each file of tests; what a test does to them is undone."""

from collections.abc import Iterator
from typing import Any

import pytest

from tests.operations.world import World, made


@pytest.fixture(scope="module")
def world(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    """Two crews."""
    with made(django_db_blocker, foreign=True) as found:
        yield found


@pytest.fixture(scope="module")
def alone(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    """One crew, for what needs no other."""
    with made(django_db_blocker, foreign=False) as found:
        yield found


@pytest.fixture(autouse=True)
def _as_many_requests_as_wanted(db: None, settings: Any) -> None:
    settings.REQUESTS_PER_MINUTE = settings.KEYLESS_REQUESTS_PER_MINUTE = 0
