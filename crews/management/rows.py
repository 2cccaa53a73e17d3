"""A row that an operator names on the command line."""

from typing import Any
from uuid import UUID

from django.core.management.base import CommandError
from django.db.models import Q, QuerySet


def row_by_id_or_name(rows: QuerySet[Any, Any], given: str, *, name: str, what: str) -> Any:
    """The one row of that id or name. Raises CommandError."""
    try:
        wanted = Q(id=UUID(given))
    except ValueError:
        wanted = Q(**{name: given})
    found = list(rows.filter(wanted)[:2])
    if len(found) != 1:
        raise CommandError(
            f"There is {'no' if not found else 'more than one'} {what} {given!r}; give the id."
        )
    return found[0]
