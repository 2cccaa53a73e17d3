"""Triggers that keep who changed what: named in a model's `Meta.constraints`, made by its migration.

One function serves every table. It runs once a statement, over all rows that the statement changed, so that
a chart of thousands of logs pays for it once. Who acts is a setting of the database session, told by
the `authors` beside this file.
"""

from collections.abc import Sequence
from typing import Any

from django.db.models import BaseConstraint

MADE_BY = "roundlay.made_by"

HISTORY_FUNCTION = """
CREATE OR REPLACE FUNCTION roundlay_keep_history() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    left_out text[] := TG_ARGV[1]::text[];
    made_by jsonb := nullif(current_setting('roundlay.made_by', true), '')::jsonb;
    -- By id: the rows that one statement makes may have been recorded at different times.
    made_at_of jsonb := made_by->'made_at_of';
BEGIN
    IF TG_OP = 'INSERT' THEN
        INSERT INTO crews_change
            (crew_id, kind, object, version, before, after, at, made_at, member_id, key, request_id)
        SELECT coalesce(doc->>'crew_id', doc->>'id')::uuid, TG_ARGV[0], (doc->>'id')::uuid,
            (doc->>'version')::int, NULL, doc - left_out, statement_timestamp(),
            coalesce(made_at_of->>(doc->>'id'), made_by->>'made_at')::timestamptz,
            (made_by->>'member')::uuid, (made_by->>'key')::uuid,
            coalesce(made_by->>'request', '')
        FROM (SELECT to_jsonb(one) AS doc FROM new_rows one) AS made;
    ELSIF TG_OP = 'DELETE' THEN
        INSERT INTO crews_change
            (crew_id, kind, object, version, before, after, at, made_at, member_id, key, request_id)
        SELECT coalesce(doc->>'crew_id', doc->>'id')::uuid, TG_ARGV[0], (doc->>'id')::uuid,
            (doc->>'version')::int, doc - left_out, NULL, statement_timestamp(),
            (made_by->>'made_at')::timestamptz, (made_by->>'member')::uuid, (made_by->>'key')::uuid,
            coalesce(made_by->>'request', '')
        FROM (SELECT to_jsonb(one) AS doc FROM old_rows one) AS taken;
    ELSE
        INSERT INTO crews_change
            (crew_id, kind, object, version, before, after, at, made_at, member_id, key, request_id)
        SELECT coalesce(doc->>'crew_id', doc->>'id')::uuid, TG_ARGV[0], (doc->>'id')::uuid,
            (doc->>'version')::int, was,
            (SELECT jsonb_object_agg(name, doc->name) FROM jsonb_object_keys(was) AS name),
            statement_timestamp(),
            (made_by->>'made_at')::timestamptz, (made_by->>'member')::uuid, (made_by->>'key')::uuid,
            coalesce(made_by->>'request', '')
        FROM (SELECT to_jsonb(earlier) AS old_doc, to_jsonb(later) AS doc
              FROM old_rows earlier JOIN new_rows later USING (id)
              OFFSET 0) AS changed  -- each row is turned into a document once, not once for every column
        CROSS JOIN LATERAL (
            SELECT jsonb_object_agg(key, value) AS was FROM jsonb_each(old_doc)
            WHERE value IS DISTINCT FROM doc->key AND key <> ALL (left_out)
        ) AS difference
        WHERE was IS NOT NULL;
    END IF;
    RETURN NULL;
END $$;
"""

_ROWS = {"INSERT": "NEW TABLE AS new_rows", "DELETE": "OLD TABLE AS old_rows"}
_ROWS["UPDATE"] = f"{_ROWS['DELETE']} {_ROWS['INSERT']}"
# What every row has and the history says in columns of its own.
_ALWAYS_LEFT_OUT = ("version", "changed_at")


class AuditTrigger(BaseConstraint):
    """Every change of the model's rows is kept under the word `kind`; columns in `leaving_out` are not told.

    The model needs an `id` and a `crew`.
    """

    def __init__(self, *, kind: str, leaving_out: Sequence[str] = ()) -> None:
        super().__init__(name=f"history_of_{kind}")
        self.kind, self.leaving_out = kind, tuple(leaving_out)

    def create_sql(self, model: Any, schema_editor: Any) -> str:
        """The three triggers: rows that changed can be named only by a trigger of one event."""
        left_out = "{" + ",".join([*_ALWAYS_LEFT_OUT, *self.leaving_out]) + "}"
        return "".join(
            f"CREATE TRIGGER {self.name}_{event.lower()} AFTER {event} ON {model._meta.db_table} "
            f"REFERENCING {rows} FOR EACH STATEMENT "
            f"EXECUTE FUNCTION roundlay_keep_history('{self.kind}', '{left_out}');\n"
            for event, rows in _ROWS.items()
        )

    def constraint_sql(self, model: Any, schema_editor: Any) -> str:
        """Nothing inside CREATE TABLE: the triggers come after it."""
        schema_editor.deferred_sql.append(self.create_sql(model, schema_editor))
        return ""

    def remove_sql(self, model: Any, schema_editor: Any) -> str:
        return "".join(
            f"DROP TRIGGER {self.name}_{event.lower()} ON {model._meta.db_table};\n" for event in _ROWS
        )

    def validate(self, model: Any, instance: Any, exclude: Any = None, using: str = "default") -> None:
        """A history refuses nothing."""

    def deconstruct(self) -> tuple[str, tuple[()], dict[str, Any]]:
        return "crews.history.triggers.AuditTrigger", (), {"kind": self.kind, "leaving_out": self.leaving_out}

    def __eq__(self, other: object) -> bool:
        return isinstance(other, AuditTrigger) and self.deconstruct() == other.deconstruct()

    def __hash__(self) -> int:
        return hash((self.kind, self.leaving_out))
