"""Who asks: a bearer key becomes a crew, a member and a role; each view says the role it needs."""

import hashlib
import secrets
from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import islice
from typing import Any

from django.utils.timezone import now
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication
from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request

from crews.accounts.models import ROLE_ORDER, AccessKey, Crew, Member, Role, role_covers
from crews.accounts.storage import refuse_if_full
from crews.api.prepared import prepared_cursor
from crews.api.problems import KeyNeeded, RoleTooLow
from crews.api.row_by_id import Stored, columns_of, made_of
from crews.history.authors import note_author

KEY_START = "log_"
_LAST_USE_GRAIN = timedelta(minutes=1)


class CrewRequest(Request):
    """A request whose key was accepted."""

    crew: Crew
    member: Member
    role: Role


def new_secret() -> str:
    return KEY_START + secrets.token_urlsafe(32)


def secret_hash(secret: str) -> bytes:
    """A plain hash: the secret is 256 random bits, so there is nothing to guess."""
    return hashlib.sha256(secret.encode()).digest()


def secret_sent(header: str) -> str:
    """The secret of an Authorization header, however it is spaced and its first word written; "": none."""
    word, _, secret = header.strip().partition(" ")
    return secret.strip() if word.lower() == "bearer" else ""


# Every request asks this first. Written out, because Django took longer to write it than it takes to answer.
_KEY = f"""
    SELECT {columns_of(AccessKey, "key")}, {columns_of(Member, "member")}, {columns_of(Crew, "crew")}
    FROM crews_accesskey key
    JOIN crews_member member ON member.id = key.member_id
    JOIN crews_crew crew ON crew.id = key.crew_id
    WHERE key.secret_sha256 = %s AND key.revoked_at IS NULL AND member.left_at IS NULL
        AND (key.expires_at IS NULL OR key.expires_at > %s)
"""


def key_of(secret_sha256: bytes, at: datetime) -> AccessKey | None:
    """The key that opens now, with its member and crew; None if no key does."""
    with prepared_cursor() as cursor:
        cursor.execute(_KEY, [secret_sha256, at])
        row = cursor.fetchone()
    if row is None:
        return None
    values = iter(row)
    key, member, crew = _next(AccessKey, values), _next(Member, values), _next(Crew, values)
    key.member, key.crew, member.crew = member, crew, crew
    return key


def _next(model: type[Stored], values: Iterator[Any]) -> Stored:
    return made_of(model, islice(values, len(model._meta.concrete_fields)))


class KeyAuthentication(BaseAuthentication):
    """`Authorization: Bearer KEY`."""

    def authenticate(self, request: Request) -> tuple[Member, AccessKey] | None:
        if let_in := getattr(request, "let_in", None):
            return let_in.member, let_in  # a part of a batch, whose key was accepted already
        sent = request.headers.get("Authorization", "")
        if not sent:
            return None
        secret = secret_sent(sent)
        if not secret:
            raise KeyNeeded("Send the key as `Authorization: Bearer KEY`.")
        at = now()
        key = key_of(secret_hash(secret), at)
        if key is None:
            raise KeyNeeded
        if key.last_used_at is None or at - key.last_used_at > _LAST_USE_GRAIN:
            AccessKey.objects.filter(id=key.id).update(last_used_at=at)
        return key.member, key

    def authenticate_header(self, request: Request) -> str:
        return 'Bearer realm="roundlay"'


class RoleAllows(BasePermission):
    """The view's `required_roles` names the role for each method; without one, nobody gets in."""

    def has_permission(self, request: Any, view: Any) -> bool:
        if not isinstance(request.auth, AccessKey):
            raise KeyNeeded
        # Django answers HEAD by the view's GET, so HEAD needs what GET needs.
        needed = view.required_roles.get("GET" if request.method == "HEAD" else request.method)
        request.crew, request.member = request.auth.crew, request.auth.member
        # A key holds no more than its member does today.
        request.role = min(request.auth.role, request.member.role, key=lambda r: ROLE_ORDER.index(Role(r)))
        request._request.member_id = str(request.member.id)  # for the log
        if needed is None:
            return True  # no such method here: the view answers 405
        if not role_covers(request.role, needed):
            raise RoleTooLow(f"This needs the role {needed}; your key has {request.role}.")
        if request.method not in SAFE_METHODS:
            if request.method != "DELETE":
                refuse_if_full(request.crew.id)
            note_author(request._request, member=request.member.id, key=request.auth.id)
        return True


class KeyScheme(OpenApiAuthenticationExtension):
    """How the schema describes the key."""

    target_class = "crews.accounts.access.KeyAuthentication"
    name = "AccessKey"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer", "description": "An access key of a crew's member."}
