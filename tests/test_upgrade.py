"""Migrations run while web processes of the release before still serve: what would break those needs a note.

The rules are those of docs/running/upgrade.md, which names each migration that does not keep them and why.
"""

from collections.abc import Iterator
from typing import Any

import pytest
from django.contrib.postgres.operations import AddIndexConcurrently, RemoveIndexConcurrently
from django.db import migrations, models
from django.db.migrations.loader import MigrationLoader
from django.db.models.fields import NOT_PROVIDED

from config.home import PROJECT

# The first release's: before them nothing served.
FIRST_RELEASE = dict.fromkeys(("crews", "inventory", "cabins", "planning"), 1)
NOTES = PROJECT / "docs" / "running" / "upgrade.md"
_HARMLESS = (
    migrations.CreateModel,
    migrations.AlterModelOptions,
    migrations.AlterModelManagers,
    migrations.RemoveConstraint,
    AddIndexConcurrently,
    RemoveIndexConcurrently,
)


def breaks(operation: Any, *, made_here: set[str]) -> str:
    """Why the operation would break a process of the release before, or hold up its writes; else "".

    `made_here`: models that the same migration makes, which no earlier process knows.
    """
    if isinstance(operation, _HARMLESS) or getattr(operation, "model_name", "").lower() in made_here:
        return ""
    if isinstance(operation, migrations.AddField):
        field = operation.field
        given = field.null or field.db_default is not NOT_PROVIDED or field.many_to_many
        return "" if given else "an old process inserts rows without the new column"
    if isinstance(operation, migrations.AddIndex):
        return "writes wait while the index is made: AddIndexConcurrently"
    return f"{type(operation).__name__} may break what old processes name or write"


def later_migrations() -> Iterator[tuple[str, Any]]:
    """(name, migration) of each of ours that came after the first release."""
    for (app, name), migration in sorted(
        MigrationLoader(None, ignore_no_migrations=True).disk_migrations.items()
    ):
        if app in FIRST_RELEASE and int(name[:4]) > FIRST_RELEASE[app]:
            yield f"{app}.{name}", migration


def test_a_migration_that_old_processes_do_not_bear_has_its_note() -> None:
    notes, odd = NOTES.read_text(), {}

    for name, migration in later_migrations():
        made = {one.name.lower() for one in migration.operations if isinstance(one, migrations.CreateModel)}
        why = [said for one in migration.operations if (said := breaks(one, made_here=made))]
        if why and f"`{name}`" not in notes:
            odd[name] = why

    assert odd == {}, f"split them, or say in {NOTES.name} what the operator has to do"


_AGE = models.Index(fields=["at"], name="by_age")


@pytest.mark.parametrize(
    ("operation", "bears"),
    [
        (migrations.AddField("log", "bark", models.TextField(null=True)), True),
        (migrations.AddField("log", "bark", models.TextField(db_default="")), True),
        (migrations.AddField("log", "bark", models.TextField(default="")), False),
        (migrations.RemoveField("log", "bark"), False),
        (migrations.RenameField("log", "bark", "skin"), False),
        (migrations.AlterField("log", "bark", models.TextField(null=True)), False),
        (migrations.DeleteModel("Log"), False),
        (migrations.AddIndex("log", _AGE), False),
        (AddIndexConcurrently("log", _AGE), True),
        (RemoveIndexConcurrently("log", "by_age"), True),
        (migrations.RunSQL("UPDATE log SET bark = ''"), False),
    ],
)
def test_the_rules_tell_what_old_processes_bear(operation: Any, bears: bool) -> None:
    assert (breaks(operation, made_here=set()) == "") is bears
    assert breaks(migrations.AddIndex("log", _AGE), made_here={"log"}) == ""
