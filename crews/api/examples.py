"""Examples in the schema, real answers of the demo kept in docs/api/examples.json, and words for its fields.

`python -m config.collect_examples` writes that file from a running demo. A component without a real answer
(it needs a mill, say) gets values made from its schema.
"""

import json
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

_DOCS = Path(__file__).resolve().parent.parent.parent / "docs" / "api"
EXAMPLES = _DOCS / "examples.json"
FIELDS = _DOCS / "fields.toml"
_REF = "#/components/schemas/"
_BY_FORMAT = {
    "uuid": "3f0c2f5e-6f0b-4a57-9a53-0d1c4f1f8a11",
    "date-time": "2026-05-04T07:30:00Z",
    "date": "2026-05-04",
    "uri": "https://hooks.example.org/roundlay",
    "decimal": "12.50",
}
_BY_TYPE: dict[str, Any] = {"string": "text", "integer": 1, "number": 1.5, "boolean": False, "null": None}


@cache
def _kept() -> dict[str, Any]:
    return json.loads(EXAMPLES.read_text()) if EXAMPLES.exists() else {}


def describe_fields(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: a field that its serializer does not describe means what its name means."""
    words = tomllib.loads(FIELDS.read_text())
    for schema in result["components"]["schemas"].values():
        for name, field in schema.get("properties", {}).items():
            if "description" not in field and "$ref" not in field:
                written = "As the crew writes it." if name.endswith("_text") else None
                if text := words.get(name, written):
                    field["description"] = text
    return result


def add_examples(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Postprocessing hook: every successful JSON answer has an example; each component one."""
    schemas = result["components"]["schemas"]
    shown = result["components"].setdefault("examples", {})
    for path in result["paths"].values():
        for operation in path.values():
            for status, answer in operation["responses"].items():
                content = answer.get("content", {}).get("application/json")
                if content is None or not status.startswith("2") or "examples" in content:
                    continue
                name = str(content["schema"].get("$ref", "")).removeprefix(_REF)
                value = _made(content["schema"], schemas)
                if name:
                    shown[name] = {"value": value}
                    content["examples"] = {"demo": {"$ref": f"#/components/examples/{name}"}}
                else:
                    content["example"] = value
    return result


def _filled(kept: Any, schema: dict[str, Any], schemas: dict[str, Any]) -> Any:
    """A real answer that was kept, with what its schema has come to require since."""
    if "$ref" in schema:
        schema = schemas[schema["$ref"].removeprefix(_REF)]
    if isinstance(kept, list) and "items" in schema:
        return [_filled(one, schema["items"], schemas) for one in kept]
    if not isinstance(kept, dict) or "properties" not in schema:
        return kept
    fields = schema["properties"]
    filled = {name: _filled(one, fields.get(name, {}), schemas) for name, one in kept.items()}
    new = [name for name in schema.get("required", ()) if name not in kept]
    return filled | {name: _made(fields[name], schemas) for name in new}


def _made(schema: dict[str, Any], schemas: dict[str, Any]) -> Any:
    """A value that fits the schema: the real answer that was kept, and what it lacks by the schema."""
    if "$ref" in schema:
        name = schema["$ref"].removeprefix(_REF)
        kept = _kept().get(name)
        return _made(schemas[name], schemas) if kept is None else _filled(kept, schema, schemas)
    for word in ("oneOf", "anyOf", "allOf"):
        if word in schema:
            return _made(schema[word][0], schemas)
    if "enum" in schema:
        return schema["enum"][0]
    kind = schema.get("type", "object")
    kind = next((k for k in kind if k != "null"), "null") if isinstance(kind, list) else kind
    if kind == "array":
        return [_made(schema["items"], schemas)]
    if kind == "object":
        return {name: _made(part, schemas) for name, part in schema.get("properties", {}).items()}
    if kind == "string":
        return _BY_FORMAT.get(schema.get("format", ""), "text")
    return max(_BY_TYPE[kind], schema.get("minimum", _BY_TYPE[kind])) if kind != "boolean" else False
