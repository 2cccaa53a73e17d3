"""The mill's key: a bearer key of its own kind that opens one order, and nothing of the crew's besides."""

from datetime import timedelta
from typing import Any

from django.utils.timezone import now
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from crews.accounts.access import secret_hash
from crews.api.problems import KeyNeeded, NotFound
from inventory.orders.models import MillKey, Order, OrderState

_LAST_USE_GRAIN = timedelta(minutes=1)


class MillRequest(Request):
    """A request whose mill key was accepted."""

    mill_key: MillKey
    order: Order


class MillKeyAuthentication(BaseAuthentication):
    """`Authorization: Bearer KEY` with the key of an order's mill; no key of a crew's member opens this."""

    def authenticate(self, request: Request) -> tuple[Order, MillKey] | None:
        word, _, secret = request.headers.get("Authorization", "").partition(" ")
        if not word:
            return None
        if word.lower() != "bearer" or not secret.strip():
            raise KeyNeeded("Send the key as `Authorization: Bearer KEY`.")
        at = now()
        key = (
            MillKey.objects.filter(
                secret_sha256=secret_hash(secret.strip()), revoked_at=None, expires_at__gt=at
            )
            .select_related("crew", "order__crew", "order__mill", "order__form")
            .first()
        )
        if key is None:
            raise KeyNeeded
        if key.last_used_at is None or at - key.last_used_at > _LAST_USE_GRAIN:
            MillKey.objects.filter(id=key.id).update(last_used_at=at)
        return key.order, key

    def authenticate_header(self, request: Request) -> str:
        return 'Bearer realm="roundlay mill"'


class MillKeyOpens(BasePermission):
    """The key opens its order once that was sent; a draft is not the mill's to read."""

    def has_permission(self, request: Any, view: Any) -> bool:
        if not isinstance(request.auth, MillKey):
            raise KeyNeeded
        if request.auth.order.state == OrderState.DRAFT:
            raise NotFound
        request.mill_key, request.order = request.auth, request.auth.order
        return True


class MillKeyScheme(OpenApiAuthenticationExtension):
    """How the schema describes the mill's key."""

    target_class = "inventory.mill_side.access.MillKeyAuthentication"
    name = "MillKey"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        text = "The key of an order's mill: it opens that order alone, and expires."
        return {"type": "http", "scheme": "bearer", "description": text}
