"""Refusals, and the one handler that turns every error into a problem document (RFC 9457)."""

import errno
import logging
import re
from collections.abc import Iterable, Mapping
from typing import Any, ClassVar, Self

from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, DataError, IntegrityError, InterfaceError, OperationalError
from django.http import Http404, HttpResponse
from rest_framework import exceptions
from rest_framework.response import Response

from crews.api.render import json_bytes

log = logging.getLogger(__name__)

Fault = dict[str, Any]
_FAULTS_TOLD = 1000


def fault(pointer: str, detail: str, code: str = "invalid") -> Fault:
    """One entry of a problem's `errors`: a JSON pointer into the body (or `?name`), what is wrong, a code."""
    return {"pointer": pointer, "detail": detail, "code": code}


class SpokenCode(str):
    """A fault's code that brings its sentence: a framework keeps the code as it is, of a text only letters.

    A sentence with lengths in it is told in the units of the crew that asked (crews/api/render.py).
    """

    said: str

    def __new__(cls, code: str, *, said: str) -> Self:
        made = super().__new__(cls, code)
        made.said = said
        return made


def fault_of(pointer: str, part: Any) -> Fault:
    """A framework's error as a fault."""
    code = getattr(part, "code", "invalid")
    return fault(pointer, getattr(code, "said", str(part)), code)


class Refusal(Exception):
    """The request was refused."""

    status: ClassVar[int] = 409
    headers: ClassVar[Mapping[str, str]] = {}

    def __init__(self, detail: str = "", *, errors: Iterable[Fault] = (), **extra: Any) -> None:
        super().__init__(detail or self.title())
        self.detail = detail or self.title()
        self.errors = list(errors)
        self.extra = extra

    @classmethod
    def slug(cls) -> str:
        return re.sub(r"(?<!^)(?=[A-Z])", "-", cls.__name__).lower()

    @classmethod
    def title(cls) -> str:
        return (cls.__doc__ or "").strip().splitlines()[0]


class InvalidInput(Refusal):
    """Some of what was sent is not right; nothing was stored."""

    status = 422


class InvalidQuery(Refusal):
    """A query parameter is unknown or not right."""

    status = 400


class MalformedRequest(Refusal):
    """The request could not be read."""

    status = 400


class KeyNeeded(Refusal):
    """This needs a valid access key."""

    status = 401
    headers: ClassVar[Mapping[str, str]] = {"WWW-Authenticate": 'Bearer realm="roundlay"'}


class RoleTooLow(Refusal):
    """Your role in the crew does not allow this."""

    status = 403


class NotFound(Refusal):
    """There is nothing here that is yours."""

    status = 404


class MethodNotAllowed(Refusal):
    """This address does not take that method."""

    status = 405


class NotAcceptable(Refusal):
    """None of the media types asked for can be given."""

    status = 406


class UnsupportedMediaType(Refusal):
    """This address does not read that media type."""

    status = 415


class BodyTooLarge(Refusal):
    """The body is larger than this server takes."""

    status = 413


class TooManyRequests(Refusal):
    """Too many requests; wait a little."""

    status = 429


class Unavailable(Refusal):
    """The service cannot reach its database just now. Send the same again."""

    status = 503
    headers: ClassVar[Mapping[str, str]] = {"Retry-After": "5"}


class StorageFull(Refusal):
    """The server has no room to store anything; nothing was stored."""

    status = 503
    headers: ClassVar[Mapping[str, str]] = {"Retry-After": "60"}


class InternalError(Refusal):
    """Something went wrong on our side; nothing was stored."""

    status = 500


class Conflict(Refusal):
    """This does not go together with what is stored."""


_by_constraint: dict[str, tuple[type[Refusal], str]] = {}


def register_constraint_errors(table: Mapping[str, tuple[type[Refusal], str]]) -> None:
    """Name the refusal, and its sentence, for each database constraint of an app."""
    _by_constraint.update(table)


def refusal_of_constraint(error: IntegrityError) -> Refusal:
    """The refusal that stands for a broken database constraint."""
    name = getattr(getattr(error.__cause__, "diag", None), "constraint_name", None) or ""
    kind, detail = _by_constraint.get(name, (Conflict, f"The database refused it ({name or 'constraint'})."))
    return kind(detail)


class ProblemResponse(Response):
    """A refusal as an answer."""

    refusal: Refusal


def problem(refusal: Refusal) -> ProblemResponse:
    detail, faults = refusal.detail, len(refusal.errors)
    if faults > _FAULTS_TOLD:
        detail += f" Of {faults} faults the first {_FAULTS_TOLD} are told."
    body: dict[str, Any] = {
        "type": f"/problems/{refusal.slug()}",
        "title": refusal.title(),
        "status": refusal.status,
        "detail": detail,
        "errors": refusal.errors[:_FAULTS_TOLD],
    }
    body |= refusal.extra
    headers = dict(refusal.headers)
    if "current_version" in refusal.extra:
        headers["ETag"] = f'"{refusal.extra["current_version"]}"'
    told = ProblemResponse(
        body, status=refusal.status, headers=headers, content_type="application/problem+json"
    )
    told.refusal = refusal
    return told


def problem_response(refusal: Refusal) -> HttpResponse:
    """A refusal as an answer outside the API's views: from middleware, or for Django's own 404 and 500."""
    told = problem(refusal)
    answer = HttpResponse(json_bytes(told.data), status=told.status_code, content_type=told.content_type)
    for name, value in told.items():
        answer.headers.setdefault(name, value)
    return answer


def _faults(detail: Any, pointer: str) -> list[Fault]:
    """Flatten a framework's nested validation detail, each leaf with its JSON pointer."""
    if isinstance(detail, Mapping):
        return [f for key, part in detail.items() for f in _faults(part, _step(pointer, key))]
    if isinstance(detail, list):
        if all(isinstance(part, str) for part in detail):
            return [fault_of(pointer, part) for part in detail]
        return [f for i, part in enumerate(detail) for f in _faults(part, f"{pointer}/{i}")]
    return [fault_of(pointer, detail)]


def _step(pointer: str, key: Any) -> str:
    text = str(key).replace("~", "~0").replace("/", "~1")
    return pointer if text == "non_field_errors" else f"{pointer}/{text}"


# PostgreSQL: the disk is full; or whoever runs it lets it be read only, as some do when it soon will be.
_NO_ROOM = {"53100", "25006"}


def _sqlstate(error: Exception) -> str | None:
    return getattr(error.__cause__, "sqlstate", None)


def refusal_of(error: Exception) -> Refusal | None:
    """The refusal that an exception stands for; None for one nobody foresaw."""
    match error:
        case Refusal():
            return error
        case exceptions.ValidationError():
            return InvalidInput(errors=_faults(error.detail, ""))
        case exceptions.ParseError():
            return MalformedRequest(str(error.detail))
        case exceptions.NotAuthenticated() | exceptions.AuthenticationFailed():
            return KeyNeeded()
        case exceptions.PermissionDenied() | PermissionDenied():
            return RoleTooLow()
        case exceptions.NotFound() | Http404():
            return NotFound()
        case exceptions.MethodNotAllowed():
            return MethodNotAllowed(str(error.detail))
        case exceptions.NotAcceptable():
            return NotAcceptable()
        case exceptions.UnsupportedMediaType():
            return UnsupportedMediaType(str(error.detail))
        case exceptions.Throttled():
            return TooManyRequests(str(error.detail))
        case IntegrityError():
            return refusal_of_constraint(error)
        case DatabaseError() | InterfaceError() if _sqlstate(error) in _NO_ROOM:
            return StorageFull()
        case OperationalError() | InterfaceError():
            return Unavailable()
        case DataError():
            return InvalidInput("A value cannot be stored as sent.")
        case OSError(errno=number) if number in (errno.ENOSPC, errno.EDQUOT):
            return StorageFull()
        case _:
            return None


def problem_answer(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's exception handler: every error of the API becomes a problem document."""
    refusal = refusal_of(error)
    if refusal is None:
        log.exception("Unforeseen error in %s", type(context.get("view")).__name__, exc_info=error)
        refusal = InternalError()
    return problem(refusal)
