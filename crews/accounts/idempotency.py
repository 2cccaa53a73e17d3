"""Every POST with an Idempotency-Key is done once; a repeat gets the first answer again."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import DatabaseError, InterfaceError, connection, transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import resolve
from django.utils.timezone import now
from rest_framework.exceptions import APIException
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import KeptAnswer
from crews.accounts.versioned_rows import insert_rows
from crews.api.idempotent import (
    REPLAYED,
    IdempotencyKeyBusy,
    IdempotencyKeyReused,
    fingerprint,
    idempotency_key,
)
from crews.api.problems import Refusal, problem_response, refusal_of

KEPT_FOR = timedelta(hours=24)
_HOLD = """
    SELECT bool_and(pg_try_advisory_xact_lock(hashtextextended(%s || key, 0))) FROM unnest(%s::text[]) AS key
"""


class IdempotencyMiddleware:
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
        if not _hold(caller.pk, [key]):
            raise IdempotencyKeyBusy
        for kept in _kept(caller.pk, [key], at):
            if bytes(kept.request_sha256) != asked:
                raise IdempotencyKeyReused
            return _again(kept)
        answer = work(request)
        if answer.status_code >= 400:
            transaction.set_rollback(True)  # a refusal did nothing: the next try is looked at afresh
        else:
            insert_rows([_to_keep(caller, key, request, asked, answer, expires_at=at + kept_for)])
        return answer


def done_together(
    caller: Any,
    asked: Mapping[str, HttpRequest],
    work: Callable[[set[str]], Mapping[str, HttpResponse]],
    *,
    kept_for: timedelta,
) -> dict[str, HttpResponse]:
    """`done_once` for many requests, by their keys: the answers kept of them and those that `work` gives.

    Whatever else is left to `done_once`: a key that was sent before with something else, what `work` gives no
    answer to, and all of them while another request works on one. `work` is done as a whole or not at all.
    """
    at, prints = now(), {key: fingerprint(request) for key, request in asked.items()}
    with transaction.atomic():
        if not _hold(caller.pk, list(asked)):
            return {}
        kept = {one.key: one for one in _kept(caller.pk, list(asked), at)}
        new = asked.keys() - kept.keys()
        answers = dict(work(new)) if new else {}
        insert_rows(
            _to_keep(caller, key, asked[key], prints[key], answer, expires_at=at + kept_for)
            for key, answer in answers.items()
        )
        same = (one for key, one in kept.items() if bytes(one.request_sha256) == prints[key])
        return answers | {one.key: _again(one) for one in same}


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


def _hold(caller: UUID, keys: list[str]) -> bool:
    """Hold the keys until the transaction ends, however it ends; False if another request has one of them."""
    with connection.cursor() as cursor:
        cursor.execute(_HOLD, [f"{caller} ", keys])
        return bool(cursor.fetchone()[0])


def _kept(caller: UUID, keys: list[str], at: datetime) -> list[KeptAnswer]:
    """The answers to keys that are held; those whose time is over make room for new ones."""
    found = KeptAnswer.objects.filter(caller=caller, key__in=keys)
    over = [one.pk for one in found if one.expires_at <= at]
    if over:
        KeptAnswer.objects.filter(pk__in=over).delete()
    return [one for one in found if one.expires_at > at]


def _again(kept: KeptAnswer) -> HttpResponse:
    return HttpResponse(bytes(kept.body), status=kept.status, headers={**kept.headers, REPLAYED: "true"})


def _to_keep(
    caller: Any, key: str, request: HttpRequest, asked: bytes, answer: HttpResponse, *, expires_at: datetime
) -> KeptAnswer:
    return KeptAnswer(
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


def forget_old_answers(*, at: datetime) -> int:
    """Delete the answers whose time is over; returns how many."""
    return KeptAnswer.objects.filter(expires_at__lte=at).delete()[0]
