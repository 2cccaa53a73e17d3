"""The id of the request at hand: taken from the caller or made here, in every log line and answer."""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from types import MappingProxyType
from uuid import uuid4

HEADER = "X-Request-Id"
_current: ContextVar[str] = ContextVar("request_id", default="")
_at_work: ContextVar[Mapping[str, str]] = ContextVar("at_work", default=MappingProxyType({}))


def current_request_id() -> str:
    """The id of the request being answered; empty outside of one."""
    return _current.get()


def at_work_on() -> Mapping[str, str]:
    """What a worker is at, by name: the job and its crew; nothing outside of one."""
    return _at_work.get()


@contextmanager
def at_work(**names: str) -> Iterator[None]:
    """Every line of the log says these while the block runs."""
    mark = _at_work.set(names)
    try:
        yield
    finally:
        _at_work.reset(mark)


@contextmanager
def request_id(given: str | None) -> Iterator[str]:
    """The id while the block runs: the one given if it is 1 to 100 plain signs, else a new one."""
    fit = given and re.fullmatch(r"[A-Za-z0-9._-]{1,100}", given)
    mark = _current.set(given if given and fit else uuid4().hex)
    try:
        yield _current.get()
    finally:
        _current.reset(mark)
