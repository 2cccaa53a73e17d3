"""JSON in and out: strict on the way in, orjson on the way out."""

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
    if isinstance(value, set | frozenset | tuple):
        return list(value)
    return str(value)


def json_bytes(data: Any) -> bytes:
    return orjson.dumps(data, default=_plain, option=orjson.OPT_UTC_Z | orjson.OPT_NON_STR_KEYS)


class JsonRenderer(BaseRenderer):
    """Answers as JSON."""

    media_type = "application/json"
    format = "json"
    charset = None

    def render(self, data: Any, accepted_media_type: Any = None, renderer_context: Any = None) -> bytes:
        return b"" if data is None else json_bytes(data)


class StrictJsonParser(BaseParser):
    """Reads JSON as the standard has it: UTF-8, no NaN, no infinity."""

    media_type = "application/json"

    def parse(self, stream: IO[bytes], media_type: Any = None, parser_context: Any = None) -> Any:
        try:
            return orjson.loads(stream.read())
        except orjson.JSONDecodeError as fault:
            raise ParseError(f"The body is not JSON: {fault}") from fault


class CsvParser(BaseParser):
    """Hands a CSV body on as bytes; the chart reader knows encodings and delimiters."""

    media_type = "text/csv"

    def parse(self, stream: IO[bytes], media_type: Any = None, parser_context: Any = None) -> Any:
        return stream.read()
