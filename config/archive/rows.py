"""Whether a line of an archive is a row of its table, before the database sees it."""

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any

import orjson

from config.archive.tables import Table

Test = Callable[[Any], bool]
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def _is_time(value: Any) -> bool:
    """A time that Python can hold too: with one that it cannot, reading any list of these rows would fail."""
    try:
        return datetime.fromisoformat(value).tzinfo is not None
    except (TypeError, ValueError):
        return False


def _is_date(value: Any) -> bool:
    try:
        return bool(date.fromisoformat(value))
    except (TypeError, ValueError):
        return False


def is_id(value: Any) -> bool:
    """An id in the one spelling in which it is compared."""
    return isinstance(value, str) and _UUID.fullmatch(value) is not None


def _is_bytes(value: Any) -> bool:
    return isinstance(value, str) and value.startswith("\\x")


_TEXT: tuple[str, Test] = ("a text", lambda value: isinstance(value, str))
_WHOLE: tuple[str, Test] = ("a whole number", lambda value: type(value) is int)
_NUMBER: tuple[str, Test] = ("a number", lambda value: type(value) in (int, float))
_KINDS: Mapping[str, tuple[str, Test]] = {
    "UUIDField": ("an id in small letters", is_id),
    "CharField": _TEXT,
    "TextField": _TEXT,
    "BooleanField": ("true or false", lambda value: isinstance(value, bool)),
    "BigAutoField": _WHOLE,
    "BigIntegerField": _WHOLE,
    "IntegerField": _WHOLE,
    "PositiveIntegerField": _WHOLE,
    "PositiveSmallIntegerField": _WHOLE,
    "DecimalField": _NUMBER,
    "FloatField": _NUMBER,
    "DateTimeField": ("a time with its offset", _is_time),
    "DateField": ("a date", _is_date),
    "BinaryField": ("bytes as \\x and hexadecimals", _is_bytes),
    "JSONField": ("a document", lambda value: value is not None),
}


class RowCheck:
    """Holds the lines of one table against its columns. What else must hold, the database says."""

    def __init__(self, table: Table, *, crew: str) -> None:
        self._crew, self._columns = crew, set(table.columns)
        self._fields = [(column, *_of_field(table.fields[column])) for column in table.columns]

    def fault_of(self, line: bytes) -> str:
        """What is wrong with the line; empty if nothing is."""
        try:
            row = orjson.loads(line)
        except orjson.JSONDecodeError as odd:
            return f"no JSON ({odd})."
        if not isinstance(row, dict) or not line.endswith(b"\n"):
            return "no JSON object on a line of its own."
        if row.keys() != self._columns:
            odd_names = sorted(row.keys() ^ self._columns)
            return f"not the columns of this table: {', '.join(odd_names)[:200]}."
        if row.get("crew_id", self._crew) != self._crew:
            return "a row of another crew."
        for column, may_be_null, kind, test, choices in self._fields:
            value = row[column]
            if value is None and may_be_null:
                continue
            if not test(value):
                return f"{column} is not {kind}."
            if choices is not None and value not in choices:
                return f"{column} is not one of {', '.join(map(str, sorted(choices)))}."
        return ""


def _of_field(field: Any) -> tuple[bool, str, Test, set[Any] | None]:
    """(may be null, what it is called, its test, its choices) of a model's field."""
    choices = {value for value, _ in field.flatchoices} or None
    if choices and field.blank and not field.is_relation:
        choices.add("")
    kind, test = _KINDS[(field.target_field if field.is_relation else field).get_internal_type()]
    return field.null, kind, test, choices
