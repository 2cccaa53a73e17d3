"""Integer versions as ETags: If-Match in, ETag out, 412 and 428."""

import re
from dataclasses import dataclass
from typing import Any, Self

from django.http import HttpRequest
from rest_framework.request import Request

from crews.api.problems import MalformedRequest, Refusal


class VersionNeeded(Refusal):
    """Say which version you are changing: send its ETag in If-Match."""

    status = 428


class VersionStale(Refusal):
    """Someone changed this since you read it; nothing was stored. The current state is in `current`."""

    status = 412


@dataclass(frozen=True, slots=True)
class Expected:
    """The versions that a change may begin from; without `versions` from any that is stored (`*`)."""

    versions: frozenset[int] | None

    @classmethod
    def only(cls, *versions: int) -> Self:
        return cls(frozenset(versions))

    def allows(self, version: int) -> bool:
        return self.versions is None or version in self.versions


NO_VERSION = Expected.only()
# What may stand in a list of entity tags (RFC 9110, 8.8.3): our versions, and tags that are none.
_TAG = re.compile(r'(?P<weak>W/)?"(?P<opaque>[\x21\x23-\x7e\x80-\xff]*)"')

# A version as an answer to a change gives it, or with what was shown beside (crews/api/conditional.py).
_VERSION = re.compile(r"(?P<version>[0-9]{1,9})(\.c[0-9a-f]+(\.gz)?)?")


def etag(version: int) -> str:
    return f'"{version}"'


def if_match(request: HttpRequest | Request) -> Expected | None:
    """What If-Match names; None without the header. A weak tag, or one that is no version, matches none."""
    text = request.META.get("HTTP_IF_MATCH")
    if text is None:
        return None
    if text.strip() == "*":
        return Expected(None)
    tags = [_TAG.fullmatch(part.strip()) for part in re.findall(r'(?:[^,"]|"[^"]*")+', text)]
    if not tags or None in tags:
        raise MalformedRequest('If-Match takes ETags as given by this service, such as "3", or *.')
    named = [_VERSION.fullmatch(tag["opaque"]) for tag in tags if tag and not tag["weak"]]
    return Expected.only(*(int(one["version"]) for one in named if one))


def check_version(*, expected: Expected | None, current: int, row: dict[str, Any] | None = None) -> None:
    """Refuse a change that does not name the version it changes, or names an old one."""
    if expected is None:
        raise VersionNeeded(current_version=current)
    if not expected.allows(current):
        raise VersionStale(current_version=current, current=row)
