"""One crew's whole data, copied inside the database into so many other crews."""

from collections.abc import Iterator

from django.apps import apps
from django.db import connection, transaction
from django.db.models import BinaryField, Field, Model, UUIDField

OURS = ("crews", "inventory", "cabins", "planning")
# A copy's whole numbers begin so far apart; one crew has fewer rows in any table.
_APART = 10_000_000


def tables() -> Iterator[type[Model]]:
    """Every model of ours: each of its tables grows with crews or with what they do."""
    for label in OURS:
        yield from apps.get_app_config(label).get_models()


def copy_crews(count: int) -> None:
    """Every row there is, once more for each of `count` new crews, with ids of its own."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        for model in tables():
            fields = [one for one in model._meta.concrete_fields if not one.generated]
            named = ", ".join(f'"{field.column}"' for field in fields)
            copied = ", ".join(_copied(field) for field in fields)
            table = model._meta.db_table
            cursor.execute(
                f"INSERT INTO {table} ({named}) SELECT {copied} FROM {table} "
                f"CROSS JOIN generate_series(1, {count}) AS copy ORDER BY copy"
            )
    with connection.cursor() as cursor:
        # Statistics of every row: those of a sample differ from run to run, and so would plans at the margin.
        cursor.execute("SET default_statistics_target = 1000")
        cursor.execute("VACUUM (ANALYZE, INDEX_CLEANUP ON)")
        cursor.execute("RESET default_statistics_target")


def _copied(field: Field) -> str:
    """The column as a copy has it: ids, and what is unique everywhere, are the copy's own."""
    column, kind = f'"{field.column}"', field
    while kind.remote_field is not None:
        kind = kind.target_field
    if isinstance(kind, UUIDField):
        return f"md5({column}::text || copy)::uuid"
    if isinstance(kind, BinaryField) and (field.unique or field.primary_key):
        return f"sha256({column} || copy::text::bytea)"
    if kind.primary_key:
        return f"{column} + copy * {_APART}::bigint"
    if field.unique:
        return f"{column} || ' ' || copy"
    return column
