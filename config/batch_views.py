"""What a phone collected without a signal, sent at once: each entry is accepted or refused on its own."""

from typing import Any

import orjson
from django.http import HttpResponse
from rest_framework import serializers
from rest_framework.response import Response
from rest_framework.views import APIView

from config.batch import EntryIn, NotForBatch, answers_to
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.bounds import list_of
from crews.api.describe import describe
from crews.api.problems import InvalidInput, fault
from crews.api.reading import BodyIn, RowOut

MOST = 500


class BatchIn(BodyIn):
    entries = list_of(EntryIn(), most=MOST, min_length=1, help_text=f"1 to {MOST}, done in this order.")


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
    required_roles = {"POST": Role.LEARNER}

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
        entries = _entries_of(request.data)
        answers = answers_to(request, entries)
        told = [_told(entry, answer) for entry, answer in zip(entries, answers, strict=True)]
        accepted = sum(one["status"] < 400 for one in told)
        return Response({"accepted": accepted, "refused": len(told) - accepted, "entries": told})


def _entries_of(sent: Any) -> list[Any]:
    """The entries as sent: faults inside of one concern that one alone."""
    entries = sent.get("entries") if isinstance(sent, dict) else None
    if not isinstance(entries, list) or set(sent) != {"entries"} or not 1 <= len(entries) <= MOST:
        raise InvalidInput(errors=[fault("/entries", f"A list of 1 to {MOST} entries, nothing beside.")])
    return entries


def _told(entry: Any, answer: HttpResponse) -> dict[str, Any]:
    version = answer.headers.get("ETag", "").strip('"')
    return {
        "id": str(entry["id"]) if isinstance(entry, dict) and "id" in entry else None,
        "status": answer.status_code,
        "replayed": "Idempotency-Replayed" in answer.headers,
        "version": int(version) if version else None,
        "body": orjson.loads(answer.content) if answer.content else None,
    }
