"""Who acts, told to the database's history."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import datetime
from uuid import UUID

import orjson
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse

from crews.api.request_ids import current_request_id
from crews.history.triggers import MADE_BY

_TELL_WHEN = """
    SELECT set_config(%s, (made_by || jsonb_build_object('made_at_of', %s::jsonb))::text, true)
    FROM (SELECT coalesce(nullif(current_setting(%s, true), ''), '{}')::jsonb AS made_by) AS session
"""


def tell_who(*, member: UUID | None, key: UUID | None, request: str, made_at: datetime | None = None) -> None:
    """The changes of this database session are by this member, key and request, until told otherwise.

    `made_at` is when a phone without a signal recorded them, if that was earlier.
    """
    made_by = {"member": member, "key": key, "request": request, "made_at": made_at}
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config(%s, %s, false)", [MADE_BY, orjson.dumps(made_by).decode()])


def tell_when(made_at: Mapping[UUID, datetime]) -> None:
    """Until the transaction ends, new rows with these ids were recorded at these times."""
    times = orjson.dumps({str(id): at for id, at in made_at.items()}).decode()
    with connection.cursor() as cursor:
        cursor.execute(_TELL_WHEN, [MADE_BY, times, MADE_BY])


def tell_nobody() -> None:
    """The changes of this database session are by nobody in particular."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config(%s, '', false)", [MADE_BY])


@contextmanager
def acting(*, member: UUID | None = None, request: str) -> Iterator[None]:
    """For work outside of a request (a job, a command): its changes are by `member`, under that name."""
    tell_who(member=member, key=None, request=request)
    try:
        yield
    finally:
        tell_nobody()


def note_author(request: HttpRequest, *, member: UUID | None, key: UUID | None) -> None:
    """Whoever authenticates a request that changes something says here who it is."""
    made_at = getattr(request, "made_at", None)
    tell_who(member=member, key=key, request=current_request_id(), made_at=made_at)
    request.author_noted = True  # type: ignore[attr-defined]


class AuthorsForgotten:
    """Middleware: a connection goes back to the pool without the name of who used it last."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        try:
            return self.get_response(request)
        finally:
            if getattr(request, "author_noted", False):
                with suppress(DatabaseError):  # the session is gone, and the name with it
                    tell_nobody()
