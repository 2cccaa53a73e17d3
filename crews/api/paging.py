"""Lists by key: an opaque cursor, allow-listed filters and orders, unknown parameters refused."""

import base64
import binascii
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast
from uuid import UUID

import orjson
from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Field, Model, Q, QuerySet
from django_filters import BooleanFilter, FilterSet, UUIDFilter
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request

from crews.api.fast_rows import CompiledQuery, Param, PlaceholderIds
from crews.api.problems import InvalidQuery, fault
from crews.api.render import json_bytes

MOST, USUAL = 500, 100


def page(
    request: Request,
    rows: QuerySet[Any, Any],
    *,
    filters: type[FilterSet],
    orders: Mapping[str, str],
    beside: Collection[str] = (),
) -> dict[str, Any]:
    """One page of `rows` (plain `.values()` rows): {"items": [...], "next": cursor or null}.

    `orders` maps the words of `?order=` to model fields that are never null; the first is the usual one,
    and a minus before the word turns it round. The id breaks ties, so no row is missed or seen twice.
    Parameters `beside` those of the list are known and left to whoever asks.
    """
    asked = _asked(request, filters, orders, beside)
    found = chosen(request.query_params, rows, filters).order_by(*asked.by)
    if asked.after:
        found = found.filter(asked.beyond(*asked.opened(rows.model)))
    shown = list(found[: asked.limit + 1])
    return asked.page_of(shown, [(row[asked.field], row["id"]) for row in shown])


def fast_page(
    request: Request,
    listed: CompiledQuery,
    *,
    filters: type[FilterSet],
    orders: Mapping[str, str],
    beside: Collection[str] = (),
    narrow: Callable[[QuerySet[Any, Any]], QuerySet[Any, Any]] | None = None,
    **ids: UUID,
) -> dict[str, Any]:
    """The same page of the query that `listed` makes of `ids`, for `json_bytes` alone to read.

    Its SQL is kept where nothing but ids is filtered by, and nothing else `narrow`s it. Raises InvalidQuery.
    """
    asked = _asked(request, filters, orders, beside)
    after = dict(zip(("value", "last"), asked.opened(listed.model), strict=True)) if asked.after else {}
    by_id = _ids_given(request, filters)

    def refine(rows: QuerySet[Any, Any], stand_ins: PlaceholderIds) -> QuerySet[Any, Any]:
        given = request.query_params if by_id is None else {name: str(stand_ins[name]) for name in by_id}
        found = chosen(given, rows if narrow is None else narrow(rows), filters).order_by(*asked.by)
        if not asked.after:
            return found
        value, last = (field_of(listed.model, name) for name in (asked.field, "id"))
        return found.filter(asked.beyond(Param("value", value), Param("last", last)))

    found = listed.ask(
        shape=None if by_id is None or narrow is not None else (filters, asked.by, bool(asked.after), *by_id),
        keys=(asked.field, "id"),
        values={**ids, **after, **(by_id or {})},
        most=asked.limit + 1,
        refine=refine,
    )
    return asked.page_of([row.json for row in found], [row.keys for row in found])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What a page is asked by: how many rows, in which order, after which one."""

    limit: int
    order: str
    field: str
    after: str

    @property
    def _down(self) -> bool:
        return self.order.startswith("-")

    @property
    def by(self) -> tuple[str, str]:
        """The order, for Django."""
        return (f"-{self.field}", "-id") if self._down else (self.field, "id")

    def opened(self, model: type[Model]) -> tuple[Any, Any]:
        """The value and the id of the row before. Raises InvalidQuery."""
        return _opened(self.after, self.order, model, self.field)

    def beyond(self, value: Any, last: Any) -> Q:
        """What lies after that row. The first part says where in the index to begin to read."""
        past = "lt" if self._down else "gt"
        return Q(**{f"{self.field}__{past}e": value}) & (
            Q(**{f"{self.field}__{past}": value}) | Q(**{self.field: value, f"id__{past}": last})
        )

    def page_of(self, rows: Sequence[Any], keys: Sequence[tuple[Any, Any]]) -> dict[str, Any]:
        """The page as it is answered, of one row more than fit if there are any; `keys` are field and id."""
        more = len(rows) > self.limit
        items = rows[: self.limit]
        return {"items": items, "next": _closed(self.order, *keys[len(items) - 1]) if more else None}


def _ids_given(request: Request, filters: type[FilterSet]) -> dict[str, UUID] | None:
    """The filters that are given, by name, if all are ids that are compared as they are; else None."""
    given = {
        name: request.query_params[name] for name in filters.base_filters if name in request.query_params
    }
    asked = [filters.base_filters[name] for name in given]
    plain = all(type(one) is UUIDFilter and one.method is None for one in asked)
    try:
        return {name: UUID(value) for name, value in sorted(given.items())} if plain else None
    except ValueError:
        return None


def field_of(model: type[Model], name: str) -> "Field[Any, Any]":
    """A column of the model's own."""
    return cast("Field[Any, Any]", model._meta.get_field(name))


def chosen(
    given: Mapping[str, str], rows: QuerySet[Any, Any], filters: type[FilterSet]
) -> QuerySet[Any, Any]:
    """Those of the rows that the filters let pass. Raises InvalidQuery."""
    if not any(name in given for name in filters.base_filters):
        return rows  # none of our filters must be given, and a form for nothing costs as much as the query
    chosen = filters(data=given, queryset=rows)
    if not chosen.is_valid():
        raise InvalidQuery(
            errors=[fault(f"?{name}", str(e), "invalid") for name, es in chosen.errors.items() for e in es]
        )
    return chosen.qs


def _asked(
    request: Request, filters: type[FilterSet], orders: Mapping[str, str], beside: Collection[str] = ()
) -> _Asked:
    asked = request.query_params
    known = {*filters.base_filters, "limit", "after", "order", *beside}
    refuse_unknown(request, known)
    order = asked.get("order", next(iter(orders)))
    faults = [
        fault(f"?{name}", "true or false.")
        for name, one in filters.base_filters.items()
        if isinstance(one, BooleanFilter) and asked.get(name, "true").lower() not in ("true", "false")
    ]
    if order.removeprefix("-") not in orders:
        faults.append(fault("?order", f"Order by one of: {', '.join(orders)} (with - before it: downwards)."))
    text = asked.get("limit") or str(USUAL)
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= MOST):
        faults.append(fault("?limit", f"A whole number from 1 to {MOST}."))
    if faults:
        raise InvalidQuery(errors=faults)
    field = orders[order.removeprefix("-")]
    return _Asked(limit=int(text), order=order, field=field, after=asked.get("after", ""))


def refuse_unknown(request: Request, known: set[str]) -> None:
    """A misspelt parameter must not look like a filter that matched."""
    odd = [name for name in request.query_params if name not in known]
    if odd:
        raise InvalidQuery(errors=[fault(f"?{name}", "No such parameter here.", "unknown") for name in odd])


def _closed(order: str, value: Any, last: Any) -> str:
    return base64.urlsafe_b64encode(json_bytes([order, value, last])).decode().rstrip("=")


def _opened(after: str, order: str, model: type[Model], field: str) -> tuple[Any, Any]:
    try:
        kept, value, last = orjson.loads(base64.urlsafe_b64decode(after + "=" * (-len(after) % 4)))
        if kept != order:
            raise InvalidQuery(errors=[fault("?after", "This cursor belongs to another order.")])
        return field_of(model, field).to_python(str(value)), field_of(model, "id").to_python(last)
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
