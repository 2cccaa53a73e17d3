"""A POST that may be sent again: the `Idempotency-Key` header, and how its repeats are refused."""

import hashlib
import re
from typing import Any, ClassVar

from django.http import HttpRequest

from crews.api.problems import MalformedRequest, Refusal

HEADER, REPLAYED = "Idempotency-Key", "Idempotency-Replayed"


class IdempotencyKeyReused(Refusal):
    """This Idempotency-Key was sent before, with another body or to another address."""

    status = 422


class IdempotencyKeyBusy(Refusal):
    """The first request with this Idempotency-Key is still being worked on; ask again."""

    headers: ClassVar[dict[str, str]] = {"Retry-After": "1"}


def idempotency_key(request: HttpRequest) -> str:
    """The key the request came with; MalformedRequest if it is not 1 to 200 plain signs."""
    key = request.headers.get(HEADER, "")
    if not re.fullmatch(r"[\x21-\x7e]{1,200}", key):
        raise MalformedRequest(f"{HEADER} takes 1 to 200 visible ASCII signs, such as a UUID.")
    return key


def fingerprint(request: HttpRequest) -> bytes:
    """What makes a request the same as an earlier one: method, address with its query, and body."""
    told = hashlib.sha256(f"{request.method} {request.get_full_path()}\n".encode())
    told.update(request.body)
    return told.digest()


_TRUE = {"type": "string", "const": "true"}
_HEADER_DESCRIBED = {
    "in": "header",
    "name": HEADER,
    "schema": {"type": "string", "minLength": 1, "maxLength": 200},
    "description": (
        "Makes the request safe to send again for 24 hours: what it did is done once, and a repeat gets the "
        f"first answer with `{REPLAYED}: true`. The same key with another body is refused (422), and while "
        "the first is still worked on, 409 with Retry-After. A refused request did nothing, so its key is "
        "not kept."
    ),
}


def add_idempotency(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: every POST takes an Idempotency-Key, and says when it answers from memory."""
    replayed = {"description": "`true` if this is the first answer again.", "schema": _TRUE}
    result["components"]["headers"][REPLAYED] = replayed
    for path in result["paths"].values():
        if "post" in path:
            path["post"].setdefault("parameters", []).insert(0, _HEADER_DESCRIBED)
            for status, answer in path["post"]["responses"].items():
                if status.startswith("2"):
                    answer["headers"] = {
                        **answer.get("headers", {}),
                        REPLAYED: {"$ref": f"#/components/headers/{REPLAYED}"},
                    }
    return result
