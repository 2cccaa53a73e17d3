"""`Prefer: wait=25` (RFC 7240): an answer that comes as soon as there is something to tell, or after so long.

Whoever waits holds a thread of the web, so they take at most a quarter of them; beyond that an answer comes
at once with what is there, without `Preference-Applied`. Nobody waits within a transaction or with a
connection to the database: what is there is asked for again and again.
"""

import re
import time
from collections.abc import Callable
from threading import BoundedSemaphore
from typing import TypeVar

from django.conf import settings
from django.db import connection
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

Found = TypeVar("Found")
MOST_S = 25
_PAUSE_S = 0.25
_WAIT = re.compile(r'\s*wait\s*=\s*"?(\d{1,6})"?\s*(?:;.*)?', re.IGNORECASE | re.ASCII)
_places = BoundedSemaphore(max(1, settings.WEB_THREADS // 4))

PREFER = OpenApiParameter(
    "Prefer",
    str,
    OpenApiParameter.HEADER,
    description=f"`wait=25`: answer once there is something, or after so many seconds, {MOST_S} at most. "
    "`Preference-Applied` says that it was done; too many who wait are answered at once.",
)


def seconds_to_wait(request: Request) -> int:
    """The seconds that the client would wait for something; 0 without the wish."""
    found = [_WAIT.fullmatch(one) for one in request.headers.get("Prefer", "").split(",")]
    wishes = [min(MOST_S, int(one[1])) for one in found if one]
    return wishes[0] if wishes else 0


def answer_when(
    request: Request,
    ask: Callable[[], Found],
    *,
    there: Callable[[Found], bool],
    tell: Callable[[Found], Response],
) -> Response:
    """What `tell` makes of what `ask` finds, once that is something to tell or the time is over."""
    seconds = seconds_to_wait(request)
    if not seconds or not _places.acquire(blocking=False):
        return tell(ask())
    try:
        answer = tell(_found(ask, there, until=time.monotonic() + seconds))
    finally:
        _places.release()
    answer.headers["Preference-Applied"] = f"wait={seconds}"
    return answer


def _found(ask: Callable[[], Found], there: Callable[[Found], bool], *, until: float) -> Found:
    while not there(found := ask()) and (left := until - time.monotonic()) > 0:
        if not connection.in_atomic_block:
            connection.close()  # back into the pool, for those who do not wait
        time.sleep(min(_PAUSE_S, left))
    return found
