"""Links that sign a browser in once: made for whoever has a key, worth nothing after use or ten minutes."""

import secrets
from datetime import datetime, timedelta
from uuid import uuid4

from django.db import transaction

from crews.accounts.access import secret_hash
from crews.accounts.actions import make_key
from crews.accounts.cookies import KEPT_SECONDS
from crews.accounts.models import ROLE_ORDER, AccessKey, Role, SignInLink
from crews.history.authors import acting

GOOD_FOR = timedelta(minutes=10)
# The secret stands behind the mark that browsers keep for themselves: no server's log and no Referer has it.
PATH = "/sign-in/link#"
_START = "once_"


def make_sign_in_link(key: AccessKey, *, at: datetime) -> str:
    """The path of a new link for the member and the role of `key`; links that are over are forgotten."""
    SignInLink.objects.filter(expires_at__lte=at).delete()
    secret = _START + secrets.token_urlsafe(24)
    SignInLink.objects.create(
        secret_sha256=secret_hash(secret), member=key.member, role=key.role, expires_at=at + GOOD_FOR
    )
    return PATH + secret


def use_sign_in_link(secret: str, *, at: datetime) -> str | None:
    """A new access key for the browser that comes with the link; None if the link opens nothing (any more).

    The key is good for as long as a browser keeps it.
    """
    links = SignInLink.objects.select_for_update(of=("self",)).select_related("member__crew")
    with transaction.atomic():
        link = links.filter(secret_sha256=secret_hash(secret), expires_at__gt=at).first()
        if link is None or link.member.left_at is not None:
            return None
        link.delete()
        member = link.member
        with acting(member=member.id, request="sign-in link"):
            _, key = make_key(
                crew=member.crew,
                id=uuid4(),
                member=member.id,
                name="signed in by a link",
                role=min(link.role, member.role, key=lambda role: ROLE_ORDER.index(Role(role))),
                expires_at=at + timedelta(seconds=KEPT_SECONDS),
                at=at,
            )
    return key
