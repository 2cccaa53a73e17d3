"""Holds every answer of the API against docs/openapi.yaml: status, media type, schema, no unknown field."""

import re
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import Any
from urllib.parse import quote

import yaml
from jsonschema_rs import Draft202012Validator, Registry

from config.schema_file import FILE as SCHEMA_FILE

_HOME = "urn:schema"
# What clients act upon.
TELLING = {
    "ETag", "Idempotency-Replayed", "RateLimit-Limit", "RateLimit-Remaining", "RateLimit-Reset",
    "Retry-After",
}  # fmt: skip


def _closed(node: Any) -> Any:
    """The same schema, in which an object has no field that is not described."""
    if isinstance(node, dict):
        closed = {key: _closed(value) for key, value in node.items()}
        if "properties" in closed and "additionalProperties" not in closed:
            closed["additionalProperties"] = False
        return closed
    if isinstance(node, list):
        return [_closed(part) for part in node]
    return node


@cache
def schema() -> dict[str, Any]:
    """The file, with what its operations share written out at each of them."""
    found = yaml.load(SCHEMA_FILE.read_text(), Loader=yaml.CSafeLoader)

    def whole(one: dict[str, Any]) -> dict[str, Any]:
        _, _, kind, name = one.get("$ref", "///").split("/")
        return found["components"][kind][name] if name else one

    for path in found["paths"].values():
        for operation in path.values():
            operation.setdefault("security", found["security"])
            operation["parameters"] = [whole(one) for one in operation.get("parameters", ())]
            operation["responses"] = {status: whole(one) for status, one in operation["responses"].items()}
            for answer in operation["responses"].values():
                for content in answer.get("content", {}).values():
                    shown = content.get("examples", {})
                    shown.update({name: whole(one) for name, one in shown.items()})
    return found


@cache
def _registry() -> Registry:
    return Registry([(_HOME, _closed(schema()))])


@cache
def _routes() -> tuple[re.Pattern[str], list[str]]:
    # Fixed addresses before those with a parameter in the same place.
    paths = sorted(schema()["paths"], key=lambda path: path.count("{"))
    patterns = (re.sub(r"\{[^}]+\}", "[^/]+", path) for path in paths)
    return re.compile("|".join(f"({pattern})" for pattern in patterns)), paths


@lru_cache(maxsize=4)
def path_of(address: str) -> str:
    """The schema's path for an address; AssertionError if it has none."""
    pattern, paths = _routes()
    found = pattern.fullmatch(address)
    assert found and found.lastindex, f"{address} is not in the schema"
    return paths[found.lastindex - 1]


@cache
def _validator(path: str, method: str, status: str, media: str) -> Draft202012Validator:
    ref = "/".join(
        quote(part.replace("~", "~0").replace("/", "~1"))
        for part in ("paths", path, method, "responses", status, "content", media, "schema")
    )
    return Draft202012Validator({"$ref": f"{_HOME}#/{ref}"}, registry=_registry(), validate_formats=True)


def check_headers(method: str, address: str, status: int, sent: Mapping[str, str]) -> None:
    """Fail unless the schema describes those headers of an answer that tell a client something."""
    operation = schema()["paths"][path_of(address)].get(method.lower())
    if operation is None:
        return
    told = operation["responses"][str(status)].get("headers", {})
    for name in TELLING & {*sent}:
        assert name in told, f"{method} {address} {status} does not document the header {name}"
        known = schema()["components"]["headers"]
        of = (known[name] if "$ref" in told[name] else told[name])["schema"]
        value = int(sent[name]) if of["type"] == "integer" else sent[name]
        Draft202012Validator(of).validate(value)
    if "ETag" in told:
        assert "ETag" in sent, f"{method} {address} {status} does not give its version"
    if status in (429, 503):
        assert "Retry-After" in sent, f"{method} {address} {status} does not say how long to wait"


def check_answer(method: str, address: str, status: int, media_type: str, body: Any) -> None:
    """Fail unless the schema describes exactly this answer."""
    path = path_of(address)
    operation = schema()["paths"][path].get(method.lower())
    if operation is None:
        assert status in (405, 401), f"{method} {path} is not in the schema, yet answered {status}"
        return
    assert str(status) in operation["responses"], f"{method} {path} does not document {status}"
    content = operation["responses"][str(status)].get("content")
    if content is None:
        assert body is None, f"{method} {path} {status} should have no body"
        return
    media = media_type.split(";")[0]
    assert media in content, f"{method} {path} {status} does not document {media}"
    if "json" in media:
        faults = [
            f"{'/'.join(map(str, e.instance_path))}: {e.message[:300]}"
            for e in _validator(path, method.lower(), str(status), media).iter_errors(body)
        ]
        assert not faults, f"{method} {path} {status}: {faults[:5]}"


def fields_shown() -> dict[str, set[str]]:
    """By operation: the name of every field, however deep, that a GET may answer in JSON."""
    return {
        operation["operationId"]: {
            name
            for status, answer in operation["responses"].items()
            if status.startswith("2")
            for name in _names(answer.get("content", {}).get("application/json", {}).get("schema", {}), set())
        }
        for path in schema()["paths"].values()
        for method, operation in path.items()
        if method == "get"
    }


def _names(node: Any, entered: set[str]) -> set[str]:
    if isinstance(node, list):
        return {name for part in node for name in _names(part, entered)}
    if not isinstance(node, dict):
        return set()
    found = set(node.get("properties", {}))
    if "$ref" in node and node["$ref"] not in entered:
        entered.add(node["$ref"])
        found |= _names(schema()["components"]["schemas"][node["$ref"].split("/")[-1]], entered)
    return found | {name for part in node.values() for name in _names(part, entered)}
