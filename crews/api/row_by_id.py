"""One row by its id: what nearly every request asks first. Its SQL is written once for each model.

Django took several times as long to write it as PostgreSQL to answer.
"""

from collections.abc import Callable, Iterable
from functools import cache
from typing import Any, TypeVar
from uuid import UUID

from django.db import connection
from django.db.models import Model
from django.db.transaction import TransactionManagementError

from crews.api.prepared import prepared_cursor

Stored = TypeVar("Stored", bound=Model)
Read = Callable[[Any, None, Any], Any]


def columns_of(model: type[Model], table: str) -> str:
    """Every column, for a SELECT whose values `made_of` takes."""
    return ", ".join(f"{table}.{field.column}" for field in model._meta.concrete_fields)


def made_of(model: type[Stored], values: Iterable[Any]) -> Stored:
    """The row of these values, one for each of `columns_of`, in order."""
    names, readers = _fields(model)
    read = [
        value if reader is None else reader(value, None, connection)
        for value, reader in zip(values, readers, strict=True)
    ]
    return model.from_db(connection.alias, names, read)


def row_of_crew(model: type[Stored], *, crew: UUID, id: UUID, lock: bool) -> Stored | None:
    """The crew's row with that id, locked until the transaction ends if asked for; None if there is none."""
    if lock and not connection.in_atomic_block:
        raise TransactionManagementError("A row is locked within a transaction only.")
    with prepared_cursor() as cursor:
        cursor.execute(_select(model, lock), [crew, id])
        values = cursor.fetchone()
    return None if values is None else made_of(model, values)


@cache
def _select(model: type[Model], lock: bool) -> str:
    table = model._meta.db_table
    end = " FOR UPDATE" if lock else ""
    return (
        f"SELECT {columns_of(model, table)} FROM {table} WHERE {table}.crew_id = %s AND {table}.id = %s{end}"
    )


@cache
def _fields(model: type[Model]) -> tuple[list[str], list[Read | None]]:
    """The attributes, and how each value is read from the database; None: as it is."""
    fields: Any = model._meta.concrete_fields
    return [one.attname for one in fields], [getattr(one, "from_db_value", None) for one in fields]
