"""How often one key may ask within a minute, and one address without a key that opens anything.

Counted in the database for all web processes together. A good key has its own count, so that nobody who
shares an address with a stranger is locked out by them.
"""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.db import DatabaseError, InterfaceError, connection
from django.http import HttpRequest, HttpResponse
from django.utils.timezone import now

from crews.accounts.access import secret_sent
from crews.accounts.addresses import client_address
from crews.accounts.models import RequestCount
from crews.api.problems import TooManyRequests, problem_response, refusal_of

_COUNT = """
    INSERT INTO crews_requestcount AS held (caller, minute, asked) VALUES (%s, %s, 1)
    ON CONFLICT (caller) DO UPDATE SET
        asked = CASE WHEN held.minute = excluded.minute THEN held.asked + 1 ELSE 1 END,
        minute = excluded.minute
    RETURNING asked
"""
# Keys that open nothing cost their sender nothing: a row for each of them would fill the table.
_FORGET = "DELETE FROM crews_requestcount WHERE caller = %s"


@dataclass(frozen=True, slots=True, kw_only=True)
class RequestAllowance:
    """What a caller has asked within the minute, of what it may."""

    most: int
    asked: int
    at: datetime

    @property
    def used_up(self) -> bool:
        return self.asked > self.most

    def told(self, answer: HttpResponse) -> HttpResponse:
        """The answer with the headers that say what is left."""
        seconds = str(60 - self.at.second)
        answer.headers["RateLimit-Limit"] = str(self.most)
        answer.headers["RateLimit-Remaining"] = str(max(0, self.most - self.asked))
        answer.headers["RateLimit-Reset"] = seconds
        if self.used_up:
            answer.headers["Retry-After"] = seconds
        return answer


class RateLimited:
    """Middleware: refuses who asks too often, and tells everyone what they have left."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.path.startswith("/api/v1/"):
            return self.get_response(request)
        try:
            answer = self._by_key(request)
            return self._by_address(request, answer) if answer.status_code == 401 else answer
        except (DatabaseError, InterfaceError) as error:
            foreseen = refusal_of(error)
            if foreseen is None:
                raise
            return problem_response(foreseen)

    def _by_key(self, request: HttpRequest) -> HttpResponse:
        most, sent = settings.REQUESTS_PER_MINUTE, request.headers.get("Authorization")
        if not most or not sent:
            return self.get_response(request)
        at = now()
        allowance = RequestAllowance(most=most, asked=_count(_of_key(sent), at), at=at)
        if allowance.used_up:
            return allowance.told(problem_response(TooManyRequests()))
        return allowance.told(self.get_response(request))

    def _by_address(self, request: HttpRequest, answer: HttpResponse) -> HttpResponse:
        """The answer to a request whose key opened nothing."""
        sent = request.headers.get("Authorization")
        if sent:
            with connection.cursor() as cursor:
                cursor.execute(_FORGET, [_of_key(sent)])
        allowance = count_keyless(request)
        if allowance is None:
            return answer
        if allowance.used_up:
            answer = problem_response(
                TooManyRequests("Too many requests without a valid key; wait a little.")
            )
        return allowance.told(answer)


def count_keyless(request: HttpRequest) -> RequestAllowance | None:
    """Count a request whose key opens nothing for the address it comes from; None if there is no limit."""
    most, at = settings.KEYLESS_REQUESTS_PER_MINUTE, now()
    if not most:
        return None
    address = client_address(
        peer=request.META.get("REMOTE_ADDR", ""),
        forwarded=request.headers.get("X-Forwarded-For", ""),
        proxies=settings.TRUSTED_PROXIES,
    )
    caller = hashlib.sha256(f"address {address}".encode()).digest()
    return RequestAllowance(most=most, asked=_count(caller, at), at=at)


def _of_key(sent: str) -> bytes:
    """By the key itself: another spelling of the header around it has no count of its own."""
    return hashlib.sha256((secret_sent(sent) or sent).encode()).digest()


def _count(caller: bytes, at: datetime) -> int:
    with connection.cursor() as cursor:
        cursor.execute(_COUNT, [caller, at.replace(second=0, microsecond=0)])
        return int(cursor.fetchone()[0])


def forget_old_counts(*, at: datetime) -> int:
    """Delete the counts of minutes gone by; returns how many."""
    return RequestCount.objects.filter(minute__lt=at - timedelta(minutes=2)).delete()[0]
