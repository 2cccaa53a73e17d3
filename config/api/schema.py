"""The OpenAPI 3.1 schema as a whole: settings, the shared Problem, error answers on every operation."""

import json
from typing import Any

PROBLEM = {
    "type": "object",
    "title": "Problem",
    "description": "A problem document (RFC 9457). `type` is stable; `errors` names each fault.",
    "required": ["type", "title", "status", "detail", "errors"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference", "examples": ["/problems/invalid-input"]},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["pointer", "detail", "code"],
                "properties": {
                    "pointer": {
                        "type": "string",
                        "description": "JSON pointer into the body, or `?name` for a query parameter.",
                    },
                    "detail": {"type": "string"},
                    "code": {"type": "string"},
                },
                "additionalProperties": True,
            },
        },
        "current_version": {"type": "integer", "description": "With 412 and 428: the version stored now."},
        "current": {
            "type": ["object", "null"],
            "additionalProperties": True,
            "description": "With 412: what is stored now.",
        },
    },
    "additionalProperties": True,
}

_ERRORS = {
    "400": "The request cannot be read, or a parameter is unknown.",
    "401": "No valid access key.",
    "403": "Your role does not allow this.",
    "404": "Nothing here that is yours.",
    "406": "No such media type to give.",
    "409": "It does not go together with what is stored.",
    "412": "Changed by someone else since you read it.",
    "413": "The body is too large.",
    "415": "This media type is not read here.",
    "422": "Faults in what was sent, each with a pointer.",
    "428": "If-Match is missing.",
    "429": "Too many requests.",
    "500": "Our fault; nothing was stored.",
    "503": "The database is out of reach; try again.",
}
_WRITES = {"post", "put", "patch", "delete"}
_ONLY_WRITES = {"412", "413", "415", "422", "428"}


def add_problems(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: the shared Problem component, and its answers on every operation."""
    result["components"].setdefault("schemas", {})["Problem"] = PROBLEM
    for path in result["paths"].values():
        for method, operation in path.items():
            for status, meaning in _ERRORS.items():
                if status in _ONLY_WRITES and method not in _WRITES:
                    continue
                operation["responses"].setdefault(
                    status,
                    {
                        "description": meaning,
                        "content": {
                            "application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}
                        },
                    },
                )
            operation["responses"] = dict(sorted(operation["responses"].items()))
    return result


def add_etags(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: answers that carry a version say so."""
    header = {"ETag": {"description": "The version, for If-Match.", "schema": {"type": "string"}}}
    schemas = result["components"]["schemas"]
    for path in result["paths"].values():
        for operation in path.values():
            for status, answer in operation["responses"].items():
                content = answer.get("content", {}).get("application/json", {}).get("schema", {})
                name = str(content.get("$ref", "")).rsplit("/", 1)[-1]
                versioned = "version" in schemas.get(name, {}).get("properties", {})
                if status in ("412", "428") or (status.startswith("2") and versioned):
                    answer["headers"] = {**answer.get("headers", {}), **header}
    return result


def fit_generators(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: what generators of clients read wrongly, or not at all, is said in their words.

    A body that is a file is binary and has to be there; the default of an object is told, not given.
    """
    for schema in result["components"]["schemas"].values():
        for field in schema.get("properties", {}).values():
            if isinstance(field.get("default"), dict):
                told = f"Left out: {json.dumps(field.pop('default'))}."
                field["description"] = " ".join(filter(None, [field.get("description"), told]))
    for path in result["paths"].values():
        for operation in path.values():
            body = operation.get("requestBody", {"content": {}})
            for media, content in body["content"].items():
                if media != "application/json":
                    content["schema"] = {"type": "string", "format": "binary"}
                    body["required"] = True
    return result


_COUNTED = {"type": "integer", "minimum": 0}
_HEADERS = {
    "RateLimit-Limit": (
        "Requests this key may send in a minute. Without a valid key: this address. Absent without a limit."
    ),
    "RateLimit-Remaining": "How many of them are left.",
    "RateLimit-Reset": "Seconds until the minute is over.",
    "Retry-After": "Seconds to wait before the next try.",
}
_WAIT = {"429", "503"}
# How `describe` hands over the statuses of an operation's refusals that carry Retry-After; not shown.
ASKS_TO_WAIT = "x-asks-to-wait"


def add_allowances(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: every answer says what the key has left; those that ask to wait, for how long."""
    result["components"]["headers"] = {
        name: {"description": text, "schema": _COUNTED} for name, text in _HEADERS.items()
    }
    for path in result["paths"].values():
        for method, operation in path.items():
            wait = _WAIT | set(operation.pop(ASKS_TO_WAIT, ()))
            if method == "post":
                wait.add("409")  # a repeat, while the first is worked on
            for status, answer in operation["responses"].items():
                headers = {
                    name: {"$ref": f"#/components/headers/{name}"}
                    for name in _HEADERS
                    if name != "Retry-After" or status in wait
                }
                answer["headers"] = {**answer.get("headers", {}), **headers}
    return result


SCHEMA_SETTINGS: dict[str, Any] = {
    "TITLE": "Roundlay",
    "DESCRIPTION": (
        "From a charted yard to a round that is set: logs, layouts, plans, as-built heights. "
        "Fields that end in `_mm` are millimetres; there a text such as `11 5/8 in` or `19' 4\"` is read "
        "too. What a PUT of a known id leaves out stays as it is stored. Weights, lifting, notches, settling "
        "and structure: figures are estimates; local code and licensed practice decide."
    ),
    "VERSION": "1.0.0",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_AUTHENTICATION": [],
    "SERVE_PERMISSIONS": [],
    "SCHEMA_PATH_PREFIX": r"/api/v1",
    "COMPONENT_SPLIT_REQUEST": False,
    "COMPONENT_NO_READ_ONLY_REQUIRED": False,
    "ENUM_GENERATE_CHOICE_DESCRIPTION": False,
    "ENUM_ADD_EXPLICIT_BLANK_NULL_CHOICE": True,  # else a choice that may be null is not said to be
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "config.api.schema.add_problems",
        "config.api.schema.add_etags",
        "config.api.schema.add_allowances",
        "config.api.idempotent.add_idempotency",
        "config.api.examples.add_examples",
        "config.api.schema.fit_generators",
    ],
    # Names for clients: without them a clash gets a suffix that changes from release to release.
    "ENUM_NAME_OVERRIDES": {
        "Role": "crews.models.Role",
        "LengthUnit": "crews.models.LengthUnit",
        "ErrorChosenBy": "cabins.serializers.choices.CHOSEN_BY",
        "EventKind": "crews.models_webhooks.EventKind",
        "DeliveryStanding": "crews.models_webhooks.DeliveryStanding",
        "LogState": "inventory.models.LogState",
        "GrainHand": "inventory.models.GrainHand",
        "WallEnd": "cabins.models.End",
        "JobState": "planning.models.JobState",
        "PlanState": "planning.models.PlanState",
        "PromiseEnd": "planning.models.PromiseEnd",
        "MemberKind": "cabins.models.MEMBER_KINDS",
        "LogUse": "planning.takeoff_serializers.USES",
        "InstructionKind": "inventory.serializers.logs.INSTRUCTIONS",
        "KeptUse": "inventory.serializers.logs.USES",
        "HazardKind": "inventory.models.HAZARD_KINDS",
        "OpeningKind": "cabins.serializers.layouts.OPENING_KINDS",
        "Face": "inventory.models.FACES",
        "CubicRule": "inventory.serializers.figures.CUBIC_RULES",
        "BoardRule": "inventory.serializers.figures.BOARD_RULES",
        "OddFeet": "inventory.models_scaling.ODD_FEET",
        "GrainWeight": "cabins.serializers.choices.GRAIN_WEIGHTS",
        "GrainBand": "cabins.serializers.sheets.GRAIN_BANDS",
        "SourceMark": "cabins.serializers.choices.MARKS",
        "SettlingRule": "cabins.serializers.choices.SETTLING_RULES",
        "ChosenBy": "inventory.serializers.scaling.CHOSEN_BY",
        "OrderState": "inventory.models_orders.OrderState",
        "ProposalState": "inventory.models_orders.ProposalState",
        "DeliveryState": "inventory.models_orders.DeliveryState",
        "PriceBy": "inventory.models_orders.PRICE_BY",
        "FormFieldKind": "inventory.serializers.orders.FIELD_KINDS",
        "FormSide": "inventory.serializers.orders.FIELD_SIDES",
        "Preset": "planning.presets.PRESET_NAMES",
        "NotchState": "planning.sheet_serializers.NOTCH_STATES",
        "RidgeRun": "cabins.serializers.layouts.RIDGE_RUNS",
        "MemberFilling": "cabins.serializers.gables.FILLINGS",
        "OpeningSide": "cabins.serializers.openings.SIDES",
        "OpeningLine": "cabins.serializers.openings.LINES",
        "OpeningMisfit": "cabins.serializers.openings.MISFITS",
        "OpeningThreshold": "cabins.serializers.layouts.THRESHOLDS",
        "JambSide": "cabins.serializers.openings.JAMBS",
        "Remedy": "cabins.serializers.sheets.REMEDIES",
    },
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    "SWAGGER_UI_SETTINGS": {"persistAuthorization": True},
}
