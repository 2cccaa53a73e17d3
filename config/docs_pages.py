"""The guide, served where its reader is: docs/ and the changelog as pages, rendered from Markdown."""

import re
from functools import cache
from pathlib import Path

import yaml
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.cache import patch_vary_headers
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe
from markdown_it import MarkdownIt
from markdown_it.token import Token

from crews.accounts.pages import show
from crews.api.problems import NotFound, problem_response
from crews.api.render import json_bytes

AT_THE_TOP = ("README.md", "DEVELOPERS.md", "CHANGELOG.md")
# What else is served as it is: an example to read, and one to use, whose script stands in it.
_PLAIN = {".py": "text/plain", ".toml": "text/plain", ".svg": "image/svg+xml"}
_EXAMPLE_POLICY = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; connect-src 'self'; "
    "form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)


def asked_by_a_person(request: HttpRequest) -> bool:
    """Whether a browser asks; other programs take anything, or JSON."""
    return "text/html" in request.headers.get("Accept", "")


@cache
def _files() -> dict[str, Path]:
    """Every file of docs/, and those beside it that its pages lead to, by path."""
    root = settings.BASE_DIR
    found = [one for one in (root / "docs").rglob("*") if one.is_file()]
    return {one.relative_to(root).as_posix(): one for one in [*found, *(root / name for name in AT_THE_TOP)]}


@require_safe
def docs_index(request: HttpRequest) -> HttpResponse:
    """The guide's first page: its links are relative, so that its address has to lie where the others do."""
    return HttpResponseRedirect("/docs/index.md")


@require_safe
def docs_page(request: HttpRequest, name: str) -> HttpResponse:
    """A page by its path in the repository, so that the pages' links lead on."""
    file = _files().get(name) or _files().get(f"{name}.md")
    if name == "docs/openapi.yaml":
        return HttpResponseRedirect("/api/openapi.yaml")
    if file is None:
        raise Http404
    if file.suffix == ".md":
        return _shown(request, file.read_text())
    if file.suffix == ".html":
        return HttpResponse(file.read_text(), headers={"Content-Security-Policy": _EXAMPLE_POLICY})
    if file.suffix not in _PLAIN:
        raise Http404
    return HttpResponse(file.read_text(), content_type=f"{_PLAIN[file.suffix]}; charset=utf-8")


@require_safe
def problems_index(request: HttpRequest) -> HttpResponse:
    """Every problem type."""
    return HttpResponseRedirect("/docs/api/problems.md")


@require_safe
def problem_page(request: HttpRequest, slug: str) -> HttpResponse:
    """What a problem's `type` means: its part of docs/api/problems.md."""
    text = (settings.BASE_DIR / "docs" / "api" / "problems.md").read_text()
    found = re.search(rf"^## {re.escape(slug)}\n(.*?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
    if found is None:
        answer = problem_response(NotFound("There is no such problem type."))
    elif asked_by_a_person(request):
        more = "\n\n[Every problem type](/docs/api/problems.md)\n"
        answer = _shown(request, f"# {slug}\n{found[1]}{more}")
    else:
        answer = HttpResponse(f"{slug}\n\n{found[1].strip()}\n", content_type="text/plain; charset=utf-8")
    patch_vary_headers(answer, ["Accept"])
    return answer


def _shown(request: HttpRequest, text: str) -> HttpResponse:
    title = re.search(r"^# (.+)$", text, re.MULTILINE)
    html = mark_safe(rendered(text))
    return show(request, "crews/docs.html", title=title[1] if title else "Guide", html=html)


def rendered(text: str) -> str:
    """Markdown as HTML; each heading can be linked to."""
    md = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = md.parse(text)
    for at, token in enumerate(tokens):
        if token.type == "heading_open":
            token.attrSet("id", _anchor(tokens[at + 1]))
    return str(md.renderer.render(tokens, md.options, {}))


def _anchor(heading: Token) -> str:
    return re.sub(r"[^\w]+", "-", heading.content.lower()).strip("-")


@cache
def _operations() -> bytes:
    """What there is under /api/v1/, from the schema file."""
    kept = yaml.load((settings.BASE_DIR / "docs" / "openapi.yaml").read_text(), Loader=yaml.CSafeLoader)
    found = [
        {"operation": told["operationId"], "method": method.upper(), "path": path, "summary": told["summary"]}
        for path, methods in kept["paths"].items()
        for method, told in methods.items()
    ]
    links = {"guide": "/docs", "schema": "/api/openapi.yaml", "try": "/api/docs", "problems": "/problems"}
    return json_bytes({**links, "operations": found})


@require_safe
def api_root(request: HttpRequest) -> HttpResponse:
    """A short list of every operation, for whoever has the address alone."""
    return HttpResponse(_operations(), content_type="application/json")
