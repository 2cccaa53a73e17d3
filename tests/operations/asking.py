"""A request to any operation of the schema: its address and its body, with ids of what is there."""

import copy
import json
from collections.abc import Callable
from functools import partial
from typing import Any
from uuid import uuid4

from django.db import transaction

from tests.conftest import Asker
from tests.operation_ids import Operation, kind_of_field
from tests.schema import schema

Ids = dict[str, list[str]]
Answer = tuple[int, str, dict[str, str]]
# Values for the parameters that must be given and are no ids; one without a value here fails what needs it.
USUAL = {
    "corner": "1", "round": "1", "wall": "A", "kind": "log", "from_butt_mm": "300", "length_mm": "2000",
    "temperature_c": "20", "humidity_pct": "50", "dimension_mm": "300", "opening": "W1",
}  # fmt: skip
# They differ from one request to the next, whoever asks for whatever.
_OF_THE_REQUEST = {"X-Request-Id", "RateLimit-Remaining", "RateLimit-Reset"}


def one_of(ids: Ids, kind: str) -> str:
    """An id of the kind; of a new thing one that nobody has; of any object a log's."""
    if kind == "new":
        return str(uuid4())
    known = ids["log" if kind == "object" else kind]
    assert known, f"the world has no {kind}"
    return known[0]


def address(operation: Operation, ids: Ids, **instead: str) -> str:
    """The operation's address with all that must be given; ids are of what is there, but for `instead`."""
    path, kinds = operation.path, operation.path_ids()
    for name in operation.parameters("path"):
        value = instead.get(name) or (one_of(ids, kinds[name]) if name in kinds else USUAL[name])
        path = path.replace(f"{{{name}}}", value)
    given = {one["name"]: one for one in operation.told.get("parameters", []) if one["in"] == "query"}
    asked = {}
    for name in [name for name, one in given.items() if one.get("required") or name in instead]:
        is_id = name in operation.query_ids()
        asked[name] = instead.get(name) or (
            one_of(ids, kind_of_field((name,)) or "") if is_id else USUAL[name]
        )
    return path + ("?" + "&".join(f"{name}={value}" for name, value in asked.items()) if asked else "")


def body(operation: Operation, ids: Ids) -> Any:
    """The schema's example with ids of what is there; bytes if it is not JSON, None if there is none."""
    content = operation.told.get("requestBody", {}).get("content", {})
    if not content:
        return None
    [(media, told)] = content.items()
    example = told["example"] if "example" in told else next(iter(told["examples"].values()))["value"]
    if media != "application/json":
        return str(example).encode()
    made = copy.deepcopy(example)
    for way in operation.body_ids():
        _put(made, way, partial(one_of, ids, kind_of_field(way) or ""))
    return made


def with_id(operation: Operation, sent: Any, way: tuple[str, ...], id: str, ids: Ids) -> Any:
    """The body with this id in this place; what must stand around it is made from the schema."""
    made = copy.deepcopy(sent)
    _make_room(made, operation.told["requestBody"]["content"]["application/json"]["schema"], way, ids)
    _put(made, way, lambda: id)
    return made


def _put(node: Any, way: tuple[str, ...], id: Callable[[], str]) -> None:
    """Put an id wherever the way leads to in what is there."""
    step, rest = way[0], way[1:]
    places = range(len(node)) if step == "*" else [step] if step in node else []
    for place in places:
        if rest and node[place] is not None:
            _put(node[place], rest, id)
        elif not rest:
            node[place] = id()


def _make_room(node: Any, of: dict[str, Any], way: tuple[str, ...], ids: Ids) -> None:
    """Make what is not there on the way, so that it leads somewhere."""
    of, step = _told(of), way[0]
    if step == "*":
        if not node:
            node.append(_least(of["items"], ids))
        inner, part = of["items"], node[0]
    else:
        inner = of["properties"][step]
        if node.get(step) is None:
            node[step] = _least(inner, ids)
        part = node[step]
    if way[1:]:
        _make_room(part, inner, way[1:], ids)


def _told(of: dict[str, Any]) -> dict[str, Any]:
    """The schema itself behind a reference, a choice or an addition."""
    for word in ("allOf", "oneOf", "anyOf"):
        if word in of:
            return _told(next(part for part in of[word] if part.get("type") != "null"))
    if "$ref" in of:
        return _told(schema()["components"]["schemas"][of["$ref"].rsplit("/", 1)[-1]])
    return of


def _least(of: dict[str, Any], ids: Ids, name: str = "") -> Any:
    """The least value that the schema lets pass."""
    of = _told(of)
    if "enum" in of:
        return of["enum"][0]
    if of["type"] == "object":
        return {name: _least(of["properties"][name], ids, name) for name in of.get("required", [])}
    if of["type"] == "array":
        return []
    if of["type"] in ("integer", "number"):
        return of.get("minimum", 1)
    if of.get("format") == "uuid":
        return one_of(ids, kind_of_field((name,)) or "") if name else ""
    return "A"


def asked(who: Asker, operation: Operation, path: str, sent: Any, **given: Any) -> Any:
    """The answer."""
    media = "text/csv" if isinstance(sent, bytes) else "application/json"
    return who.ask(operation.method, path, sent, media=media, **given)


def undone(who: Asker, operation: Operation, path: str, sent: Any, *, id: str, version: int | None) -> Answer:
    """Status, text and headers of the answer, the id struck out; whatever the request did is undone."""
    given = {"version": version} if "If-Match" in operation.parameters("header") else {}
    with transaction.atomic():
        answer = asked(who, operation, path, sent, **given)
        transaction.set_rollback(True)
    told = answer.body.hex() if isinstance(answer.body, bytes) else json.dumps(answer.body)
    headers = {name: value for name, value in answer.headers.items() if name not in _OF_THE_REQUEST}
    return answer.status_code, told.replace(id, "ID"), headers
