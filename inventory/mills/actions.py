"""Writes of mills and their forms."""

from datetime import datetime
from functools import partial
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from crews.accounts.models import Crew
from crews.accounts.versioned_rows import one_of, put_row
from crews.api.problems import InvalidInput, fault
from crews.api.reading import raise_if_any
from crews.api.versions import Expected, check_version
from inventory.core.form import Form
from inventory.core.form_reading import BadForm, read_form
from inventory.mills.models import Mill, MillForm
from inventory.mills.queries import form_row, mill_row


def put_mill(
    *, crew: Crew, id: UUID, fields: dict[str, Any], expected: Expected | None, at: datetime
) -> bool:
    """Keep a mill; True if it is new."""
    if fields["longest_ft"] < fields["length_step_ft"]:
        raise_if_any([fault("/longest_ft", "Not shorter than the step of length.", "too_small")])
    row_of = partial(mill_row, crew)
    _, created = put_row(Mill, crew=crew, id=id, fields=fields, expected=expected, at=at, row_of=row_of)
    return created


@transaction.atomic
def put_form(*, crew: Crew, mill: UUID, document: Any, expected: Expected | None, at: datetime) -> bool:
    """Keep the mill's form as its next version; True if it is the first. The same again changes nothing.

    Raises InvalidInput with every fault of the document, each naming its column; VersionNeeded, VersionStale.
    """
    one_of(Mill, crew=crew, id=mill, lock=True)
    check_form(document)
    held = MillForm.objects.of(crew).filter(mill=mill).order_by("-version").first()
    if held and held.document == document:
        return False
    if held:
        check_version(expected=expected, current=held.version, row=form_row(crew, mill))
    MillForm.objects.create(
        id=uuid4(),
        crew=crew,
        mill_id=mill,
        version=held.version + 1 if held else 1,
        document=document,
        created_at=at,
        changed_at=at,
    )
    return held is None


def check_form(document: Any) -> Form:
    """The form of a document. Raises InvalidInput with every fault, each naming its column."""
    try:
        return read_form(document)
    except BadForm as bad:
        raise InvalidInput(
            errors=[
                {**fault(f"/document{one.pointer}", one.text, "bad_form"), "column": one.column}
                for one in bad.faults
            ]
        ) from bad
