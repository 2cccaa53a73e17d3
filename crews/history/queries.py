"""What the history tells, and to whom."""

from typing import Any

from django.apps import apps
from django.db.models import F, QuerySet

from crews.accounts.models import Crew, Role
from crews.history.models import Change
from crews.history.triggers import AuditTrigger

# What only leads may list, its history included.
_FOR_LEADS = ("access_key", "webhook")


def kinds_kept() -> list[tuple[str, str]]:
    """The kinds of objects that have a history, as choices."""
    found = [one for model in apps.get_models() for one in model._meta.constraints]
    return sorted((one.kind, one.kind) for one in found if isinstance(one, AuditTrigger))


def changes_of(crew: Crew, role: str) -> QuerySet[Change, dict[str, Any]]:
    """The crew's history, as far as the role may see it."""
    rows = Change.objects.filter(crew=crew)
    if role != Role.LEAD:
        rows = rows.exclude(kind__in=_FOR_LEADS)
    fields = ["id", "at", "made_at", "kind", "object", "version", "member", "key", "request_id"]
    return rows.values(*fields, "before", "after", member_name=F("member__name"))
