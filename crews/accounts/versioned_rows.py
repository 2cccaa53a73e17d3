"""Keeping rows by client-made id and version: create or repeat, change only what was read; many new ones."""

from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import datetime
from functools import cache
from typing import Any, TypeVar, cast
from uuid import UUID

from django.db import IntegrityError, connection, transaction
from django.db.models import BigAutoField, JSONField, Model
from django.db.models.expressions import DatabaseDefault
from psycopg import sql
from psycopg.types.json import Jsonb

from crews.accounts.models import Crew, CrewOwned
from crews.api.problems import NotFound
from crews.api.render import json_bytes
from crews.api.row_by_id import row_of_crew
from crews.api.versions import Expected, check_version

Row = TypeVar("Row", bound=CrewOwned)


def put_row(
    model: type[Row],
    *,
    crew: Crew,
    id: UUID,
    fields: dict[str, Any],
    expected: Expected | None,
    at: datetime,
    row_of: Callable[[UUID], dict[str, Any]] | None = None,
) -> tuple[Row, bool]:
    """Create the row, or repeat it, or change the version that `expected` names; returns (row, created).

    A repeat with the same values changes nothing and needs no version. Raises VersionNeeded, VersionStale,
    and NotFound for an id that another crew uses or for a change of what is not there.
    """
    with transaction.atomic():
        found: Any = row_of_crew(model, crew=crew.id, id=id, lock=True)
        if found is None:
            if expected is not None or model.objects.filter(id=id).exclude(crew=crew).exists():
                raise NotFound
            try:
                with transaction.atomic():
                    made = model(id=id, crew=crew, created_at=at, changed_at=at, **fields)
                    made.save(force_insert=True)
                    return made, True
            except IntegrityError:
                # The same id, sent twice at once: the other one came first. Anything else is the caller's.
                found = row_of_crew(model, crew=crew.id, id=id, lock=True)
                if found is None:
                    raise
        if all(getattr(found, name) == value for name, value in fields.items()):
            return found, False
        check_version(expected=expected, current=found.version, row=row_of(id) if row_of else None)
        change_row(found, fields=fields, at=at)
        return found, False


def change_row(row: CrewOwned, *, fields: dict[str, Any], at: datetime) -> None:
    """Save the named fields of a locked row under its next version."""
    for name, value in fields.items():
        setattr(row, name, value)
    row.version += 1
    row.changed_at = at
    row.save(update_fields=[*fields, "version", "changed_at"])


def one_of(model: type[Row], *, crew: Crew, id: UUID, lock: bool = False) -> Row:
    """The crew's row with that id, locked if it is going to change; NotFound for anyone else's."""
    found: Any = row_of_crew(model, crew=crew.id, id=id, lock=lock)
    if found is None:
        raise NotFound
    found.crew = crew  # known already: nobody has to ask for it again
    return cast(Row, found)


def insert_rows(rows: Iterable[Model]) -> None:
    """Many new rows of one model, by COPY: no value is turned into SQL, and all are stored or none."""
    alike: dict[tuple[str, ...], list[Model]] = {}
    for row in rows:
        alike.setdefault(_left_to_the_database(row), []).append(row)
    with transaction.atomic():
        for left, some in alike.items():
            _copy_in(some, but=left)


def _copy_in(rows: Sequence[Model], *, but: Collection[str]) -> None:
    fields = [field for field in _writable(type(rows[0])) if field.attname not in but]
    written = [_document if isinstance(field, JSONField) else _as_it_is for field in fields]
    into = sql.SQL("COPY {} ({}) FROM STDIN").format(
        sql.Identifier(str(rows[0]._meta.db_table)),
        sql.SQL(", ").join([sql.Identifier(str(field.column)) for field in fields]),
    )
    with connection.wrap_database_errors, connection.cursor() as cursor, cursor.copy(into) as copy:
        for row in rows:
            values = [getattr(row, field.attname) for field in fields]
            copy.write_row([write(one) for write, one in zip(written, values, strict=True)])


def _left_to_the_database(row: Model) -> tuple[str, ...]:
    """What nobody gave a new row and only the database has a default for."""
    names = _with_default_of_database(type(row))
    return tuple(name for name in names if isinstance(getattr(row, name), DatabaseDefault))


@cache
def _with_default_of_database(model: type[Model]) -> list[str]:
    return [field.attname for field in _writable(model) if field.has_db_default()]


@cache
def _writable(model: type[Model]) -> list[Any]:
    fields: Any = model._meta.concrete_fields
    return [one for one in fields if not one.generated and not isinstance(one, BigAutoField)]


def _document(value: Any) -> Jsonb | None:
    return None if value is None else Jsonb(value, dumps=json_bytes)


def _as_it_is(value: Any) -> Any:
    return value
