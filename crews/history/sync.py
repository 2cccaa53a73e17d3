"""What of a list changed since a reader read it last, and what went away: for front ends that keep a copy.

The history has the position of each change in the order of all transactions, so that none is missed however
slow its writer was; one may be told twice. What is shown of other objects, such as a rack's name, changes
with those.
"""

from typing import Any

from django.db.models import Model, QuerySet
from django_filters import FilterSet
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers

from crews.accounts.access import CrewRequest
from crews.api.fast_rows import CompiledQuery
from crews.api.paging import chosen, fast_page, list_parameters, page
from crews.api.positions import START, Cursor, cursor_of, horizon
from crews.api.reading import RowOut
from crews.history.models import Change
from crews.history.triggers import AuditTrigger

SINCE, FIRST = "changed_since", "start"
_DESCRIBED = OpenApiParameter(
    SINCE,
    str,
    description=f"`{FIRST}`: all, with a `cursor`; that cursor: what changed since, and what is `gone`.",
)


# Without a docstring, which the schema would show in place of its pages' own.
class SyncedPage(RowOut):
    cursor = serializers.CharField(
        required=False, help_text="For `changed_since` next time; on its first page."
    )
    gone = serializers.ListField(
        child=serializers.UUIDField(),
        required=False,
        help_text="Changed since, and not here any more.",
    )


def synced_parameters(filters: type[FilterSet], orders: dict[str, str]) -> list[OpenApiParameter]:
    """The query parameters of such a list."""
    return [*list_parameters(filters, orders), _DESCRIBED]


def synced_page(
    request: CrewRequest,
    rows: QuerySet[Any, Any] | CompiledQuery,
    *,
    filters: type[FilterSet],
    orders: dict[str, str],
) -> dict[str, Any]:
    """A page of `rows`, of the crew that asks; with `changed_since` of those that changed since then.

    A CompiledQuery is one of the crew's id. Raises InvalidQuery.
    """
    asked, crew = request.query_params.get(SINCE), request.crew
    if asked is None:
        if isinstance(rows, CompiledQuery):
            return fast_page(request, rows, filters=filters, orders=orders, crew=crew.id)
        return page(request, rows, filters=filters, orders=orders)
    since = START if asked == FIRST else cursor_of(asked, parameter=SINCE)
    now, _ = horizon()  # before the rows are read, so that whatever they lack is told next time
    changed = Change.objects.filter(crew=crew, kind=_kind(rows.model), position__gte=since.position)
    changed_ids = changed.values("object")

    def narrow(rows: QuerySet[Any, Any]) -> QuerySet[Any, Any]:
        return rows if since == START else rows.filter(id__in=changed_ids)

    if isinstance(rows, CompiledQuery):
        found = fast_page(
            request, rows, filters=filters, orders=orders, beside={SINCE}, narrow=narrow, crew=crew.id
        )
        rows = rows(crew=crew.id)
    else:
        found = page(request, narrow(rows), filters=filters, orders=orders, beside={SINCE})
    if "after" in request.query_params:
        return found
    here = chosen(request.query_params, rows, filters).order_by().values("id")
    gone = [] if since == START else changed_ids.exclude(object__in=here).values_list("object", flat=True)
    return {**found, "cursor": Cursor(now, 0).text(), "gone": sorted(set(gone))}


def _kind(model: type[Model]) -> str:
    """The word under which the history keeps the model's changes."""
    return next(one.kind for one in model._meta.constraints if isinstance(one, AuditTrigger))
