"""The webhooks of the OpenAPI schema: what is sent for an event of each kind."""

from typing import Any

from crews.events.data import class_name
from crews.events.models import EventKind

_HEADERS = {
    "webhook-id": "The event's id; the same however often it is sent.",
    "webhook-timestamp": "When it is sent, in seconds since 1970.",
    "webhook-signature": "`v1,` and base64 of HMAC-SHA256 over `id.timestamp.body`; two, parted by a space, "
    "for a day after a rotation.",
}


def add_webhooks(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: a webhook for each kind of event, whose body is the event as the feed has it."""
    parameters = result["components"].setdefault("parameters", {})
    for name, text in _HEADERS.items():
        schema = {"type": "string"}
        parameters[name] = {
            "in": "header", "name": name, "required": True, "description": text, "schema": schema,
        }  # fmt: skip
    result["webhooks"] = {kind.value: {"post": _sent(kind)} for kind in EventKind}
    return result


def _sent(kind: EventKind) -> dict[str, Any]:
    shape = {"$ref": f"#/components/schemas/{class_name(kind, 'Event')}"}
    return {
        "operationId": f"on_{kind.value}",
        "summary": f"Sent to webhooks that ask for `{kind.value}`",
        "tags": ["webhooks"],
        "security": [],
        "parameters": [{"$ref": f"#/components/parameters/{name}"} for name in _HEADERS],
        "requestBody": {"content": {"application/json": {"schema": shape}}, "required": True},
        "responses": {"2XX": {"description": "Taken. Anything else, and it comes again."}},
    }
