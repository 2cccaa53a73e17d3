"""What a phone collected without a signal, sent at once: each entry goes through its own view, in order."""

from collections.abc import Callable
from datetime import timedelta
from io import BytesIO
from typing import Any, cast

import orjson
from django.core.handlers.wsgi import WSGIRequest
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import ResolverMatch, resolve
from django.utils.timezone import now
from rest_framework import serializers
from rest_framework.response import Response
from rest_framework.views import APIView

from config.api.describe import describe
from config.api.problems import (
    InvalidInput,
    Refusal,
    StorageFull,
    Unavailable,
    fault,
    problem_response,
    refusal_of,
)
from config.api.reading import BodyIn, RowOut
from config.api.render import json_bytes
from crews.access import CrewRequest
from crews.models import Role
from crews.repeats import done_once

# What is recorded at the rack and on the wall.
ALLOWED = {
    "put_log",
    "change_log",
    "set_log",
    "undo_set_log",
    "give_member",
    "undo_given_member",
    "put_height",
    "measure_heights",
}
MOST = 500
# A phone may lie in a truck for a while before it hears that its batch arrived.
KEPT_FOR = timedelta(days=14)
_SOME_DONE = "Entries before this one may be done. Send the same batch again: none is done twice."
_CLOCK_AHEAD = timedelta(hours=1)


class NotForBatch(Refusal):
    """A batch holds measurements of logs, logs set or undone, members made or undone, and heights only."""

    status = 422


class EntryIn(BodyIn):
    id = serializers.UUIDField(help_text="Made by the phone; sent again, the entry is not done again.")
    made_at = serializers.DateTimeField(help_text="When it was recorded, by the phone's clock.")
    method = serializers.ChoiceField(["PUT", "PATCH", "POST"])
    path = serializers.RegexField(
        r"^/api/v1/[A-Za-z0-9/_-]+$", max_length=200, help_text="As it would be sent alone."
    )
    body = serializers.DictField(required=False)
    if_match = serializers.IntegerField(
        required=False, allow_null=True, min_value=0, max_value=999_999_999,
        help_text="The version it changes, as in If-Match.",
    )  # fmt: skip


class BatchIn(BodyIn):
    entries = EntryIn(many=True, help_text=f"1 to {MOST}, done in this order.")


class EntryOut(RowOut):
    id = serializers.CharField(allow_null=True, help_text="The entry's id as sent.")
    status = serializers.IntegerField(help_text="As if it had been sent alone.")
    replayed = serializers.BooleanField(help_text="True if it was done by an earlier batch.")
    version = serializers.IntegerField(allow_null=True, help_text="The object's version now.")
    body = serializers.DictField(
        allow_null=True, help_text="The object, or the problem that says why it was refused."
    )


class BatchOut(RowOut):
    accepted = serializers.IntegerField()
    refused = serializers.IntegerField()
    entries = EntryOut(many=True)


_LOG = "9a4e1c55-7d31-4b0c-8f2a-1e6d5c4b3a20"
_EXAMPLE = {
    "entries": [
        {
            "id": "5b1d7a60-1f5e-4d0a-9a10-2c7e9b8f6a01",
            "made_at": "2026-05-04T10:40:00Z",
            "method": "PATCH",
            "path": f"/api/v1/logs/{_LOG}",
            "if_match": 3,
            "body": {"middle_mm": "11 3/4 in", "charted_by": "Wren"},
        }
    ]
}


class Batch(APIView):
    needs = {"POST": Role.LEARNER}

    @describe(
        "send_batch",
        "Send what was recorded without a signal; each entry is accepted or refused on its own, in order",
        takes=BatchIn,
        answers={200: BatchOut},
        refusals=[NotForBatch],
        examples=[("A log measured again", _EXAMPLE)],
        text=(
            "Sent again as a whole, or in part, what was accepted is answered from memory for 14 days and "
            "not done again; what was refused is tried again."
        ),
    )
    def post(self, request: CrewRequest) -> Response:
        return Response(do_entries(request, _entries_of(request.data)))


def _entries_of(sent: Any) -> list[Any]:
    """The entries as sent: faults inside of one concern that one alone."""
    entries = sent.get("entries") if isinstance(sent, dict) else None
    if not isinstance(entries, list) or set(sent) != {"entries"} or not 1 <= len(entries) <= MOST:
        raise InvalidInput(errors=[fault("/entries", f"A list of 1 to {MOST} entries, nothing beside.")])
    return entries


def do_entries(request: CrewRequest, entries: list[Any]) -> dict[str, Any]:
    """Every entry's answer. Unavailable if the database goes, StorageFull if there is no room for more.

    What was done until then is answered from memory when the batch is sent again.
    """
    told = [_told(entry, _answer(request, entry)) for entry in entries]
    accepted = sum(one["status"] < 400 for one in told)
    return {"accepted": accepted, "refused": len(told) - accepted, "entries": told}


def _answer(request: CrewRequest, entry: Any) -> HttpResponse:
    try:
        asked = EntryIn(data=entry)
        asked.is_valid(raise_exception=True)
        if asked.validated_data["made_at"] > now() + _CLOCK_AHEAD:
            raise InvalidInput(errors=[fault("/made_at", "Lies ahead: set the phone's clock.", "future")])
        work, alone = _view_of(asked.validated_data), _alone(request, asked.validated_data)
        key = f"entry {asked.validated_data['id']}"  # no Idempotency-Key holds a space
        answer = done_once(request.auth, key, alone, work, kept_for=KEPT_FOR)
    except Exception as error:
        refusal = refusal_of(error)
        if refusal is None:
            raise
        answer = problem_response(refusal)
    for whole_batch in (Unavailable, StorageFull):
        if f'"/problems/{whole_batch.slug()}"'.encode() in answer.content and answer.status_code == 503:
            raise whole_batch(_SOME_DONE)
    return answer


def _view_of(asked: dict[str, Any]) -> Callable[[HttpRequest], HttpResponse]:
    """The view that answers the entry, as something that takes the request alone."""
    try:
        match: ResolverMatch = resolve(asked["path"])
    except Http404:
        raise NotForBatch(f"There is no {asked['path']} here.") from None
    method = getattr(getattr(match.func, "view_class", None), asked["method"].lower(), None)
    if getattr(method, "operation_id", None) not in ALLOWED:
        raise NotForBatch(f"{asked['method']} {asked['path']} cannot be sent in a batch.")

    def work(alone: HttpRequest) -> HttpResponse:
        answer = match.func(alone, *match.args, **match.kwargs)
        return cast(HttpResponse, answer.render())

    return work


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


def _told(entry: Any, answer: HttpResponse) -> dict[str, Any]:
    version = answer.headers.get("ETag", "").strip('"')
    return {
        "id": str(entry["id"]) if isinstance(entry, dict) and "id" in entry else None,
        "status": answer.status_code,
        "replayed": "Idempotency-Replayed" in answer.headers,
        "version": int(version) if version else None,
        "body": orjson.loads(answer.content) if answer.content else None,
    }
