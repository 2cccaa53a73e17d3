"""Writes docs/openapi.yaml, `python -m config.schema_file`: what fits a line stands in one."""

import io
import json
from pathlib import Path
from typing import Any

import yaml

FILE = Path(__file__).resolve().parent.parent / "docs" / "openapi.yaml"
_LINE = 120
_FEW_LINES = 360
# What is read as a whole fills its lines.
_FILLING = {"example", "value", "required", "enum", "headers", "content", "oneOf", "mapping"}


class _Dumper(yaml.CSafeDumper):
    """PyYAML's own writer in C, which chooses for each mapping and list between one line and several."""

    def ignore_aliases(self, data: Any) -> bool:
        return True

    def represent_str(self, data: str) -> yaml.ScalarNode:
        return self.represent_scalar("tag:yaml.org,2002:str", data, style="|" if "\n" in data else None)

    def represent_mapping(self, tag: str, mapping: Any, flow_style: Any = None) -> yaml.MappingNode:
        node = super().represent_mapping(tag, mapping, flow_style=False)
        for key, value in node.value:
            filling = key.value in _FILLING and isinstance(value, yaml.CollectionNode)
            if filling or (key.value == "parameters" and _are_references(value)):
                value.flow_style = True
        plain = all(_is_plain(value) for _, value in node.value)
        node.flow_style = _width(node) <= (_FEW_LINES if plain else _LINE)
        return node

    def represent_sequence(
        self, tag: str, sequence: Any, flow_style: bool | None = None
    ) -> yaml.SequenceNode:
        node = super().represent_sequence(tag, sequence, flow_style=False)
        node.flow_style = _width(node) <= _LINE
        return node


_Dumper.add_representer(str, _Dumper.represent_str)


def _is_plain(node: yaml.Node) -> bool:
    """Whether the node is one value, or a list of such."""
    return isinstance(node, yaml.ScalarNode) or (
        isinstance(node, yaml.SequenceNode) and all(isinstance(one, yaml.ScalarNode) for one in node.value)
    )


def _are_references(node: yaml.Node) -> bool:
    """Whether the node is a list of nothing but references."""
    rows = node.value if isinstance(node, yaml.SequenceNode) else [node]
    return all(isinstance(row, yaml.MappingNode) and row.value[0][0].value == "$ref" for row in rows)


def _width(node: yaml.Node) -> float:
    """How many signs the node takes in one line; endless if a text in it has lines of its own."""
    if isinstance(node, yaml.ScalarNode):
        return float("inf") if "\n" in node.value else len(node.value) + 2
    pairs = isinstance(node, yaml.MappingNode)
    parts = [part for pair in node.value for part in pair] if pairs else node.value
    return 2 + sum(_width(part) + 1 for part in parts)


def as_yaml(schema: dict[str, Any]) -> str:
    """The schema as YAML, keys in the order given."""
    return str(yaml.dump(schema, Dumper=_Dumper, allow_unicode=True, sort_keys=False, width=_LINE))


def generated() -> dict[str, Any]:
    """The schema that the code describes; CommandError if a part of it is not described, or is no OpenAPI."""
    from django.core.management import call_command

    written = io.StringIO()
    call_command("spectacular", "--validate", "--fail-on-warn", "--format", "openapi-json", stdout=written)
    return dict(json.loads(written.getvalue()))


if __name__ == "__main__":
    import os

    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    FILE.write_text(as_yaml(generated()))
