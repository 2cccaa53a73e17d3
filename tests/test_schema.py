"""The schema file: equal to the code, complete, and the map for who may do what."""

import gzip
import json
import re
import tomllib
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
import yaml
from django.urls import resolve
from drf_spectacular import validation
from jsonschema_rs import Draft202012Validator

from config.schema_file import as_yaml, generated
from crews.accounts.models import AccessKey, Role, role_covers
from crews.api.examples import FIELDS
from crews.api.problems import Refusal
from tests.people import join
from tests.schema import SCHEMA_FILE, check_answer, schema

OPERATIONS = [
    (path, method, operation)
    for path, methods in schema()["paths"].items()
    for method, operation in methods.items()
]
NAMES = [operation["operationId"] for _, _, operation in OPERATIONS]
# A mill's key has no role: it opens the addresses under /mill/ and nothing else, which its own tests try.
OF_MEMBERS = [one for one in OPERATIONS if one[2]["security"] == [{"AccessKey": []}]]


def needed_role(path: str, method: str) -> Role:
    address = re.sub(r"\{[^}]+\}", str(uuid4()), path)
    return resolve(address).func.view_class.required_roles[method.upper()]


def addressed(path: str) -> str:
    """The path with ids that nobody has."""
    return re.sub(r"\{[^}]+\}", lambda _: str(uuid4()), path)


def test_the_schema_file_is_what_the_code_says():
    assert SCHEMA_FILE.read_text() == as_yaml(generated()), "run `make schema`"


def test_a_front_end_asks_for_the_schema_again_for_nothing(client):
    first = client.get("/api/openapi.yaml", headers={"accept-encoding": "gzip, br"})
    again = client.get("/api/openapi.yaml", headers={"if-none-match": first["ETag"]})

    assert gzip.decompress(first.content) == SCHEMA_FILE.read_bytes()
    assert client.get("/api/openapi.yaml").content == SCHEMA_FILE.read_bytes()
    assert (again.status_code, again.content) == (304, b"")


def test_nothing_that_repeats_stands_twice_in_the_schema():
    kept = yaml.load(SCHEMA_FILE.read_text(), Loader=yaml.CSafeLoader)
    parts = [
        repr(one)
        for path in kept["paths"].values()
        for operation in path.values()
        for one in [
            *operation.get("parameters", ()),
            *(answer for status, answer in operation["responses"].items() if status >= "400"),
        ]
        if "$ref" not in one
    ]

    assert [one for one, times in Counter(parts).items() if times > 1] == []
    assert len(SCHEMA_FILE.read_text().splitlines()) < 12_000


def test_the_schema_is_openapi_3_1():
    """By the meta-schema that the OpenAPI Initiative publishes, as drf-spectacular brings it."""
    published = json.loads((Path(validation.__file__).parent / "openapi_3_1_schema.json").read_text())

    assert schema()["openapi"].startswith("3.1")
    assert [fault.message for fault in Draft202012Validator(published).iter_errors(schema())] == []


def test_every_tag_is_described():
    described = {tag["name"] for tag in schema()["tags"] if tag["description"]}

    assert described == {tag for _, _, operation in OPERATIONS for tag in operation["tags"]}


def test_every_field_is_described():
    for name, component in schema()["components"]["schemas"].items():
        for field, one in component.get("properties", {}).items():
            described = "$ref" in one or "description" in one
            assert described, f"{name}.{field} needs a help_text, or a word in docs/api/fields.toml"


def test_every_word_for_a_field_is_used():
    words = tomllib.loads(FIELDS.read_text())
    shown = {
        (field, one.get("description"))
        for component in schema()["components"]["schemas"].values()
        for field, one in component.get("properties", {}).items()
    }

    assert {*words.items()} <= shown


def test_every_operation_has_a_name_of_its_own():
    assert len(NAMES) == len(set(NAMES))
    assert all(re.fullmatch(r"[a-z]+(_[a-z]+)*", name) for name in NAMES)


@pytest.mark.parametrize(("path", "method", "operation"), OPERATIONS, ids=NAMES)
def test_an_operation_says_what_it_does_and_how_it_refuses(path, method, operation):
    assert operation["summary"]
    assert {"400", "401", "406", "429", "500", "503"} <= set(operation["responses"])
    assert "404" in operation["responses"] or "{" not in path
    for status, answer in operation["responses"].items():
        if status.startswith(("4", "5")):
            assert "application/problem+json" in answer["content"]
    if "requestBody" in operation:
        contents = operation["requestBody"]["content"].values()
        assert any("examples" in content or "example" in content for content in contents), "no example"
        assert {"409", "412", "413", "415", "422", "428"} <= set(operation["responses"])


@pytest.mark.parametrize(("path", "method", "operation"), OPERATIONS, ids=NAMES)
def test_an_operation_shows_an_answer(path, method, operation):
    for status, answer in operation["responses"].items():
        content = answer.get("content", {}).get("application/json")
        if status.startswith("2") and content is not None:
            shown = content["examples"]["demo"]["value"] if "examples" in content else content["example"]
            check_answer(method, path, int(status), "application/json", shown)


def test_whatever_a_request_may_hold_has_a_most():
    """No list, map or text without an end; what an entry of a batch holds is bounded by its own operation."""
    found: set[str] = set()
    for _, _, operation in OPERATIONS:
        for content in operation.get("requestBody", {}).get("content", {}).values():
            found |= set(_endless(content.get("schema", {}), operation["operationId"], seen=set()))

    assert found == {"EntryIn.body"}


_ENDS = {"maxLength", "enum", "const", "format"}


def _endless(node: Any, at: str, *, seen: set[str]) -> Iterator[str]:
    if "$ref" in node:
        name = node["$ref"].rsplit("/", 1)[-1]
        if name not in seen:
            seen.add(name)
            yield from _endless(schema()["components"]["schemas"][name], name, seen=seen)
        return
    kinds = node.get("type", ())
    kinds = {kinds} if isinstance(kinds, str) else set(kinds)
    if (
        ("array" in kinds and "maxItems" not in node)
        or ("string" in kinds and not _ENDS & set(node))
        or ("object" in kinds and "properties" not in node and "maxProperties" not in node)
    ):
        yield at
    parts = [one for word in ("allOf", "anyOf", "oneOf") for one in node.get(word, ())]
    for part in [*parts, node["items"]] if "items" in node else parts:
        yield from _endless(part, at, seen=seen)
    for name, part in node.get("properties", {}).items():
        yield from _endless(part, f"{at}.{name}", seen=seen)


def test_enums_have_names_without_a_suffix():
    odd = [name for name in schema()["components"]["schemas"] if re.search(r"Enum$|[0-9a-f]{3,}Enum", name)]

    assert [name for name in odd if re.search(r"[A-Za-z0-9]+[0-9a-f]{3}Enum$", name)] == []


@pytest.mark.parametrize(("path", "method", "operation"), OPERATIONS, ids=NAMES)
def test_without_a_valid_key_nothing_opens(path, method, operation, nobody, learner):
    assert nobody.ask(method.upper(), addressed(path)).status_code == 401
    AccessKey.objects.filter(member=learner.who.member).update(
        created_at=datetime(2026, 1, 1, tzinfo=UTC),
        expires_at=datetime(2026, 1, 1, tzinfo=UTC) + timedelta(days=1),
    )
    assert learner.ask(method.upper(), addressed(path)).status_code == 401


@pytest.mark.parametrize(
    ("path", "method", "operation"),
    OF_MEMBERS,
    ids=[operation["operationId"] for _, _, operation in OF_MEMBERS],
)
def test_a_role_below_the_one_needed_is_refused(path, method, operation, lead, asker):
    needed = needed_role(path, method)

    for role in Role:
        if not role_covers(role, needed):
            someone = asker(join(lead.who.crew, f"a {role}", role))
            assert someone.ask(method.upper(), addressed(path), {}).status_code == 403


def refusals(kind: type[Refusal] = Refusal) -> set[type[Refusal]]:
    return {kind}.union(*(refusals(child) for child in kind.__subclasses__()))


def test_every_refusal_has_a_title_and_a_place_in_the_docs():
    described = (SCHEMA_FILE.parent / "api" / "problems.md").read_text()

    for kind in refusals() - {Refusal}:
        assert kind.__doc__
        assert len(kind.title()) < 130, kind
        assert f"\n## {kind.slug()}\n" in described, f"{kind.slug()} is not in docs/api/problems.md"
