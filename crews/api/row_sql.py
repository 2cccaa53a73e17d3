"""SQL that writes each row of a query as JSON: what `json_bytes` makes of the row, byte for byte."""

from collections.abc import Iterator, Sequence
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


@dataclass(frozen=True, slots=True)
class _Form:
    """How a value is written: SQL of its column `{}`, NULL where that is, and the marks around it."""

    sql: str
    mark: str = ""
    type: str = "text"  # what PostgreSQL takes it for when it may be `null` as well

    def parts(self, column: str, *, may_lack: bool) -> list[Part]:
        value = self.sql.format(column)
        if not may_lack:
            return [self.mark, _Sql(value), self.mark]
        mark = f"'{self.mark}'"
        whole = f"{mark} || {value} || {mark}" if self.mark else f"({value})::{self.type}"
        return [_Sql(f"coalesce({whole}, 'null')")]


_NUMBER = _Form("{}")
# By PostgreSQL's name of the type.
_FORMS = {
    "uuid": _Form("{}", mark='"'),
    "date": _Form("{}", mark='"'),
    "numeric": _Form("trim_scale({})"),
    "smallint": _NUMBER,
    "integer": _NUMBER,
    "bigint": _NUMBER,
    "boolean": _Form("CASE WHEN {0} THEN 'true' WHEN NOT {0} THEN 'false' END"),
    # No fraction where there is none; else six digits.
    "timestamp with time zone": _Form(
        """replace(to_char({} AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"'), '.000000', '')""",
        mark='"',
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSql:
    """A query that gives each row as (*texts, *keys); `given` are its values, in order.

    The texts joined are the row's JSON. Every other one, from the second on, is a document as PostgreSQL
    writes it, with blanks (or NULL); the others are final.
    """

    text: str
    given: Sequence[Any]
    texts: int


def compile_json_sql(rows: QuerySet[Any, Any], *, keys: Sequence[str], limit: str) -> RowSql:
    """The SQL for a `.values()` query; columns in `keys` come beside the texts, as Python's values.

    `limit` says how many rows are wanted at most, in SQL: a number, or `%s` for a last value. Raises
    EmptyResultSet if a filter lets no row pass, KeyError for a column of a type that is not known here.
    """
    names = list(rows.query.selected or ())
    asked = rows.values(*names, *(key for key in keys if key not in names))
    compiler = asked.query.get_compiler(connection=connection)
    sql, given = compiler.as_sql()
    order = list(asked.query.selected or ())
    columns = [f"c{at}" for at in range(len(order))]
    base = asked.query.get_initial_alias()
    texts: list[str] = []
    parts: list[Part] = []
    for at, name in enumerate(names):
        field = compiler.select[at][0]
        parts.append(f'{"," if at else "{"}"{name}":')
        kind = _kind(field)
        if kind == "jsonb":
            texts += [_joined(parts), f"{columns[at]}::text"]
            parts = []
        else:
            parts += _form(kind).parts(columns[at], may_lack=_may_lack(field, base))
    texts.append(_joined([*parts, "}"]))
    beside = [columns[order.index(key)] for key in keys]
    return RowSql(
        text=f"SELECT {', '.join(texts + beside)} FROM ({sql} LIMIT {limit}) AS rows ({', '.join(columns)})",
        given=tuple(given),
        texts=len(texts),
    )


def _form(kind: str) -> _Form:
    if kind not in ("varchar", "text"):
        return _FORMS[kind]
    # The newer of the two does not look the type up again for each value.
    database: Any = connection
    return _Form("JSON_SCALAR({})" if database.pg_version >= 170_000 else "to_json({})", type="json")


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
