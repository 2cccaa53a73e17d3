"""The id of the request at hand: taken from the caller or made here, in every log line and answer."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from uuid import uuid4

HEADER = "X-Request-Id"
_current: ContextVar[str] = ContextVar("request_id", default="")


def current_request_id() -> str:
    """The id of the request being answered; empty outside of one."""
    return _current.get()


@contextmanager
def request_id(given: str | None) -> Iterator[str]:
    """The id while the block runs: the one given if it is 1 to 100 plain signs, else a new one."""
    fit = given and re.fullmatch(r"[A-Za-z0-9._-]{1,100}", given)
    mark = _current.set(given if given and fit else uuid4().hex)
    try:
        yield _current.get()
    finally:
        _current.reset(mark)
