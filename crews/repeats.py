"""Every POST with an Idempotency-Key is done once; a repeat gets the first answer again."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import DatabaseError, InterfaceError, connection, transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import resolve
from django.utils.timezone import now
from rest_framework.exceptions import APIException
from rest_framework.views import APIView

from config.api.idempotent import (
    REPLAYED,
    IdempotencyKeyBusy,
    IdempotencyKeyReused,
    fingerprint,
    idempotency_key,
)
from config.api.problems import Refusal, problem_response, refusal_of
from crews.access import CrewRequest
from crews.models import KeptAnswer

KEPT_FOR = timedelta(hours=24)
_RENEWED = ["crew", "method", "path", "request_sha256", "status", "headers", "body", "expires_at"]


class RepeatsAnswered:
    """Middleware. The work and the stored answer are one transaction: a crash leaves both or neither."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.method != "POST" or "Idempotency-Key" not in request.headers:
            return self.get_response(request)
        try:
            asked = _asked_by(request)
            if asked is None:
                return self.get_response(request)  # the view refuses it, and says why
            return done_once(asked.auth, idempotency_key(request), request, self.get_response)
        except Refusal as refusal:
            return problem_response(refusal)
        except (DatabaseError, InterfaceError) as error:
            foreseen = refusal_of(error)
            if foreseen is None:
                raise
            return problem_response(foreseen)


def done_once(
    caller: Any,
    key: str,
    request: HttpRequest,
    work: Callable[[HttpRequest], HttpResponse],
    *,
    kept_for: timedelta = KEPT_FOR,
) -> HttpResponse:
    """The answer of `work`, or the one it gave when `caller` (an access key) sent this before.

    Raises IdempotencyKeyBusy while the first is worked on, IdempotencyKeyReused for another request.
    """
    at, asked = now(), fingerprint(request)  # before the view reads the body away
    with transaction.atomic():
        _hold(caller.pk, key)
        kept = KeptAnswer.objects.filter(caller=caller.pk, key=key).first()
        if kept is not None and kept.expires_at > at:
            return _again(kept, asked)
        answer = work(request)
        if answer.status_code >= 400:
            transaction.set_rollback(True)  # a refusal did nothing: the next try is looked at afresh
        else:
            _keep(caller, key, request, asked, answer, expires_at=at + kept_for)
        return answer


def _asked_by(request: HttpRequest) -> CrewRequest | None:
    """The request as its view sees it, with who asks; None if the view would not let them in.

    The view's own rules decide, so that a replay opens nothing that the view would not.
    """
    try:
        match = resolve(request.path_info)
        kind = getattr(match.func, "view_class", None)
        if kind is None or not issubclass(kind, APIView):
            return None
        view = kind()
        view.args, view.kwargs, view.format_kwarg = match.args, match.kwargs, None
        view.request = asked = view.initialize_request(request, *match.args, **match.kwargs)
        view.perform_authentication(asked)
        view.check_permissions(asked)
    except (Http404, APIException, Refusal):
        return None
    return asked if getattr(asked.auth, "pk", None) else None


def _hold(caller: UUID, key: str) -> None:
    """Hold the key until the transaction ends, however it ends; refuse at once if another request has it."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(hashtextextended(%s, 0))", [f"{caller} {key}"])
        if not cursor.fetchone()[0]:
            raise IdempotencyKeyBusy


def _again(kept: KeptAnswer, asked: bytes) -> HttpResponse:
    if bytes(kept.request_sha256) != asked:
        raise IdempotencyKeyReused
    return HttpResponse(bytes(kept.body), status=kept.status, headers={**kept.headers, REPLAYED: "true"})


def _keep(
    caller: Any, key: str, request: HttpRequest, asked: bytes, answer: HttpResponse, *, expires_at: datetime
) -> None:
    kept = KeptAnswer(
        caller=caller.pk,
        key=key,
        crew_id=caller.crew_id,
        method=request.method or "",
        path=request.get_full_path(),
        request_sha256=asked,
        status=answer.status_code,
        headers=dict(answer.items()),
        body=answer.getvalue(),
        expires_at=expires_at,
    )
    # Over one whose time is over, if there is one; the key is held, so nobody else writes it meanwhile.
    KeptAnswer.objects.bulk_create(
        [kept], update_conflicts=True, unique_fields=["caller", "key"], update_fields=_RENEWED
    )


def forget_old_answers(*, at: datetime) -> int:
    """Delete the answers whose time is over; returns how many."""
    return KeptAnswer.objects.filter(expires_at__lte=at).delete()[0]
