"""The few addresses outside the API: the way in, and what each problem type means."""

import re
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse

from config.api.problems import InternalError, NotFound, problem_response


def home(request: HttpRequest) -> HttpResponse:
    """Where to go from here."""
    return JsonResponse({"api": "/api/v1/", "docs": "/api/docs", "schema": "/api/openapi.yaml"})


def problem_page(request: HttpRequest, slug: str) -> HttpResponse:
    """What a problem's `type` means: its part of docs/api/problems.md."""
    text = (settings.BASE_DIR / "docs" / "api" / "problems.md").read_text()
    found = re.search(rf"^## {re.escape(slug)}\n(.*?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
    if found is None:
        return problem_response(NotFound("There is no such problem type."))
    return HttpResponse(f"{slug}\n\n{found[1].strip()}\n", content_type="text/plain; charset=utf-8")


def not_found(request: HttpRequest, exception: Any = None) -> HttpResponse:
    return problem_response(NotFound())


def server_error(request: HttpRequest) -> HttpResponse:
    return problem_response(InternalError())
