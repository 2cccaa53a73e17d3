"""How a page of ours is signed in: the access key lies in a cookie that no script can read."""

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse

COOKIE = "roundlay-key"
# The cookie goes to the API alone; the pages themselves hold no data and never see it.
_PATH = "/api/v1/"
KEPT_SECONDS = 90 * 24 * 3600
# No form and no other origin can send a header of this name: the API does not allow it across origins.
OWN_PAGE = "X-Roundlay-Page"
_SAFE = ("GET", "HEAD", "OPTIONS")


class KeyFromCookie:
    """Middleware: a request of our own pages carries its key as every other client's does."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        key = request.COOKIES.get(COOKIE)
        alone = request.path.startswith(_PATH) and "Authorization" not in request.headers
        if key and alone and (request.method in _SAFE or OWN_PAGE in request.headers):
            request.META["HTTP_AUTHORIZATION"] = f"Bearer {key}"
            del request.headers  # Django keeps what it read of them before
        return self.get_response(request)


def keep_key(answer: HttpResponse, key: str) -> None:
    """Give the browser the key to keep; only the API gets it back."""
    kept: dict[str, Any] = {"max_age": KEPT_SECONDS, "secure": settings.HTTPS}
    answer.set_cookie(COOKIE, key, path=_PATH, httponly=True, samesite="Strict", **kept)


def forget_key(answer: HttpResponse) -> None:
    """Take the key from the browser."""
    answer.delete_cookie(COOKIE, path=_PATH, samesite="Strict")
