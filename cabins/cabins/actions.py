"""Cabins: taken up and renamed."""

from datetime import datetime
from typing import Any
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.cabins.queries import cabin_row
from crews.accounts.models import Crew
from crews.accounts.versioned_rows import put_row
from crews.api.problems import Refusal, register_constraint_errors
from crews.api.versions import Expected


class CabinNameTaken(Refusal):
    """Another cabin of this crew has that name."""


register_constraint_errors(
    {"cabin_once_in_crew": (CabinNameTaken, "Another cabin of this crew has that name.")}
)


def put_cabin(
    *, crew: Crew, id: UUID, fields: dict[str, Any], expected: Expected | None, at: datetime
) -> tuple[Cabin, bool]:
    """Take up a cabin, or change its name or remarks; (cabin, created). Raises CabinNameTaken."""
    return put_row(
        Cabin,
        crew=crew,
        id=id,
        fields=fields,
        expected=expected,
        at=at,
        row_of=lambda held: cabin_row(crew, held),
    )
