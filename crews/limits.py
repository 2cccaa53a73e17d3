"""How often one key may ask within a minute, counted in the database for all web processes together."""

import hashlib
from collections.abc import Callable
from datetime import datetime, timedelta

from django.conf import settings
from django.db import InterfaceError, OperationalError, connection
from django.http import HttpRequest, HttpResponse
from django.utils.timezone import now

from config.api.problems import TooManyRequests, Unavailable, problem_response
from crews.models import RequestCount

_COUNT = """
    INSERT INTO crews_requestcount AS held (caller, minute, asked) VALUES (%s, %s, 1)
    ON CONFLICT (caller) DO UPDATE SET
        asked = CASE WHEN held.minute = excluded.minute THEN held.asked + 1 ELSE 1 END,
        minute = excluded.minute
    RETURNING asked
"""


class RateLimited:
    """Middleware: refuses a key that asks too often, and tells every key what it has left."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        most, sent = settings.REQUESTS_PER_MINUTE, request.headers.get("Authorization")
        if not most or not sent or not request.path.startswith("/api/v1/"):
            return self.get_response(request)  # without a key nothing opens anyway
        at = now()
        try:
            asked = _count(sent, at)
        except (OperationalError, InterfaceError):
            return problem_response(Unavailable())
        answer = self.get_response(request) if asked <= most else problem_response(TooManyRequests())
        seconds = 60 - at.second
        answer.headers["RateLimit-Limit"] = str(most)
        answer.headers["RateLimit-Remaining"] = str(max(0, most - asked))
        answer.headers["RateLimit-Reset"] = str(seconds)
        if asked > most:
            answer.headers["Retry-After"] = str(seconds)
        return answer


def _count(sent: str, at: datetime) -> int:
    caller = hashlib.sha256(sent.encode()).digest()
    with connection.cursor() as cursor:
        cursor.execute(_COUNT, [caller, at.replace(second=0, microsecond=0)])
        return int(cursor.fetchone()[0])


def forget_old_counts(*, at: datetime) -> int:
    """Delete the counts of minutes gone by; returns how many."""
    return RequestCount.objects.filter(minute__lt=at - timedelta(minutes=2)).delete()[0]
