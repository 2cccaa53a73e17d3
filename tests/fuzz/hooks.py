"""What schemathesis is told of this service: whose key it sends, and ids that are there.

Loaded by its command line. Ids made up at random are nobody's, and an answer of 404 tries little: most ids
are taken from the world that was made for it. Everything follows from the case itself, so that a seed
repeats a run.
"""

import json
import os
import random
from pathlib import Path
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

import schemathesis

from tests.operation_ids import Operation, kind_of_field
from tests.schema import schema

WORLD = json.loads(Path(os.environ["FUZZ_WORLD"]).read_text())
_KNOWN = 0.8
_LONGEST_QUERY = 3500
# Whoever loses these locks the fuzzer out.
_GUARDED = {"revoke_key", "revoke_mill_key", "part_with_member", "put_member", "make_key", "make_mill_key"}


@schemathesis.hook
def filter_case(context: Any, case: Any) -> bool:
    """Leave out addresses that the web server refuses by their length (414) before the service sees them."""
    return len(urlencode(case.query or {}, doseq=True)) < _LONGEST_QUERY


@schemathesis.hook
def before_call(context: Any, case: Any, kwargs: dict[str, Any]) -> None:
    """Give the case a key, and ids of what there is."""
    told = schema()["paths"][case.path].get(case.operation.method.lower(), {})
    operation = Operation(method=case.operation.method, path=case.path, told=told)
    chance = random.Random(repr((case.path, case.method, case.path_parameters, case.query, case.body)))
    for name, kind in operation.path_ids().items():
        if name in case.path_parameters and _is_id(case.path_parameters[name]):
            case.path_parameters[name] = _id(kind, chance, str(case.path_parameters[name]))
        if operation.name in _GUARDED and case.path_parameters.get(name) in WORLD["kept"]:
            case.path_parameters[name] = str(UUID(int=chance.getrandbits(128), version=4))
    for name in operation.query_ids():
        if name in (case.query or {}) and _is_id(case.query[name]):
            case.query[name] = _id(kind_of_field((name,)) or "", chance, case.query[name])
    case.body = _known(case.body, (), chance)
    if operation.of_mill:
        key = "mill" if chance.random() < 0.95 else "lead"
    else:
        key = chance.choices(["lead", "builder", "learner", "stranger", "mill"], [80, 6, 6, 5, 3])[0]
    case.headers["Authorization"] = f"Bearer {WORLD['keys'][key]}"
    if "If-Match" in operation.parameters("header") and chance.random() < 0.7:
        case.headers["If-Match"] = f'"{chance.choice([0, 1, 1, 1, 2, 2, 3])}"'


def _id(kind: str, chance: random.Random, made_up: str) -> str:
    known = WORLD["foreign" if chance.random() < 0.1 else "ids"].get(kind)
    if kind == "object":
        known = [id for ids in WORLD["ids"].values() for id in ids]
    return chance.choice(known) if known and chance.random() < _KNOWN else made_up


def _is_id(value: Any) -> bool:
    try:
        return bool(UUID(str(value)))
    except ValueError:
        return False


def _known(body: Any, way: tuple[str, ...], chance: random.Random) -> Any:
    """The body with ids of what there is."""
    if isinstance(body, dict):
        return {name: _known(part, (*way, str(name)), chance) for name, part in body.items()}
    if isinstance(body, list):
        return [_known(part, (*way, "*"), chance) for part in body]
    if isinstance(body, str) and way and set(way) != {"*"} and _is_id(body):
        return _id(kind_of_field(way) or "", chance, body)
    return body
