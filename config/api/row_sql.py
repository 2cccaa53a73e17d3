"""SQL that writes each row of a query as one JSON text: what `json_bytes` makes of the row, byte for byte."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection
from django.db.models import Expression, QuerySet
from django.db.models.expressions import Col

_MOST_ARGUMENTS = 90  # of one call of concat; PostgreSQL takes 100


@dataclass(frozen=True, slots=True)
class _Sql:
    """A piece of SQL, beside the pieces that are JSON already."""

    text: str


Part = str | _Sql
# By PostgreSQL's name of the type: how a value that is there is written. `{}` is its column.
_WRITE: dict[str, Callable[[str], list[Part]]] = {
    "uuid": lambda c: ['"', _Sql(c), '"'],
    "date": lambda c: ['"', _Sql(c), '"'],
    "varchar": lambda c: [_Sql(f"to_json({c})::text")],
    "text": lambda c: [_Sql(f"to_json({c})::text")],
    "numeric": lambda c: [_Sql(f"trim_scale({c})")],
    "smallint": lambda c: [_Sql(c)],
    "integer": lambda c: [_Sql(c)],
    "bigint": lambda c: [_Sql(c)],
    "boolean": lambda c: [_Sql(f"CASE WHEN {c} THEN 'true' ELSE 'false' END")],
    "jsonb": lambda c: [_Sql(f"{c}::text")],
    # No fraction where there is none; else six digits.
    "timestamp with time zone": lambda c: [
        '"',
        _Sql(f"""replace(to_char({c} AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US'), '.000000', '')"""),
        'Z"',
    ],
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSql:
    """A query that gives each row as (JSON text, *keys); `given` are its values, in order."""

    text: str
    given: Sequence[Any]


def written(rows: QuerySet[Any, Any], *, keys: Sequence[str] = (), limited: bool = False) -> RowSql:
    """The SQL for a `.values()` query; columns in `keys` come beside the text, as Python's values.

    `limited`: its last value is how many rows are wanted at most. Raises EmptyResultSet if a filter lets
    no row pass, KeyError for a column of a type that is not known here.
    """
    names = list(rows.query.selected or ())
    asked = rows.values(*names, *(key for key in keys if key not in names))
    compiler = asked.query.get_compiler(connection=connection)
    sql, given = compiler.as_sql()
    order = list(asked.query.selected or ())
    columns = [f"c{at}" for at in range(len(order))]
    base = asked.query.get_initial_alias()
    parts: list[Part] = []
    for at, name in enumerate(names):
        field = compiler.select[at][0]
        opening = f'{"," if at else "{"}"{name}":'
        parts += _member(opening, columns[at], _kind(field), may_lack=_may_lack(field, base))
    parts.append("}")
    beside = "".join(f", {columns[order.index(key)]}" for key in keys)
    limit = " LIMIT %s" if limited else ""
    return RowSql(
        text=f"SELECT {_joined(parts)}{beside} FROM ({sql}{limit}) AS rows ({', '.join(columns)})",
        given=tuple(given),
    )


def _member(opening: str, column: str, kind: str, *, may_lack: bool) -> list[Part]:
    """A name and its value."""
    value = _WRITE[kind](column)
    if not may_lack:
        return [opening, *value]
    text = " || ".join(part.text if isinstance(part, _Sql) else _quoted(part) for part in value)
    return [opening, _Sql(f"CASE WHEN {column} IS NULL THEN 'null' ELSE ({text})::text END")]


def _kind(field: Expression) -> str:
    """PostgreSQL's name of the type, without its size."""
    return str(field.output_field.db_type(connection)).partition("(")[0]


def _may_lack(field: Expression, base: str | None) -> bool:
    """Whether the value may be NULL: so is what is reckoned, or comes from a table joined."""
    return not isinstance(field, Col) or field.target.null or field.alias != base


def _joined(parts: Sequence[Part]) -> str:
    """One expression for all of them, in few calls."""
    arguments = list(_arguments(parts))
    calls = [
        f"concat({', '.join(arguments[at : at + _MOST_ARGUMENTS])})"
        for at in range(0, len(arguments), _MOST_ARGUMENTS)
    ]
    return " || ".join(calls)


def _arguments(parts: Sequence[Part]) -> Iterator[str]:
    """Neighbouring pieces of JSON become one."""
    text = ""
    for part in parts:
        if isinstance(part, str):
            text += part
            continue
        if text:
            yield _quoted(text)
        text = ""
        yield part.text
    if text:
        yield _quoted(text)


def _quoted(text: str) -> str:
    return f"'{text}'"  # names and marks of our own: no quote and no per cent in them
