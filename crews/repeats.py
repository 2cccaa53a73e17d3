"""Every POST with an Idempotency-Key is done once; a repeat gets the first answer again."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import InterfaceError, OperationalError, connection, transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
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
from config.api.problems import Refusal, Unavailable, problem_response
from crews.access import CrewRequest
from crews.models import KeptAnswer

KEPT_FOR = timedelta(hours=24)


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
            key = idempotency_key(request)
            with transaction.atomic():
                return self._once(request, asked, key)
        except Refusal as refusal:
            return problem_response(refusal)
        except (OperationalError, InterfaceError):
            return problem_response(Unavailable())

    def _once(self, request: HttpRequest, asked: CrewRequest, key: str) -> HttpResponse:
        caller, at = asked.auth.pk, now()
        _hold(caller, key)
        kept = KeptAnswer.objects.filter(caller=caller, key=key).first()
        if kept is not None and kept.expires_at > at:
            return _again(kept, fingerprint(request))
        answer = self.get_response(request)
        if answer.status_code >= 400:
            transaction.set_rollback(True)  # a refusal did nothing: the next try is looked at afresh
        else:
            _keep(asked, key, answer, at=at)
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


def _keep(asked: CrewRequest, key: str, answer: HttpResponseBase, *, at: datetime) -> None:
    request: Any = asked._request
    caller: Any = asked.auth
    KeptAnswer.objects.update_or_create(
        caller=caller.pk,
        key=key,
        defaults={
            "crew_id": caller.crew_id,
            "method": request.method,
            "path": request.get_full_path(),
            "request_sha256": fingerprint(request),
            "status": answer.status_code,
            "headers": dict(answer.items()),
            "body": answer.getvalue(),
            "expires_at": at + KEPT_FOR,
        },
    )


def forget_old_answers(*, at: datetime) -> int:
    """Delete the answers whose time is over; returns how many."""
    return KeptAnswer.objects.filter(expires_at__lte=at).delete()[0]
