"""Many new logs at once, as a phone collects them: what is in order is stored by one statement a table."""

from collections.abc import Hashable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import insert_rows
from crews.api.problems import Refusal
from crews.api.versions import Expected
from crews.history.authors import tell_when
from inventory.core.chart_rules import doubts_of_line
from inventory.logs.actions import columns_of, following, keep_measurements, line_in_order
from inventory.logs.checks import ask_to_confirm, pointed
from inventory.logs.drawing_values import units_of
from inventory.logs.lines import name_key
from inventory.logs.models import Log
from inventory.logs.queries import logs_taken
from inventory.yards.lookup import PlacesNamed, places_named


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LogAsked:
    """A log that someone asks to chart, as `put_log` takes it, and when they recorded it.

    Asked again with the same words it is another one.
    """

    id: UUID
    fields: dict[str, Any]
    confirmed: bool
    expected: Expected | None
    at: datetime
    made_at: datetime


@transaction.atomic(savepoint=False)
def chart_new_logs(*, crew: Crew, member: Member, asked: Sequence[LogAsked]) -> set[LogAsked]:
    """Store those that `put_log` would store as new ones; which ones they are.

    All others are left to it, and none of them matters to those that are stored: a log that names a version,
    one whose id or number is taken or was asked for earlier on, and whatever would be refused.
    """
    places = places_named(crew, [one.fields for one in asked])
    taken = logs_taken([(one.id, one.fields["yard"], one.fields["number"]) for one in asked])
    stored, logs = [], []
    earlier: set[Hashable] = set()
    for one in asked:
        names: set[Hashable] = {one.id, (one.fields["yard"], name_key(one.fields["number"]))}
        if one.expected is None and one.id not in taken and not names & earlier:
            with suppress(Refusal):
                logs.append(_new_log(one, crew=crew, places=places))
                stored.append(one)
        earlier |= names
    measurements = [uuid4() for _ in logs]
    made_at = {one.id: one.made_at for one in stored}
    made_at |= {id: one.made_at for id, one in zip(measurements, stored, strict=True)}
    tell_when(made_at)
    insert_rows(logs)
    keep_measurements(logs, member=member, ids=measurements)
    return set(stored)


def _new_log(asked: LogAsked, *, crew: Crew, places: PlacesNamed) -> Log:
    """The log, to be stored. Raises InvalidInput, DoubtsUnconfirmed."""
    line = line_in_order(asked.fields, crew=crew, places=places)
    ask_to_confirm(pointed(doubts_of_line(line, units=units_of(crew))), confirmed=asked.confirmed)
    columns = columns_of(line, asked.fields)
    columns |= following(None, columns)
    return Log(id=asked.id, crew=crew, created_at=asked.at, changed_at=asked.at, **columns)
