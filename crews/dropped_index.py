"""Takes the index of a foreign key away beside the work of others: for migrations, with `atomic = False`.

Django makes one for every foreign key. It is of no use where another index begins with the same column, and
costs bytes and time for every row.
"""

from typing import Any

from django.contrib.postgres.operations import NotInTransactionMixin
from django.db import migrations
from django.db.models import Index


class DropIndexOfKey(NotInTransactionMixin, migrations.AlterField):
    """The foreign key `name` loses its own index, and nothing else: `field` says `db_index=False`."""

    def database_forwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        self._ensure_not_in_transaction(schema_editor)
        model = to_state.apps.get_model(app_label, self.model_name)
        column = model._meta.get_field(self.name).column
        named = {index.name for index in model._meta.indexes}
        for name in schema_editor._constraint_names(
            model, [column], index=True, unique=False, type_=Index.suffix, exclude=named
        ):
            schema_editor.execute(f"DROP INDEX CONCURRENTLY IF EXISTS {schema_editor.quote_name(name)}")

    def database_backwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        self._ensure_not_in_transaction(schema_editor)
        model = to_state.apps.get_model(app_label, self.model_name)
        field = model._meta.get_field(self.name)
        schema_editor.execute(schema_editor._create_index_sql(model, fields=[field], concurrently=True))

    def describe(self) -> str:
        return f"Drop the index of {self.name} on {self.model_name} beside the work of others"
