"""New logs that come together, as a batch brings them: answered as `OneLog.put` answers each of them."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

import orjson
from django.http import HttpRequest
from rest_framework.exceptions import APIException
from rest_framework.response import Response

from config.api.answers import answered_row
from config.api.problems import Refusal
from crews.access import CrewRequest
from inventory.actions.new_logs import LogAsked, chart_new_logs
from inventory.queries.logs import log_answers
from inventory.views.logs import asked_of


def put_new_logs(
    asker: CrewRequest, requests: Sequence[HttpRequest], ids: Sequence[UUID]
) -> list[Response | None]:
    """The answer to each request, all by one key; None to those that `OneLog.put` has to answer."""
    asked = [_asked(request, id) for request, id in zip(requests, ids, strict=True)]
    stored = chart_new_logs(crew=asker.crew, member=asker.member, asked=[one for one in asked if one])
    rows = log_answers(asker.crew, [one.id for one in stored])
    return [answered_row(rows[one.id], created=True) if one and one in stored else None for one in asked]


def _asked(request: Any, id: UUID) -> LogAsked | None:
    """None if the body cannot be read; why is for the answer to this request alone."""
    try:
        return LogAsked(id=id, made_at=request.made_at, **asked_of(orjson.loads(request.body), request))
    except (APIException, Refusal):
        return None
