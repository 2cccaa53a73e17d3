"""The few addresses outside the API and its pages: the way in, and the schema."""

import gzip
import hashlib
import sys
from functools import cache
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import DatabaseError, InterfaceError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import Resolver404, resolve
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import condition, require_safe

from cabins.pages import home as cabins
from config.docs_pages import asked_by_a_person
from crews.accounts.pages import show
from crews.api.conditional import takes_gzip
from crews.api.problems import InternalError, NotFound, problem_response, refusal_of


def home(request: HttpRequest) -> HttpResponse:
    """Where to go from here: a person to the cabins, a program to the API."""
    program = JsonResponse(
        {"api": "/api/v1/", "guide": "/docs", "docs": "/api/docs", "schema": "/api/openapi.yaml"}
    )
    answer = cabins(request) if asked_by_a_person(request) else program
    patch_vary_headers(answer, ["Accept"])
    return answer


@cache
def _schema() -> tuple[bytes, bytes, str]:
    """The schema file, the same compressed, and its ETag."""
    text = (settings.BASE_DIR / "docs" / "openapi.yaml").read_bytes()
    return text, gzip.compress(text, mtime=0), f'W/"{hashlib.sha256(text).hexdigest()[:32]}"'


@require_safe
@condition(etag_func=lambda _: _schema()[2])
def schema(request: HttpRequest) -> HttpResponse:
    """docs/openapi.yaml, read once a process."""
    text, compressed, _ = _schema()
    packed = takes_gzip(request.headers.get("Accept-Encoding", ""))
    answer = HttpResponse(compressed if packed else text, content_type="application/yaml")
    if packed:
        answer["Content-Encoding"] = "gzip"
    patch_vary_headers(answer, ["Accept-Encoding"])
    return answer


def not_found(request: HttpRequest, exception: Any = None) -> HttpResponse:
    if asked_by_a_person(request) and not request.path.startswith("/api/"):
        return show(request, "crews/missing.html", status=404)
    return problem_response(NotFound(_malformed_id(request.path)))


_ANY_ID = "00000000-0000-0000-0000-000000000000"


def _malformed_id(path: str) -> str:
    """What is wrong where an address would be one but for a part that should be an id; else ""."""
    parts = path.split("/")
    for at, part in enumerate(parts):
        if part and not _is_id(part):
            try:
                resolve("/".join([*parts[:at], _ANY_ID, *parts[at + 1 :]]))
            except Resolver404:
                continue
            return f"{part[:60]!r} is no id: ids are UUIDs, such as 3f0c2f5e-6f0b-4a57-9a53-0d1c4f1f8a11."
    return ""


def _is_id(part: str) -> bool:
    try:
        return str(UUID(part)) == part
    except ValueError:
        return False


def server_error(request: HttpRequest) -> HttpResponse:
    """What nobody foresaw outside of the API's views; a database that is gone is no such thing."""
    error = sys.exception()
    foreseen = refusal_of(error) if isinstance(error, DatabaseError | InterfaceError | OSError) else None
    return problem_response(foreseen or InternalError())
