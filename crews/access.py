"""Who asks: a bearer key becomes a crew, a member and a role; each view says the role it needs."""

import hashlib
import secrets
from datetime import timedelta
from typing import Any

from django.db.models import Q
from django.utils.timezone import now
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication
from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request

from config.api.problems import KeyNeeded, RoleTooLow
from crews.history import note_author
from crews.models import ROLE_ORDER, AccessKey, Crew, Member, Role, role_covers

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


class KeyAuthentication(BaseAuthentication):
    """`Authorization: Bearer KEY`."""

    def authenticate(self, request: Request) -> tuple[Member, AccessKey] | None:
        word, _, secret = request.headers.get("Authorization", "").partition(" ")
        if not word:
            return None
        if word.lower() != "bearer" or not secret.strip():
            raise KeyNeeded("Send the key as `Authorization: Bearer KEY`.")
        at = now()
        key = (
            AccessKey.objects.filter(
                secret_sha256=secret_hash(secret.strip()), revoked_at=None, member__left_at=None
            )
            .filter(Q(expires_at=None) | Q(expires_at__gt=at))
            .select_related("member__person", "crew")
            .first()
        )
        if key is None:
            raise KeyNeeded
        if key.last_used_at is None or at - key.last_used_at > _LAST_USE_GRAIN:
            AccessKey.objects.filter(id=key.id).update(last_used_at=at)
        return key.member, key

    def authenticate_header(self, request: Request) -> str:
        return 'Bearer realm="roundlay"'


class RoleAllows(BasePermission):
    """The view's `needs` names the role for each method; without one, nobody gets in."""

    def has_permission(self, request: Any, view: Any) -> bool:
        if not isinstance(request.auth, AccessKey):
            raise KeyNeeded
        # Django answers HEAD by the view's GET, so HEAD needs what GET needs.
        needed = view.needs.get("GET" if request.method == "HEAD" else request.method)
        request.crew, request.member = request.auth.crew, request.auth.member
        # A key holds no more than its member does today.
        request.role = min(request.auth.role, request.member.role, key=lambda r: ROLE_ORDER.index(Role(r)))
        request._request.member_id = str(request.member.id)  # for the log
        if needed is None:
            return True  # no such method here: the view answers 405
        if not role_covers(request.role, needed):
            raise RoleTooLow(f"This needs the role {needed}; your key has {request.role}.")
        if request.method not in SAFE_METHODS:
            note_author(request._request, member=request.member.id, key=request.auth.id)
        return True


class KeyScheme(OpenApiAuthenticationExtension):
    """How the schema describes the key."""

    target_class = "crews.access.KeyAuthentication"
    name = "AccessKey"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer", "description": "An access key of a crew's member."}
