"""What the history tells, and to whom."""

from collections.abc import Iterable
from datetime import datetime
from functools import cache
from typing import Any

from django.apps import apps
from django.db.models import DateTimeField, F, QuerySet

from crews.accounts.models import Crew, Role
from crews.history.models import Change
from crews.history.triggers import AuditTrigger

# What only leads may list, its history included.
_FOR_LEADS = ("access_key", "webhook")


def kinds_kept() -> list[tuple[str, str]]:
    """The kinds of objects that have a history, as choices."""
    return sorted((kind, kind) for kind in _times())


@cache
def _times() -> dict[str, list[str]]:
    """For each kind of objects that has a history the columns that hold times."""
    return {
        one.kind: [
            str(field.column) for field in model._meta.concrete_fields if isinstance(field, DateTimeField)
        ]
        for model in apps.get_models()
        for one in model._meta.constraints
        if isinstance(one, AuditTrigger)
    }


def with_times(changes: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """The changes as they are told: the database wrote times into them in a form of its own."""
    return [
        {**one, "before": _told(one["kind"], one["before"]), "after": _told(one["kind"], one["after"])}
        for one in changes
    ]


def _told(kind: str, row: dict[str, Any] | None) -> dict[str, Any] | None:
    if row is None:
        return None
    held = {name: row[name] for name in _times().get(kind, ()) if row.get(name) is not None}
    return {**row, **{name: datetime.fromisoformat(written) for name, written in held.items()}}


def changes_of(crew: Crew, role: str) -> QuerySet[Change, dict[str, Any]]:
    """The crew's history, as far as the role may see it."""
    rows = Change.objects.filter(crew=crew)
    if role != Role.LEAD:
        rows = rows.exclude(kind__in=_FOR_LEADS)
    fields = ["id", "at", "made_at", "kind", "object", "version", "member", "key", "request_id"]
    return rows.values(*fields, "before", "after", member_name=F("member__name"))
