"""The OpenAPI 3.1 schema as a whole: settings, the shared Problem, error answers on every operation."""

import json
from collections import Counter
from http import HTTPStatus
from itertools import chain, count
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
_ALWAYS = {"400", "401", "406", "429", "500", "503"}
# How `describe` hands over what an operation refuses, by status: whether it asks to wait; not shown.
REFUSES = "x-refuses"
# The same for an answer that goes out while it is made.
STREAMED = "x-streamed"


def _statuses(method: str, operation: dict[str, Any]) -> set[str]:
    """The statuses with which an operation can refuse."""
    found = _ALWAYS | set(operation.get(REFUSES, ()))
    given = operation.get("parameters", ())
    if any(one["in"] == "path" or one["schema"].get("format") == "uuid" for one in given):
        found.add("404")
    if operation["security"] == [{"MillKey": []}]:
        found |= {"403", "404"}  # of an order that is not sent yet there is nothing to be seen
    if method != "get":
        found |= {"409", "413"}
    if "requestBody" in operation:
        found |= {"404", "415"}  # what a body names may be another crew's
    if "requestBody" in operation or any(one["name"] == "If-Match" for one in given):
        found |= {"412", "428"}  # a body may name what is stored already
    if "requestBody" in operation or method == "post":
        found.add("422")
    return found


def add_problems(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: the shared Problem component, and how each operation can refuse."""
    result["components"].setdefault("schemas", {})["Problem"] = PROBLEM
    for path in result["paths"].values():
        for method, operation in path.items():
            for status in _statuses(method, operation):
                operation["responses"].setdefault(
                    status,
                    {
                        "description": _ERRORS[status],
                        "content": {
                            "application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}
                        },
                    },
                )
            operation["responses"] = dict(sorted(operation["responses"].items()))
    return result


_ETAG = (
    'Of a change the version, `"3"`. Of a GET a digest of what is shown, behind the version if it has one: '
    '`"3.c9f86d081884c7d65"`. '
    "If-Match takes either and looks at the version; If-None-Match takes that of a GET."
)
_NOT_MODIFIED = {"description": "What is shown has the ETag that If-None-Match names."}


def add_etags(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: answers that carry a version say so; what is read has a tag, and may be there."""
    result["components"].setdefault("headers", {})["ETag"] = {
        "description": _ETAG, "schema": {"type": "string"}
    }  # fmt: skip
    header = {"ETag": {"$ref": "#/components/headers/ETag"}}
    schemas = result["components"]["schemas"]
    for path in result["paths"].values():
        for method, operation in path.items():
            if method == "get" and not operation.pop(STREAMED, False):
                operation["responses"]["200"]["headers"] = dict(header)
                operation["responses"] = dict(
                    sorted({**operation["responses"], "304": {**_NOT_MODIFIED, "headers": header}}.items())
                )
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
    _say_types_once(result)
    return result


def _say_types_once(node: Any) -> None:
    """A type that may be null, said so twice, is said once; the default of a text is a text."""
    if isinstance(node, dict):
        if isinstance(node.get("type"), list):
            node["type"] = list(dict.fromkeys(node["type"]))
        if node.get("type") == "string" and not isinstance(node.get("default"), str | None):
            node["default"] = f"{node['default']:g}"
    for part in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        _say_types_once(part)


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


def add_allowances(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: every answer says what the key has left; those that ask to wait, for how long."""
    result["components"].setdefault("headers", {}).update(
        {name: {"description": text, "schema": _COUNTED} for name, text in _HEADERS.items()}
    )
    for path in result["paths"].values():
        for method, operation in path.items():
            refuses = operation.pop(REFUSES, {})
            wait = _WAIT | {status for status, waits in refuses.items() if waits}
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


def share_what_repeats(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook, the last: refusals, and parameters that several operations take, stand once."""
    components = result["components"]
    result["security"] = [{"AccessKey": []}]
    operations = [one for path in result["paths"].values() for one in path.values()]
    taken = Counter(repr(one) for of in operations for one in of.get("parameters", ()))
    for operation in operations:
        if operation["security"] == result["security"]:
            del operation["security"]
        for status, answer in operation["responses"].items():
            if status >= "300":
                name = HTTPStatus(int(status)).phrase.replace(" ", "")
                if "Retry-After" in answer["headers"] and status not in _WAIT:
                    name += "Wait"
                operation["responses"][status] = _shared(components, "responses", name, answer)
        for place, one in enumerate(operation.get("parameters", ())):
            if taken[repr(one)] > 1:
                operation["parameters"][place] = _shared(components, "parameters", one["name"], one)
    return result


def _shared(components: dict[str, Any], kind: str, name: str, what: dict[str, Any]) -> dict[str, Any]:
    """The reference to a component; where others have its name it gets a number behind it."""
    of_kind = components.setdefault(kind, {})
    names = chain([name], (f"{name}-{number}" for number in count(2)))
    found = next(one for one in names if of_kind.setdefault(one, what) == what)
    return {"$ref": f"#/components/{kind}/{found}"}


def whose_docstrings_describe_nothing() -> list[type]:
    """Classes, and all above them, whose docstrings are for developers."""
    from drf_spectacular.plumbing import get_lib_doc_excludes

    from crews.api.reading import BodyIn, QueryIn, RowOut

    return [BodyIn, QueryIn, RowOut, *get_lib_doc_excludes()]


TAGS = {
    "batch": "What was recorded without a signal, sent at once.",
    "cabins": "Cabins, their layouts, and the sheets and drawings of what is to be built and what was.",
    "charts": "A log's line as it is said or typed, read into fields.",
    "crew": "The crew whose key asks, its figures and its archive.",
    "crews": "Founding a crew.",
    "delivered-logs": "Logs as a mill delivered them, before and after they are charted.",
    "deliveries": "What a mill brings, tallied and taken into a rack.",
    "events": "What happened, in order.",
    "figures": "Figures of wood that need no log.",
    "roof-members": "Roof and floor members that were made of a log.",
    "grain-rules": "Which rules of spiral grain a crew keeps to.",
    "heights": "Heights measured on the wall.",
    "history": "Who changed what, and when.",
    "keys": "Access keys of the crew's members.",
    "logs": "The chart: each log, measured once with tape and calipers.",
    "me": "Who asks.",
    "members": "The people of a crew.",
    "mill": "What a mill does with its own key: its orders, proposals and deliveries.",
    "mill-forms": "The order form that a mill wants filled.",
    "mill-keys": "Keys by which a mill opens its order.",
    "mills": "Mills that a crew orders from.",
    "orders": "Logs ordered from a mill, from draft to settled.",
    "planning-jobs": "A plan asked for, and how far it is.",
    "planning-presets": "Named sets of weights for planning.",
    "plans": "Which log goes where: sheets, cut lists, what if, and adopting one.",
    "prepared-pieces": "Pieces sawn, peeled, notched or brought to the wall.",
    "progress": "How far every cabin is.",
    "reservations": "Logs reserved for a cabin by its adopted plan.",
    "proposals": "Changes that a mill proposes to an order.",
    "racks": "Racks of a yard.",
    "scaling-settings": "How a crew scales logs.",
    "set-logs": "Logs set in a wall, as they were built.",
    "sheets": "Paper to fill in by hand.",
    "species": "Species with their wood figures, and where each comes from.",
    "take-offs": "What to order for cabins to come.",
    "wall-settings": "Notches, limits of cutting and errors of measuring, as the crew has them.",
    "webhook-deliveries": "What was sent to webhooks, and what came back.",
    "webhooks": "Addresses that events are sent to.",
    "yards": "Yards and what lies in them.",
}

SCHEMA_SETTINGS: dict[str, Any] = {
    "GET_LIB_DOC_EXCLUDES": "crews.api.schema.whose_docstrings_describe_nothing",
    "TITLE": "Roundlay",
    "DESCRIPTION": (
        "From a charted yard to a round that is set: logs, layouts, plans, as-built heights. "
        "Fields that end in `_mm` are millimetres; there a text such as `11 5/8 in` or `19' 4\"` is read "
        "too. What a PUT of a known id leaves out stays as it is stored. Weights, lifting, notches, settling "
        "and structure: figures are estimates; local code and licensed practice decide."
    ),
    "CONTACT": {"name": "Whoever runs this server"},
    "LICENSE": {"name": "MIT", "identifier": "MIT"},
    "SERVERS": [{"url": "/", "description": "The server that this schema comes from."}],
    "TAGS": [{"name": name, "description": text} for name, text in TAGS.items()],
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
        "crews.api.schema.add_problems",
        "crews.api.schema.add_etags",
        "crews.api.schema.add_allowances",
        "crews.api.idempotent.add_idempotency",
        "crews.api.examples.add_examples",
        "crews.api.examples.describe_fields",
        "crews.api.schema.fit_generators",
        "crews.api.schema.share_what_repeats",
        "crews.events.schema.add_webhooks",
    ],
    # Names for clients: without them a clash gets a suffix that changes from release to release.
    "ENUM_NAME_OVERRIDES": {
        "Role": "crews.accounts.models.Role",
        "LengthUnit": "crews.accounts.models.LengthUnit",
        "ErrorChosenBy": "cabins.choices.serializers.CHOSEN_BY",
        "EventKind": "crews.events.models.EventKind",
        "DeliveryStanding": "crews.webhooks.models.DeliveryStanding",
        "LogState": "inventory.logs.models.LogState",
        "GrainHand": "inventory.logs.models.GrainHand",
        "WallEnd": "cabins.set_logs.models.End",
        "JobState": "planning.jobs.models.JobState",
        "PlanState": "planning.plans.models.PlanState",
        "ReservationEnd": "planning.reservations.models.ReservationEnd",
        "MemberKind": "cabins.roof_members.models.MEMBER_KINDS",
        "LogUse": "planning.takeoffs.serializers.USES",
        "InstructionKind": "inventory.logs.serializers.INSTRUCTIONS",
        "KeptUse": "inventory.logs.serializers.USES",
        "HazardKind": "inventory.logs.models.HAZARD_KINDS",
        "OpeningKind": "cabins.layouts.serializers.OPENING_KINDS",
        "Face": "inventory.logs.models.FACES",
        "CubicRule": "inventory.figures.serializers.CUBIC_RULES",
        "BoardRule": "inventory.figures.serializers.BOARD_RULES",
        "OddFeet": "inventory.scaling.models.ODD_FEET",
        "GrainWeight": "cabins.choices.serializers.GRAIN_WEIGHTS",
        "GrainBand": "cabins.sheets.serializers.GRAIN_BANDS",
        "SourceMark": "cabins.choices.serializers.MARKS",
        "SettlingRule": "cabins.choices.serializers.SETTLING_RULES",
        "ChosenBy": "inventory.scaling.serializers.CHOSEN_BY",
        "OrderState": "inventory.orders.models.OrderState",
        "ProposalState": "inventory.orders.models.ProposalState",
        "DeliveryState": "inventory.deliveries.models.DeliveryState",
        "PriceBy": "inventory.mills.models.PRICE_BY",
        "FormFieldKind": "inventory.mills.serializers.FIELD_KINDS",
        "FormSide": "inventory.mills.serializers.FIELD_SIDES",
        "Preset": "planning.jobs.presets.PRESET_NAMES",
        "NotchState": "planning.sheets.serializers.NOTCH_STATES",
        "RidgeRun": "cabins.layouts.serializers.RIDGE_RUNS",
        "MemberFilling": "planning.gables.serializers.FILLINGS",
        "OpeningSide": "cabins.openings.serializers.SIDES",
        "OpeningLine": "cabins.openings.serializers.LINES",
        "OpeningMisfit": "cabins.openings.serializers.MISFITS",
        "OpeningThreshold": "cabins.layouts.serializers.THRESHOLDS",
        "JambSide": "cabins.openings.serializers.JAMBS",
        "Remedy": "cabins.sheets.serializers.REMEDIES",
    },
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    # The key is kept by the window alone.
    "SWAGGER_UI_SETTINGS": {"docExpansion": "none", "filter": True, "deepLinking": True},
}
