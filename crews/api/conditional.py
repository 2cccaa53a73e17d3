"""What is read again costs few bytes: a tag of what is shown, 304 if it is the same, gzip if it is not.

A tag has two parts, `"3.c9f86d081884c7d65"`: the version to edit by, where there is one, and a digest of what
is shown, which may change under the same version. If-Match looks at the first alone (crews/api/versions.py),
If-None-Match at both.
"""

import hashlib
import re
from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_vary_headers
from django.utils.http import parse_etags
from django.utils.text import compress_sequence, compress_string

Answer = Callable[[HttpRequest], HttpResponse]
# Drawings, tables and texts; PDF, XLSX and archives are packed as they are.
_WORTH_PACKING = re.compile(r"text/|image/(svg|vnd\.dxf)|application/(problem\+)?(json|javascript|yaml)")
_LEAST_BYTES = 500
# So that nobody can tell from a length whether their own words stand beside a secret in the answer (BREACH).
_RANDOM_BYTES = 100


class ConditionalReads:
    """Middleware: every answer to a GET has a tag of its content; who has it already is told 304."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        if request.method not in ("GET", "HEAD") or answer.status_code != 200 or answer.streaming:
            return answer
        if not request.path.startswith("/api/v1/"):
            return answer
        version = answer.headers.get("ETag", "").strip('"')
        digest = hashlib.blake2b(answer.content, digest_size=8).hexdigest()
        answer.headers["ETag"] = tag = f'"{version}.c{digest}"' if version else f'"c{digest}"'
        held = _tags_held(request) & {tag, packed_tag(tag), "*"}
        return _not_modified(answer, tag if "*" in held else held.pop()) if held else answer


def packed_tag(tag: str) -> str:
    """The tag of the same content as gzip: other bytes have another tag."""
    return f'{tag[:-1]}.gz"'


def _tags_held(request: HttpRequest) -> set[str]:
    return {one.removeprefix("W/") for one in parse_etags(request.headers.get("If-None-Match", ""))}


_OF_THE_BODY = {
    "content-type",
    "content-length",
    "content-disposition",
    "content-encoding",
    "content-language",
}


def _not_modified(answer: HttpResponse, tag: str) -> HttpResponse:
    told = HttpResponse(status=304)
    del told.headers["Content-Type"]
    told.cookies = answer.cookies
    for name, value in answer.items():
        if name.lower() not in _OF_THE_BODY:
            told.headers[name] = value
    told.headers["ETag"] = tag
    return told


# Scripts and styles of all pages and of the interactive docs.
_FILES_KEPT = 200


class Compressed:
    """Middleware: texts go out as gzip to whoever takes it; files are packed once in a process."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response
        self._files: dict[tuple[str, str], bytes] = {}

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        kind = answer.headers.get("Content-Type", "")
        if "Content-Encoding" in answer.headers or not _WORTH_PACKING.match(kind) or _is_part(answer):
            return answer
        patch_vary_headers(answer, ["Accept-Encoding"])
        if not takes_gzip(request.headers.get("Accept-Encoding", "")):
            return answer
        if answer.streaming:
            return self._packed_file(request, answer)
        if len(answer.content) < _LEAST_BYTES:
            return answer
        answer.content = compress_string(answer.content, max_random_bytes=_RANDOM_BYTES)
        if request.path.startswith("/api/v1/") and "ETag" in answer.headers and answer.status_code == 200:
            answer.headers["ETag"] = packed_tag(answer.headers["ETag"])
        return _as_gzip(answer)

    def _packed_file(self, request: HttpRequest, answer: HttpResponse) -> HttpResponse:
        """A script or a style, which changes with its tag alone; what else streams is packed as it goes."""
        if request.method != "GET":
            return answer
        if "ETag" not in answer.headers:
            stream: Any = answer
            stream.streaming_content = compress_sequence(stream.streaming_content)
            answer.headers["Content-Encoding"] = "gzip"
            return answer
        name = (request.path, answer.headers["ETag"])
        packed = self._files.get(name)
        if packed is None:
            packed = compress_string(b"".join(answer))
            if len(self._files) < _FILES_KEPT:
                self._files[name] = packed
        answer.close()
        told = HttpResponse(packed, headers=dict(answer.items()))
        return _as_gzip(told)


def _is_part(answer: HttpResponse) -> bool:
    return answer.status_code == 206


def _as_gzip(answer: HttpResponse) -> HttpResponse:
    answer.headers["Content-Encoding"] = "gzip"
    answer.headers["Content-Length"] = str(len(answer.content))
    return answer


_CODING = re.compile(r"\s*(?P<name>[\w*-]+)\s*(?:;\s*q=(?P<weight>[\d.]+)\s*)?", re.ASCII)


def takes_gzip(accepted: str) -> bool:
    """Whether an Accept-Encoding header lets gzip in (RFC 9110, 12.5.3)."""
    found = [one for part in accepted.lower().split(",") if (one := _CODING.fullmatch(part))]
    weights = {one["name"]: one["weight"] for one in found}
    weight = weights.get("gzip", weights.get("*", "0"))
    return weight is None or weight.strip("0.") != ""
