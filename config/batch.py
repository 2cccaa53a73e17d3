"""The entries of a batch, each as a request of its own, in order; new logs in a row are stored together."""

import logging
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache
from io import BytesIO
from typing import Any, cast
from uuid import UUID

from django.core.handlers.wsgi import WSGIRequest
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import ResolverMatch, resolve
from django.utils.timezone import now
from rest_framework import serializers
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.idempotency import done_once, done_together
from crews.api.problems import (
    InvalidInput,
    ProblemResponse,
    Refusal,
    StorageFull,
    Unavailable,
    fault,
    problem_response,
    refusal_of,
)
from crews.api.reading import BodyIn
from crews.api.render import json_bytes
from crews.api.times import TimeField
from inventory.logs.views import put_new_logs

log = logging.getLogger(__name__)

# A way to answer several requests of one operation and asker; None to each that has to be answered by itself.
Together = Callable[[CrewRequest, Sequence[HttpRequest], Sequence[UUID]], list[Response | None]]
# What is recorded at the rack and on the wall, with the way to do many in a row, where there is one.
ALLOWED: dict[str, Together | None] = {
    "put_log": put_new_logs,
    "change_log": None,
    "set_log": None,
    "undo_set_log": None,
    "install_member": None,
    "undo_roof_member": None,
    "prepare_piece": None,
    "undo_prepared_piece": None,
    "put_height": None,
    "measure_heights": None,
}
# Each entry holds a lock. PostgreSQL has room for 64 of every connection that it takes, and few send batches.
TOGETHER_MOST = 200
# A phone may lie in a truck for a while before it hears that its batch arrived.
KEPT_FOR = timedelta(days=14)
_SOME_DONE = "Entries before this one may be done. Send the same batch again: none is done twice."
_CLOCK_AHEAD = timedelta(hours=1)
_ROOT = "/api/v1/"


class NotForBatch(Refusal):
    """A batch holds measurements, pieces prepared, logs set, members made (or undone) and heights only."""

    status = 422


class PathField(serializers.RegexField):
    """The address of an operation, whole or from behind `/api/v1/`."""

    default_error_messages = {
        "invalid": "An address as in /api/v1/heights/ID or heights/ID, without a host and a ?query."
    }

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("invalid")
        path = super().to_internal_value(data)
        return path if path.startswith("/") else f"{_ROOT}{path}"


class EntryIn(BodyIn):
    id = serializers.UUIDField(help_text="Made by the phone; sent again, the entry is not done again.")
    made_at = TimeField(help_text="When it was recorded, by the phone's clock.")
    method = serializers.ChoiceField(["PUT", "PATCH", "POST"])
    path = PathField(
        r"^(/api/v1/)?[A-Za-z0-9_-][A-Za-z0-9/_-]*$",
        max_length=200,
        help_text="As it would be sent alone: `/api/v1/heights/...`, or `heights/...`.",
    )
    body = serializers.DictField(required=False)
    if_match = serializers.IntegerField(
        required=False, allow_null=True, min_value=0, max_value=999_999_999,
        help_text="The version it changes, as in If-Match.",
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchEntry:
    """An entry that may be done: as a request of its own, by the key of the batch."""

    key: str
    request: WSGIRequest
    match: ResolverMatch
    together: Together | None

    def answer(self, request: HttpRequest) -> HttpResponse:
        answer = self.match.func(request, *self.match.args, **self.match.kwargs)
        return cast(HttpResponse, answer.render())


def answers_to(request: CrewRequest, sent: Sequence[Any]) -> list[HttpResponse]:
    """Every entry's answer. Unavailable if the database goes, StorageFull if there is no room for more.

    What was done until then is answered from memory when the batch is sent again.
    """
    entries = [_entry(request, one) for one in sent]
    return [answer for part in _parts(entries) for answer in _answered(request.auth, part)]


def _parts(entries: Iterable[BatchEntry | HttpResponse]) -> Iterator[list[BatchEntry | HttpResponse]]:
    """In order, those in a row that may be done together; an entry sent twice is in two parts."""
    part: list[BatchEntry | HttpResponse] = []
    keys: set[str | None] = set()
    for one in entries:
        key, together = (one.key, one.together) if isinstance(one, BatchEntry) else (None, None)
        if len(part) == TOGETHER_MOST or key in keys or (part and together != _together(part)):
            yield part
            part, keys = [], set()
        part.append(one)
        keys.add(key)
    yield part


def _together(part: Sequence[BatchEntry | HttpResponse]) -> Together | None:
    return part[0].together if isinstance(part[0], BatchEntry) else None


def _entry(request: CrewRequest, sent: Any) -> BatchEntry | HttpResponse:
    """The entry, or why it is refused."""
    try:
        asked = EntryIn.read(sent)
        if asked["made_at"] > now() + _CLOCK_AHEAD:
            raise InvalidInput(errors=[fault("/made_at", "Lies ahead: set the phone's clock.", "future")])
        match = _match_of(asked["path"])
        method = getattr(getattr(match.func, "view_class", None), asked["method"].lower(), None)
        operation = getattr(method, "operation_id", None)
        if operation not in ALLOWED:
            raise NotForBatch(f"{asked['method']} {asked['path']} cannot be sent in a batch.")
    except (serializers.ValidationError, Refusal) as error:
        return problem_response(cast(Refusal, refusal_of(error)))
    key = f"entry {asked['id']}"  # no Idempotency-Key holds a space
    return BatchEntry(key=key, request=_alone(request, asked), match=match, together=ALLOWED[operation])


_ID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_ANY_ID = UUID(int=0)


def _match_of(path: str) -> ResolverMatch:
    """The view at an address. Addresses that differ in their ids only are looked up once."""
    ids = [UUID(id) for id in _ID.findall(path)]
    try:
        match = _match_with_any_id(_ID.sub(str(_ANY_ID), path))
    except Http404:
        raise NotForBatch(f"There is no {path} here.") from None
    named = dict(zip((name for name, id in match.kwargs.items() if id == _ANY_ID), ids, strict=False))
    return ResolverMatch(match.func, match.args, match.kwargs | named, route=match.route)


@lru_cache(maxsize=64)
def _match_with_any_id(path: str) -> ResolverMatch:
    return resolve(path)


def _alone(request: CrewRequest, asked: dict[str, Any]) -> WSGIRequest:
    """The entry as a request of its own, by the same key."""
    body = json_bytes(asked.get("body", {}))
    environ = {
        name: value
        for name, value in request.META.items()
        if name not in ("HTTP_IDEMPOTENCY_KEY", "HTTP_IF_MATCH", "HTTP_ACCEPT")
    } | {
        "REQUEST_METHOD": asked["method"],
        "PATH_INFO": asked["path"],
        "QUERY_STRING": "",
        "CONTENT_TYPE": "application/json",
        "CONTENT_LENGTH": str(len(body)),
        "wsgi.input": BytesIO(body),
    }
    if asked.get("if_match") is not None:
        environ["HTTP_IF_MATCH"] = f'"{asked["if_match"]}"'
    alone = WSGIRequest(environ)
    alone.made_at = asked["made_at"]  # type: ignore[attr-defined] # for the history
    alone.let_in = request.auth  # type: ignore[attr-defined] # the key is looked up once for all entries
    return alone


def _answered(caller: Any, part: Sequence[BatchEntry | HttpResponse]) -> Iterator[HttpResponse]:
    """The answers to some entries: those that can be done together first, then each of the others.

    None of the others matters to those, so that this is the same as one after the other.
    """
    together, entries = _together(part), [one for one in part if isinstance(one, BatchEntry)]
    done = _done_together(caller, entries, together) if together and len(entries) > 1 else {}
    for one in part:
        if isinstance(one, BatchEntry):
            yield done.get(one.key) or _done_alone(caller, one)
        else:
            yield one


def _done_together(caller: Any, entries: Sequence[BatchEntry], together: Together) -> dict[str, HttpResponse]:
    """The answers by key, as far as they could be done; nothing is done if there was any trouble."""
    asked = {one.key: one.request for one in entries}
    try:
        return done_together(
            caller,
            asked,
            lambda keys: _work(together, [one for one in entries if one.key in keys]),
            kept_for=KEPT_FOR,
        )
    except Exception as error:
        if refusal_of(error) is None:
            log.exception("Entries are done one by one, because together they failed", exc_info=error)
        return {}


def _work(together: Together, entries: Sequence[BatchEntry]) -> dict[str, HttpResponse]:
    """What the view answers, which looks once at who asks: all come by one key, to one operation."""
    kind: Any = entries[0].match.func
    view: APIView = kind.view_class(**kind.view_initkwargs)
    asker = cast(CrewRequest, view.initialize_request(entries[0].request))
    view.setup(entries[0].request)
    view.request, view.headers = asker, view.default_response_headers
    view.initial(asker)
    ids = [one.match.kwargs["id"] for one in entries]
    answers = together(asker, [one.request for one in entries], ids)
    return {
        one.key: view.finalize_response(asker, answer).render()
        for one, answer in zip(entries, answers, strict=True)
        if answer is not None
    }


def _done_alone(caller: Any, entry: BatchEntry) -> HttpResponse:
    try:
        answer = done_once(caller, entry.key, entry.request, entry.answer, kept_for=KEPT_FOR)
        refusal = answer.refusal if isinstance(answer, ProblemResponse) else None
    except Exception as error:
        refusal = refusal_of(error)
        if refusal is None:
            raise
        answer = problem_response(refusal)
    if isinstance(refusal, Unavailable | StorageFull):
        raise type(refusal)(_SOME_DONE)
    return answer
