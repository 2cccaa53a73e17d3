"""The largest lists: the same pages, byte for byte, with their JSON written by the database.

Turning 500 rows of thirty columns into Python values and those into JSON costs more than the query. Here
the query of the page is wrapped into one that writes each row as JSON, and the text goes into the answer as
it is. Rights, filters, order and cursor are those of `pages.page`.
"""

from collections.abc import Collection, Mapping
from typing import Any

import orjson
from django.db import connection
from django.db.models import Field, QuerySet
from django_filters import FilterSet
from rest_framework.request import Request

from config.api.pages import asked_of

# How a value is written where PostgreSQL's own way is not that of `render.json_bytes`: a length without the
# zeros behind it, a time in UTC with its microseconds if it has any, a document without blanks between its
# parts (a string is matched whole, so that the blanks inside of it stay).
_AS_IT_IS = "{0}"
_EXACT = "trim_scale({0})"
_UTC = (
    "to_char({0} AT TIME ZONE 'UTC', CASE WHEN date_trunc('second', {0}) = {0}"
    """ THEN 'YYYY-MM-DD"T"HH24:MI:SS"Z"' ELSE 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"' END)"""
)
_COMPACT = (
    "CASE WHEN strpos({0}::text, ' ') = 0 THEN {0}::text::json"
    r""" ELSE regexp_replace({0}::text, '("(?:[^"\\]|\\.)*")|\s+', '\1', 'g')::json END"""
)
_WRITTEN = {
    "DecimalField": _EXACT,
    "DateTimeField": _UTC,
    "JSONField": _COMPACT,
    **dict.fromkeys(
        (
            "UUIDField", "ForeignKey", "OneToOneField", "CharField", "TextField", "BooleanField", "DateField",
            "IntegerField", "PositiveIntegerField", "PositiveSmallIntegerField", "BigAutoField",
        ),
        _AS_IT_IS,
    ),
}  # fmt: skip


def fast_page(
    request: Request,
    rows: QuerySet[Any, Any],
    *,
    filters: type[FilterSet],
    orders: Mapping[str, str],
    leaving_out: Collection[str] = (),
) -> dict[str, Any]:
    """One page as `pages.page` makes it, for `json_bytes` alone to read: its items are JSON already.

    Columns in `leaving_out` are there to order by and are not shown. Raises InvalidQuery; KeyError for rows
    with a column that PostgreSQL and orjson write in different ways, such as a float.
    """
    asked = asked_of(request, rows, filters=filters, orders=orders)
    found = _written(asked.rows, keys=(asked.field, "id"), leaving_out=leaving_out)
    items = orjson.Fragment("[" + ",".join(row[0] for row in found[: asked.limit]) + "]")
    if len(found) <= asked.limit:
        return {"items": items, "next": None}
    _, value, last = found[asked.limit - 1]
    return {"items": items, "next": asked.cursor_at({asked.field: value, "id": last})}


def _written(
    rows: QuerySet[Any, Any], *, keys: tuple[str, str], leaving_out: Collection[str]
) -> list[tuple[str, Any, Any]]:
    """Each row as JSON, and beside it the two columns that a cursor is made of."""
    compiler = rows.query.get_compiler(connection=connection)
    sql, given = compiler.as_sql()
    quoted = connection.ops.quote_name
    fields = {
        name: expression.output_field
        for name, (expression, _, _) in zip(rows.query.selected or (), compiler.select, strict=True)
    }
    shown = ", ".join(
        f"{_as_json(quoted(name), field)} AS {quoted(name)}"
        for name, field in fields.items()
        if name not in leaving_out
    )
    names, beside = ", ".join(map(quoted, fields)), ", ".join(f"page.{quoted(key)}" for key in keys)
    # Nothing a client sent is in this text: names are of our own fields, values go as parameters.
    whole = (
        f"SELECT row_to_json(shown)::text, {beside} FROM ({sql}) AS page ({names})"
        f" CROSS JOIN LATERAL (SELECT {shown}) AS shown"
    )
    with connection.cursor() as cursor:
        cursor.execute(whole, given)
        return cursor.fetchall()


def _as_json(column: str, field: "Field[Any, Any]") -> str:
    return _WRITTEN[field.get_internal_type()].format(f"page.{column}")
