"""JSON in and out: strict on the way in, orjson on the way out."""

import json
import re
from decimal import Decimal
from typing import IO, Any

import orjson
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer


def _plain(value: Any) -> Any:
    """What orjson does not write itself: exact decimals become JSON numbers, without noughts at the end."""
    if isinstance(value, Decimal):
        return orjson.Fragment(format(value.normalize(), "f"))
    if isinstance(value, str):
        # A sentence with lengths in it, of which it is not known here who reads it; or a framework's text.
        return str.__str__(value)
    if isinstance(value, dict):
        return dict(value)
    if isinstance(value, list | set | frozenset | tuple):
        return list(value)
    return str(value)


_OPTIONS = orjson.OPT_UTC_Z | orjson.OPT_NON_STR_KEYS | orjson.OPT_PASSTHROUGH_SUBCLASS


def json_bytes(data: Any, *, reader: Any = None) -> bytes:
    """The data as JSON. A text that can be `said_to` a crew is, if there is a `reader`: in its units."""

    def plain(value: Any) -> Any:
        said_to = getattr(value, "said_to", None)
        return _plain(value) if said_to is None or reader is None else said_to(reader)

    return orjson.dumps(data, default=plain, option=_OPTIONS)


def crew_asking(request: Any) -> Any:
    """The crew whose key the request came with, or the mill's that works for it; None for a stranger."""
    return getattr(getattr(request, "_auth", None), "crew", None)


class JsonRenderer(BaseRenderer):
    """Answers as JSON."""

    media_type = "application/json"
    format = "json"
    charset = None

    def render(self, data: Any, accepted_media_type: Any = None, renderer_context: Any = None) -> bytes:
        request = (renderer_context or {}).get("request")
        return b"" if data is None else json_bytes(data, reader=crew_asking(request))


# Each key of a JSON text; and what in a text looks like one.
_KEY = re.compile(rb'"\s*:')


class StrictJsonParser(BaseParser):
    """Reads JSON as the standard has it: UTF-8, no NaN, no infinity; a key stands once in its object."""

    media_type = "application/json"

    def parse(self, stream: IO[bytes], media_type: Any = None, parser_context: Any = None) -> Any:
        body = stream.read()
        try:
            read = orjson.loads(body)
        except orjson.JSONDecodeError as fault:
            raise ParseError(f"The body is not JSON: {fault}") from fault
        try:
            orjson.dumps(read)  # gives up at 254, where reading goes on to 1,024
        except orjson.JSONEncodeError as fault:
            raise ParseError("The body is nested too deep.") from fault
        # Read anew only where a key may have got lost: there are fewer than the text seems to have.
        keys = len(_KEY.findall(body))
        if keys and keys > _keys_in(read):
            json.loads(body, object_pairs_hook=_without_repeats)
        return read


def _keys_in(read: Any) -> int:
    """How many keys the objects of a document have in all."""
    found, left = 0, [read]
    while left:
        part = left.pop()
        if isinstance(part, dict):
            found += len(part)
            left += part.values()
        elif isinstance(part, list):
            left += part
    return found


def _without_repeats(pairs: list[tuple[str, Any]]) -> None:
    keys = [key for key, _ in pairs]
    if len(set(keys)) < len(keys):
        twice = next(key for at, key in enumerate(keys) if key in keys[:at])
        raise ParseError(f"The body is not JSON: an object has the key {twice[:80]!r} twice.")


class CsvParser(BaseParser):
    """Hands a CSV body on as bytes; the chart reader knows encodings and delimiters."""

    media_type = "text/csv"

    def parse(self, stream: IO[bytes], media_type: Any = None, parser_context: Any = None) -> Any:
        return stream.read()
