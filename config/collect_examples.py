"""`make examples`, while `make run` serves the demo: writes docs/api/examples.json, one real answer for each
component of the schema."""

import json
import re
import sys
import urllib.request
from typing import Any

import yaml

from config.database import private_place
from config.demo import demo_key
from config.show_demo import Api
from config.switches import whole_number
from crews.api.examples import EXAMPLES

_FEW = 1
_SINGULAR = {"species": "species"}
# What an address needs beside ids: {cabin}, {yard}, {log} stand for ids of the demo.
QUERIES = {
    "estimate_height": "yard={yard}",
    "try_log": "wall=A&round=5&piece=0&log={log}&from_butt_mm=25&butt_at=start",
    "show_setting_sheet": "round=1",
    "show_plan_setting_sheet": "cabin={cabin}&round=1",
    "show_plan_heights": "cabin={cabin}",
    "show_moisture_of_air": "temperature_c=20&humidity_pct=65",
    "show_piece_figures": "from_butt_mm=25&length_mm=3000",
    "show_settling": "species={species}",
    "explain_placement": "cabin={cabin}&wall=A&round=2",
    "show_shrinkage": "dimension_mm=300&to_moisture_pct=12",
}


class Collector:
    """Asks every address that can be read, and keeps the first answer of each component."""

    def __init__(self, root: str, key: str) -> None:
        self.api = Api(root, key)
        with urllib.request.urlopen(f"{root}/api/openapi.yaml", timeout=30) as answer:
            self.schema = yaml.safe_load(answer)
        self.found: dict[str, Any] = {}
        self.ids: dict[str, str] = {}

    def collect(self) -> dict[str, Any]:
        paths = sorted(self.schema["paths"], key=lambda path: path.count("{"))
        for path in paths:
            operation = self.schema["paths"][path].get("get")
            if operation:
                self._ask(path, operation)
        return dict(sorted(self.found.items()))

    def _ask(self, path: str, operation: dict[str, Any]) -> None:
        content = operation["responses"].get("200", {}).get("content", {}).get("application/json", {})
        name = str(content.get("schema", {}).get("$ref", "")).rsplit("/", 1)[-1]
        address = self._address(path)
        if not name or address is None:
            return
        ids = {_SINGULAR.get(kind, kind.rstrip("s")): id for kind, id in self.ids.items()}
        query = QUERIES.get(operation["operationId"], "").format_map(_Known(ids))
        try:
            answer = self.api.ask("GET", f"{address}?{query}".rstrip("?"))
        except (RuntimeError, ValueError) as refusal:
            sys.stderr.write(f"{operation['operationId']}: {refusal}\n")
            return
        if isinstance(answer, dict) and answer.get("items"):
            self.ids.setdefault(address, _wanted_id(answer["items"], address))
        self._keep(name, answer)

    def _address(self, path: str) -> str | None:
        short = path.removeprefix("/api/v1/")
        words = short.split("/")
        if "{" not in short:
            return short
        known = self.ids.get(words[0])
        if known is None or short.count("{") > 1:
            return None
        return re.sub(r"\{[^}]+\}", known, short)

    def _keep(self, name: str, answer: Any) -> None:
        self.found.setdefault(name, _shortened(answer))
        for key, schema in self.schema["components"]["schemas"][name].get("properties", {}).items():
            ref = schema.get("$ref") or schema.get("items", {}).get("$ref", "")
            part = answer.get(key)
            if ref and part:
                self._keep(ref.rsplit("/", 1)[-1], part[0] if isinstance(part, list) else part)


class _Known(dict[str, str]):
    def __missing__(self, key: str) -> str:
        return ""


def _wanted_id(items: list[dict[str, Any]], address: str) -> str:
    """Of cabins the one the demo has a plan for, of all else the first."""
    if address == "cabins":
        return str(next((row["id"] for row in items if row["name"] == "Schoolroom"), items[0]["id"]))
    return str(items[0]["id"])


def _shortened(value: Any) -> Any:
    """Lists cut to their first entries: an example shows the shape."""
    if isinstance(value, list):
        return [_shortened(part) for part in value[:_FEW]]
    if isinstance(value, dict):
        return {name: _shortened(part) for name, part in value.items()}
    return round(value, 3) if isinstance(value, float) else value


def main() -> int:
    root = f"http://127.0.0.1:{whole_number('PORT', 8000, least=1, most=65_535)}"
    key = demo_key(private_place().url(), root)
    if not key:
        sys.stderr.write(f"No demo answers at {root}: `make run` it first, on a private database.\n")
        return 1
    found = Collector(root, key).collect()
    kept = json.loads(EXAMPLES.read_text())  # of what the demo has none of: a mill's side of an order
    EXAMPLES.write_text(json.dumps(dict(sorted((kept | found).items())), indent=1, ensure_ascii=False) + "\n")
    sys.stdout.write(f"{len(found)} components\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
