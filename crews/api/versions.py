"""Integer versions as ETags: If-Match in, ETag out, 412 and 428."""

import re
from typing import Any

from django.http import HttpRequest
from rest_framework.request import Request

from crews.api.problems import MalformedRequest, Refusal


class VersionNeeded(Refusal):
    """Say which version you are changing: send its ETag in If-Match."""

    status = 428


class VersionStale(Refusal):
    """Someone changed this since you read it; nothing was stored. The current state is in `current`."""

    status = 412


def etag(version: int) -> str:
    return f'"{version}"'


def if_match(request: HttpRequest | Request) -> int | None:
    """The version named in If-Match; None without the header."""
    text = request.META.get("HTTP_IF_MATCH")
    if text is None:
        return None
    found = re.fullmatch(r'\s*"(\d{1,9})"\s*', text)
    if not found:
        raise MalformedRequest('If-Match takes one ETag as given by this service, such as "3".')
    return int(found[1])


def check_version(*, expected: int | None, current: int, row: dict[str, Any] | None = None) -> None:
    """Refuse a change that does not name the version it changes, or names an old one."""
    if expected is None:
        raise VersionNeeded(current_version=current)
    if expected != current:
        raise VersionStale(current_version=current, current=row)
