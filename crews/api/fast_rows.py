"""Rows as JSON at little more than the cost of their query: the largest lists, and what is asked most.

The usual way Django writes the SQL anew for every query and makes a Decimal, a UUID or a date of every value,
in Python, of which `json_bytes` then makes text again: three quarters of the time of a page of 500 logs. Here
the database writes each row as JSON (`row_sql`), and SQL that is the same every time is written once in a
process and planned once on a connection. Only the text of a query is kept, never an answer. The bytes are,
one for one, those of the usual way (tests/test_fast_rows.py).
"""

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from inspect import signature
from typing import Any, NamedTuple
from uuid import UUID, uuid4

import orjson
from django.core.exceptions import EmptyResultSet
from django.db import connection
from django.db.models import Expression, Field, Model, QuerySet

from crews.api.prepared import prepared_cursor
from crews.api.render import json_bytes
from crews.api.row_sql import RowSql, compile_json_sql

# Pages as most people ask for them, and the row that tells whether there is more. The plan for any values is
# made for a limit that PostgreSQL knows: it takes one it does not know for a tenth of all.
_PREPARED_LIMITS = (1, 2, 21, 51, 101, 201, 501)


class RowJson(NamedTuple):
    """A row for `json_bytes`, and the values of it that were asked for beside."""

    json: orjson.Fragment
    keys: tuple[Any, ...]


class Param(Expression):
    """A value that is put into the query each time it is asked."""

    def __init__(self, name: str, output_field: "Field[Any, Any]") -> None:
        super().__init__(output_field)
        self.name = name

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[Any, ...]]:
        return "%s", (self,)


class PlaceholderIds(dict[str, UUID]):
    """For each name an id that Django writes a query for; it is replaced by the one that is asked for."""

    def __missing__(self, name: str) -> UUID:
        return self.setdefault(name, uuid4())


class CompiledQuery:
    """Makes a function that gives a `.values()` query for some ids into one whose SQL is written once.

    Called, it is that function. Only the ids may differ, so its form may not hang on what they are.
    """

    def __init__(self, model: type[Model], make: Callable[..., QuerySet[Any, Any]]) -> None:
        self.model = model
        self._make = make
        self._names = list(signature(make).parameters)
        self._kept: dict[Hashable, tuple[RowSql, dict[UUID, str]]] = {}
        self._plain: _Plain | None = None

    def __call__(self, **ids: UUID) -> QuerySet[Any, Any]:
        return self._make(**ids)

    def rows(self, **ids: UUID) -> list[dict[str, Any]]:
        """All rows as Python's values."""
        if self._plain is None:
            stand_ins = {name: uuid4() for name in self._names}
            self._plain = _plain(self._make(**stand_ins), {id: name for name, id in stand_ins.items()})
        return self._plain.read(ids)

    def ask(
        self, *, shape: Hashable, keys: Sequence[str], values: Mapping[str, Any], most: int,
        refine: Callable[[QuerySet[Any, Any], PlaceholderIds], QuerySet[Any, Any]] = lambda rows, _: rows,
    ) -> list[RowJson]:  # fmt: skip
        """The rows, `most` of them at most; `values` are the ids and what `refine` puts in.

        Refined alike under the same `shape`, so that the SQL is kept; without a shape it is not.
        """
        prepared = shape is not None and most in _PREPARED_LIMITS
        limit = str(most) if prepared else "%s"
        form = (shape, limit)
        try:
            kept = self._kept.get(form) if shape is not None else None
            if kept is None:
                kept = self._write(keys, refine, limit)
                if shape is not None:
                    self._kept[form] = kept
        except EmptyResultSet:  # a filter that no row can pass
            return []
        sql, stand_ins = kept
        given = [_given(one, stand_ins, values) for one in sql.given]
        return _read(sql, given if prepared else [*given, most], prepared=prepared)

    def _write(
        self, keys: Sequence[str], refine: Callable[..., QuerySet[Any, Any]], limit: str
    ) -> tuple[RowSql, dict[UUID, str]]:
        stand_ins = PlaceholderIds()
        rows = refine(self._make(**{name: stand_ins[name] for name in self._names}), stand_ins)
        sql = compile_json_sql(rows, keys=keys, limit=limit)
        return sql, {id: name for name, id in stand_ins.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plain:
    """A `.values()` query as Django wrote it; a reader makes of a value what its field does, if it does."""

    sql: str
    given: Sequence[Any]
    stand_ins: Mapping[UUID, str]
    names: Sequence[str]
    readers: Sequence[Callable[[Any, None, Any], Any] | None]

    def read(self, ids: Mapping[str, UUID]) -> list[dict[str, Any]]:
        with prepared_cursor() as cursor:
            cursor.execute(self.sql, [_given(one, self.stand_ins, ids) for one in self.given])
            return [dict(zip(self.names, self._read(row), strict=True)) for row in cursor.fetchall()]

    def _read(self, row: Sequence[Any]) -> Iterator[Any]:
        for value, reader in zip(row, self.readers, strict=True):
            yield value if reader is None else reader(value, None, connection)


def _plain(rows: QuerySet[Any, Any], stand_ins: Mapping[UUID, str]) -> _Plain:
    compiler = rows.query.get_compiler(connection=connection)
    sql, given = compiler.as_sql()
    return _Plain(
        sql=sql, given=given, stand_ins=stand_ins, names=list(rows.query.selected or ()),
        readers=[getattr(one.output_field, "from_db_value", None) for one, *_ in compiler.select],
    )  # fmt: skip


def _given(one: Any, stand_ins: Mapping[UUID, str], values: Mapping[str, Any]) -> Any:
    if isinstance(one, Param):
        return values[one.name]
    if isinstance(one, UUID) and one in stand_ins:
        return values[stand_ins[one]]
    return one


def _read(sql: RowSql, given: Sequence[Any], *, prepared: bool) -> list[RowJson]:
    with prepared_cursor() if prepared else connection.cursor() as cursor:
        cursor.execute(sql.text, given)
        columns: list[Sequence[Any]] = list(zip(*cursor.fetchall(), strict=True))
    texts, keys = columns[: sql.texts], columns[sql.texts :]
    texts[1::2] = [[_document(text) for text in column] for column in texts[1::2]]
    rows = map("".join, zip(*texts, strict=True))
    return list(map(RowJson, map(orjson.Fragment, rows), zip(*keys, strict=True)))


def _document(text: str | None) -> str:
    """A document without the blanks that PostgreSQL writes into it; most have nothing in them."""
    if text is None:
        return "null"
    return text if text in ("[]", "{}") else json_bytes(orjson.loads(text)).decode()


def compiled_query(model: type[Model]) -> Callable[[Callable[..., QuerySet[Any, Any]]], CompiledQuery]:
    """Decorates a function of ids that makes a `.values()` query of the model."""
    return partial(CompiledQuery, model)
