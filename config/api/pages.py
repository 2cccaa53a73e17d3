"""Lists by key: an opaque cursor, allow-listed filters and orders, unknown parameters refused."""

import base64
import binascii
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

import orjson
from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet
from django_filters import FilterSet
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request

from config.api.fast_rows import rows_to_write
from config.api.problems import InvalidQuery, fault
from config.api.render import json_bytes

MOST, USUAL = 500, 100


def page(
    request: Request,
    rows: QuerySet[Any, Any],
    *,
    filters: type[FilterSet],
    orders: Mapping[str, str],
) -> dict[str, Any]:
    """One page of `rows` (plain `.values()` rows): {"items": [...], "next": cursor or null}.

    `orders` maps the words of `?order=` to model fields that are never null; the first is the usual one,
    and a minus before the word turns it round. The id breaks ties, so no row is missed or seen twice.
    """
    asked = _asked_of(request, rows, filters=filters, orders=orders)
    return asked.page_of(list(asked.rows))


def fast_page(
    request: Request,
    rows: QuerySet[Any, Any],
    *,
    filters: type[FilterSet],
    orders: Mapping[str, str],
    leaving_out: Collection[str] = (),
) -> dict[str, Any]:
    """The same page for `json_bytes` alone to read: its values are those of `rows_to_write`.

    Columns in `leaving_out` are there to order by and are not shown. Raises InvalidQuery.
    """
    asked = _asked_of(request, rows, filters=filters, orders=orders)
    found = asked.page_of(rows_to_write(asked.rows))
    for row in found["items"]:
        for name in leaving_out:
            del row[name]
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """The rows of the page that was asked for, one more than fit if there are any, and what they go by."""

    rows: QuerySet[Any, Any]
    limit: int
    order: str
    field: str

    def page_of(self, found: list[dict[str, Any]]) -> dict[str, Any]:
        """The page as it is answered, from what `rows` gave."""
        items = found[: self.limit]
        more = len(found) > self.limit
        return {"items": items, "next": _closed(self.order, items[-1], self.field) if more else None}


def _asked_of(
    request: Request, rows: QuerySet[Any, Any], *, filters: type[FilterSet], orders: Mapping[str, str]
) -> _Asked:
    """What `page` answers with, as a query that has not run. Raises InvalidQuery."""
    limit, order, after = _asked(request, filters, orders)
    down, field = order.startswith("-"), orders[order.lstrip("-")]
    found = _chosen(request, rows, filters).order_by(*((f"-{field}", "-id") if down else (field, "id")))
    if after:
        value, last = _opened(after, order, rows, field)
        beyond = "lt" if down else "gt"
        found = found.filter(Q(**{f"{field}__{beyond}": value}) | Q(**{field: value, f"id__{beyond}": last}))
    return _Asked(rows=found[: limit + 1], limit=limit, order=order, field=field)


def _chosen(request: Request, rows: QuerySet[Any, Any], filters: type[FilterSet]) -> QuerySet[Any, Any]:
    if not any(name in request.query_params for name in filters.base_filters):
        return rows  # none of our filters must be given, and a form for nothing costs as much as the query
    chosen = filters(data=request.query_params, queryset=rows)
    if not chosen.is_valid():
        raise InvalidQuery(
            errors=[fault(f"?{name}", str(e), "invalid") for name, es in chosen.errors.items() for e in es]
        )
    return chosen.qs


def _asked(request: Request, filters: type[FilterSet], orders: Mapping[str, str]) -> tuple[int, str, str]:
    asked = request.query_params
    known = {*filters.base_filters, "limit", "after", "order"}
    refuse_unknown(request, known)
    order = asked.get("order") or next(iter(orders))
    faults = []
    if order.removeprefix("-") not in orders:
        faults.append(fault("?order", f"Order by one of: {', '.join(orders)} (with - before it: downwards)."))
    text = asked.get("limit") or str(USUAL)
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= MOST):
        faults.append(fault("?limit", f"A whole number from 1 to {MOST}."))
    if faults:
        raise InvalidQuery(errors=faults)
    return int(text), order, asked.get("after", "")


def refuse_unknown(request: Request, known: set[str]) -> None:
    """A misspelt parameter must not look like a filter that matched."""
    odd = [name for name in request.query_params if name not in known]
    if odd:
        raise InvalidQuery(errors=[fault(f"?{name}", "No such parameter here.", "unknown") for name in odd])


def _closed(order: str, last: Mapping[str, Any], field: str) -> str:
    return base64.urlsafe_b64encode(json_bytes([order, last[field], last["id"]])).decode().rstrip("=")


def _opened(after: str, order: str, rows: QuerySet[Any, Any], field: str) -> tuple[Any, Any]:
    try:
        kept, value, last = orjson.loads(base64.urlsafe_b64decode(after + "=" * (-len(after) % 4)))
        if kept != order:
            raise InvalidQuery(errors=[fault("?after", "This cursor belongs to another order.")])
        model = rows.model
        return model._meta.get_field(field).to_python(str(value)), model._meta.pk.to_python(last)
    except (ValueError, TypeError, binascii.Error, ValidationError) as error:
        raise InvalidQuery(errors=[fault("?after", "Not a cursor of this list.")]) from error


_SCHEMA_TYPES: list[tuple[type[forms.Field], dict[str, Any]]] = [
    (forms.NullBooleanField, {"type": "boolean"}),
    (forms.IntegerField, {"type": "number"}),
    (forms.UUIDField, {"type": "string", "format": "uuid"}),
]


def list_parameters(filters: type[FilterSet], orders: Mapping[str, str]) -> list[OpenApiParameter]:
    """The query parameters of a list, described from the same filters that read them."""
    found = []
    for name, one in filters.base_filters.items():
        schema = next((s for kind, s in _SCHEMA_TYPES if isinstance(one.field, kind)), {"type": "string"})
        choices = [str(value) for value, _ in getattr(one.field, "choices", []) if value]
        if choices:
            schema = {"type": "string", "enum": choices}
        found.append(
            OpenApiParameter(name, schema, description=str(one.label or one.extra.get("help_text") or ""))
        )
    words = [w for name in orders for w in (name, f"-{name}")]
    return [
        *found,
        OpenApiParameter(
            "order", {"type": "string", "enum": words}, description="How to order; - turns it round."
        ),
        OpenApiParameter(
            "limit",
            {"type": "integer", "minimum": 1, "maximum": MOST, "default": USUAL},
            description="Page size.",
        ),
        OpenApiParameter("after", {"type": "string"}, description="The `next` of the page before."),
    ]
