"""What a crew chooses once for all its figures: one row per crew, a column is null until it is chosen.

A default therefore stays the service's own until a crew chooses, and an answer can say who chose what: the
question, the crew, or nobody.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import uuid4

from django.db import transaction

from crews.accounts.models import Crew, CrewOwned
from crews.accounts.versioned_rows import change_row
from crews.api.versions import Expected, check_version

ASKED, CREW, DEFAULT = "asked", "crew", "default"


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """The value a figure was reckoned with, and who chose it: `asked`, `crew` or `default`."""

    name: str
    value: Any
    chosen_by: str


def crew_choices(model: type[CrewOwned], crew: Crew, names: Sequence[str]) -> dict[str, Any]:
    """What the crew chose, by name, None where it chose nothing; with the row's `version`, 0 without one."""
    found = model.objects.of(crew).values("version", *names).first()
    return dict(found) if found else {"version": 0} | dict.fromkeys(names)


def choices_answer(chosen: Mapping[str, Any], defaults: Mapping[str, Any]) -> dict[str, Any]:
    """The values that count now, the names of those the crew chose, and the defaults of all."""
    return {
        **{name: default if chosen[name] is None else chosen[name] for name, default in defaults.items()},
        "chosen": [name for name in defaults if chosen[name] is not None],
        "defaults": dict(defaults),
        "version": chosen["version"],
    }


def used_values(
    asked: Mapping[str, Any],
    chosen: Mapping[str, Any],
    defaults: Mapping[str, Any],
    *,
    together: Sequence[Sequence[str]] = (),
) -> list[Used]:
    """What to reckon with, by name: what was asked, else what the crew chose, else the default.

    Names in one group of `together` are taken from one place: who asks for one end of a range does not get
    its other end from the crew.
    """
    used = []
    for name, default in defaults.items():
        group = next((group for group in together if name in group), [name])
        by = _from_where(group, asked, chosen)
        value = {ASKED: asked.get(name), CREW: chosen[name]}.get(by)
        if value is None:
            by, value = DEFAULT, default
        used.append(Used(name=name, value=value, chosen_by=by))
    return used


def _from_where(group: Sequence[str], asked: Mapping[str, Any], chosen: Mapping[str, Any]) -> str:
    if any(asked.get(name) is not None for name in group):
        return ASKED
    return CREW if any(chosen[name] is not None for name in group) else DEFAULT


@transaction.atomic
def choose(
    model: type[CrewOwned],
    *,
    crew: Crew,
    fields: Mapping[str, Any],
    current: Mapping[str, Any],
    expected: Expected | None,
    at: datetime,
) -> None:
    """Keep the crew's choices; None gives a choice up. `current` is the answer a stale change is told.

    The version of choices never made is 0. A repeat changes nothing and needs no version. Raises
    VersionNeeded, VersionStale.
    """
    # One lock for the crew's choices, so that the first one is not made twice at once.
    Crew.objects.select_for_update().get(id=crew.id)
    held: Any = model.objects.of(crew).first()
    if all(getattr(held, name, None) == value for name, value in fields.items()):
        return
    check_version(expected=expected, current=held.version if held else 0, row=dict(current))
    if held:
        change_row(held, fields=dict(fields), at=at)
    else:
        model.objects.create(id=uuid4(), crew=crew, created_at=at, changed_at=at, **fields)
