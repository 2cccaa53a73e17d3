"""What every request passes on its way in and out: its id, its line in the log, limits, safe headers."""

import logging
import time
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.urls import Resolver404, resolve

from config import health, metrics
from crews.api.problems import BodyTooLarge, problem_response
from crews.api.request_ids import HEADER, request_id

log = logging.getLogger("roundlay.requests")
Answer = Callable[[HttpRequest], HttpResponse]


def operation_of(request: HttpRequest) -> str:
    """The operation's id in the schema; for addresses outside of it the route, or `unknown`."""
    try:
        match = request.resolver_match or resolve(request.path_info)
    except Resolver404:
        return "unknown"
    method = getattr(getattr(match.func, "view_class", None), str(request.method).lower(), None)
    return getattr(method, "operation_id", None) or match.route or "/"


class RequestNoted:
    """Gives the request its id, and tells the log and the metrics how it went."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        began = time.perf_counter()
        with request_id(request.headers.get(HEADER)) as id:
            answer = self.get_response(request)
            answer.headers[HEADER] = id
            self._note(request, answer, time.perf_counter() - began)
            return answer

    def _note(self, request: HttpRequest, answer: HttpResponse, seconds: float) -> None:
        operation = operation_of(request)
        metrics.note_request(operation, str(request.method), answer.status_code, seconds)
        told: dict[str, Any] = {
            "method": request.method,
            "path": request.path,
            "operation": operation,
            "status": answer.status_code,
            "duration_ms": round(seconds * 1000, 1),
            "member": getattr(request, "member_id", None),
        }
        level = logging.WARNING if answer.status_code >= 500 else logging.INFO
        log.log(level, "%s %s %s", request.method, request.path, answer.status_code, extra=told)


class WatchedByAnyName:
    """Answers whoever watches over the service by any name: they ask its address, not a host of ours."""

    _views = {"/health/live": health.live, "/health/ready": health.ready, "/metrics": metrics.metrics_page}

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        view = self._views.get(request.path)
        if view is None:
            return self.get_response(request)
        answer = view(request)
        answer.headers.setdefault("Content-Length", str(len(answer.content)))  # else the connection ends
        return answer


class HeadWithoutBody:
    """Answers HEAD as GET without the body, which would be taken for the beginning of the next answer."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        if request.method == "HEAD":
            length = answer.headers.get("Content-Length")
            if isinstance(answer, StreamingHttpResponse):
                answer.streaming_content = []
            else:
                answer.content = b""
            if length is not None:
                answer.headers["Content-Length"] = length
        return answer


class BodyLimited:
    """Refuses a body that is too large before a byte of it is read."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        length = request.headers.get("Content-Length") or "0"
        if length.isdigit() and int(length) > most:
            return problem_response(BodyTooLarge(f"This server reads bodies up to {most // 1024**2} MB."))
        return self.get_response(request)


# The interactive docs run what comes with them, ask this service alone, and style themselves.
_DOCS_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:;"
    " connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


class SafeHeaders:
    """The API's answers are data: a browser that shows one runs nothing in it and keeps no copy."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        if request.path.startswith("/api/v1/"):
            # A chart or a sheet is SVG with a style of its own.
            policy = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; sandbox"
            answer.headers.setdefault("Content-Security-Policy", policy)
            answer.headers.setdefault("Cache-Control", "private, no-cache")
        elif request.path == "/api/docs":
            answer.headers.setdefault("Content-Security-Policy", _DOCS_POLICY)
        return answer
