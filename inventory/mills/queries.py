"""Reads of mills and their forms."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.api.problems import NotFound
from inventory.mills.models import Mill, MillForm
from inventory.orders.parts import TERMS

_KEPT = ["version", "created_at", "changed_at"]

_FORM = ["id", "mill", "document", "version", "created_at"]


def mills_of(crew: Crew) -> QuerySet[Mill, dict[str, Any]]:
    return Mill.objects.of(crew).values("id", "name", "contact", *TERMS, *_KEPT)


def mill_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(mills_of(crew), id)


def forms_of(crew: Crew, mill: UUID) -> QuerySet[MillForm, dict[str, Any]]:
    """Every version of a mill's form; NotFound for a mill that is not the crew's."""
    row_or_not_found(Mill.objects.of(crew).values("id"), mill)
    return MillForm.objects.of(crew).filter(mill=mill).values(*_FORM)


def form_row(crew: Crew, mill: UUID) -> dict[str, Any]:
    """The newest version of a mill's form. Raises NotFound."""
    found = forms_of(crew, mill).order_by("-version").first()
    if found is None:
        raise NotFound
    return found
