"""The plain front end: what every page shares, signing in and out, and pages that open without a network."""

import hashlib
import re
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from typing import Any

from django.conf import settings
from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import URLResolver, get_resolver, path
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.timezone import now
from django.views.decorators.http import require_POST, require_safe

from crews.accounts.access import key_of, secret_hash
from crews.accounts.cookies import forget_key, keep_key
from crews.accounts.limits import count_keyless
from crews.accounts.sign_in_links import use_sign_in_link

# Nothing inline and nothing from another host: what a page runs and shows is a file of ours.
POLICY = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    ]
)
_KEY = re.compile(r"[\x21-\x7e]{1,200}")
_APPS = ("crews", "inventory", "cabins", "planning")
# A page's frame is the same for every id, so one is kept for all of them, under this one.
_ANY_ID = "00000000-0000-0000-0000-000000000000"
_NO_SIGNAL = "/no-signal"


def show(
    request: HttpRequest, template: str, *, status: int = 200, as_type: str = "text/html", **context: Any
) -> HttpResponse:
    """A page with its policy."""
    context["version"] = settings.VERSION
    answer = render(request, template, context, content_type=f"{as_type}; charset=utf-8", status=status)
    answer.headers["Content-Security-Policy"] = POLICY
    answer.headers["Cache-Control"] = "no-cache"
    return answer


def page(template: str, *, works_without_signal: bool = False, **context: Any) -> Callable[..., HttpResponse]:
    """A view of a page's frame, the same for everybody: its script asks the API for what belongs in it.

    A page that works without a signal is kept by every phone from its first visit on; of the others the phone
    says that they need one.
    """

    @require_safe
    def view(request: HttpRequest, **_: Any) -> HttpResponse:
        return show(request, template, **context)

    view.works_without_signal = works_without_signal  # type: ignore[attr-defined]
    return view


def _pages_without_signal(patterns: Iterable[Any], start: str = "/") -> Iterator[str]:
    """The addresses of the pages that work without a signal, with the one id that stands for all."""
    for one in patterns:
        route = start + str(one.pattern)
        if isinstance(one, URLResolver):
            yield from _pages_without_signal(one.url_patterns, route)
        elif getattr(one.callback, "works_without_signal", False):
            yield route.replace("<uuid:id>", _ANY_ID)


def sign_in(request: HttpRequest) -> HttpResponse:
    """Ask for the access key once; a browser keeps none that opens nothing."""
    if request.method != "POST":
        return show(request, "crews/sign_in.html", refused="refused" in request.GET)
    key = request.POST.get("key", "").strip()
    if not _KEY.fullmatch(key) or not _opens(key):
        return _refused(request)
    answer = HttpResponseRedirect(_own_page(request.POST.get("wanted", "")))
    keep_key(answer, key)
    return answer


def sign_in_by_link(request: HttpRequest) -> HttpResponse:
    """The page that a sign-in link opens; its script sends what the link holds, and this browser gets a key.

    Nothing is used up by looking: what opens links to preview them sends nothing.
    """
    if request.method != "POST":
        return show(request, "crews/sign_in_link.html")
    key = use_sign_in_link(request.POST.get("link", ""), at=now())
    if key is None:
        allowance = count_keyless(request)
        too_often = allowance is not None and allowance.used_up
        return HttpResponse(status=429 if too_often else 410)
    answer = HttpResponse(status=204)
    keep_key(answer, key)
    return answer


def _own_page(wanted: str) -> str:
    """The page that was asked for before signing in, if it is one of ours; else the first one."""
    ours = wanted.startswith("/") and not wanted.startswith(("/api/", "/sign-"))
    return wanted if ours and url_has_allowed_host_and_scheme(wanted, allowed_hosts=None) else "/"


def _opens(key: str) -> bool:
    """True if the key opens something, or if nobody can say just now."""
    try:
        return key_of(secret_hash(key), now()) is not None
    except (OperationalError, InterfaceError):
        return True


def _refused(request: HttpRequest) -> HttpResponse:
    """Back to the field; after too many tries from one address with a word to wait."""
    allowance = count_keyless(request)
    if allowance is None or not allowance.used_up:
        return HttpResponseRedirect("/sign-in?refused")
    return allowance.told(show(request, "crews/sign_in.html", too_often=True, status=429))


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:  # noqa: ARG001 - Django hands its views a request
    """Take the key from the browser; what it has not sent yet stays there."""
    answer = HttpResponseRedirect("/sign-in")
    forget_key(answer)
    return answer


@cache
def _static_files() -> tuple[str, tuple[str, ...]]:
    """A mark that changes with any file of the pages, and the files' addresses."""
    told, found = hashlib.sha256(), []
    for app in _APPS:
        root = settings.BASE_DIR / app
        for file in sorted([*root.glob("templates/**/*.*"), *root.glob("static/**/*.*")]):
            told.update(file.read_bytes())
            if "static" in file.relative_to(root).parts[:1]:
                found.append(settings.STATIC_URL + file.relative_to(root / "static").as_posix())
    return told.hexdigest()[:16], tuple(found)


@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker: it keeps the pages' frames and files, never what the API answers."""
    mark, files = _static_files()
    pages = ["/", *_pages_without_signal(get_resolver().url_patterns)]
    return show(
        request, "crews/worker.js", as_type="text/javascript",
        mark=mark, pages=pages, files=files, any_id=_ANY_ID, no_signal=_NO_SIGNAL,
    )  # fmt: skip


urlpatterns = [
    path("sign-in", sign_in, name="sign-in"),
    path("sign-in/link", sign_in_by_link, name="sign-in-link"),
    path("sign-out", sign_out, name="sign-out"),
    path("crew", page("crews/crew.html"), name="crew-page"),
    path("no-signal", page("crews/no_signal.html", works_without_signal=True), name="no-signal-page"),
    path("worker.js", worker, name="worker"),
]
