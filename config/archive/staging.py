"""Lays an archive's rows beside the tables, where every name among them is looked up before any counts."""

import re
from collections.abc import Iterator
from typing import Any

import psycopg
from django.db import DatabaseError, connection
from psycopg import sql

from config.archive.opening import Archive, ArchiveRefused
from config.archive.rows import RowCheck
from config.archive.tables import Table, tables

_LINE = re.compile(r"COPY \S+, line (\d+)")
_UUID = "[0-9a-f]{8}-?(?:[0-9a-f]{4}-?){3}[0-9a-f]{12}"  # in any spelling that is read as an id
# `was` is the row's id in the archive, `becomes` its id here.
_KEEPS = "uuid GENERATED ALWAYS AS ((doc->>'id')::uuid) STORED"


def staged(table: Table) -> sql.Identifier:
    """The table, gone with the transaction, in which its rows lie."""
    return sql.Identifier(f"staged_{table.name}")


def stage(archive: Archive, table: Table) -> int:
    """Read the table's file; how many rows it has. Raises ArchiveRefused."""
    with connection.cursor() as cursor:
        cursor.execute(
            sql.SQL(
                "CREATE TEMP TABLE {} (line integer PRIMARY KEY, doc jsonb NOT NULL,"
                " was text GENERATED ALWAYS AS (doc->>'id') STORED, becomes {}) ON COMMIT DROP"
            ).format(staged(table), sql.SQL(_new_id(table) if table.held.new_ids else _KEEPS))
        )
        try:
            with cursor.copy(sql.SQL("COPY {} (line, doc) FROM STDIN").format(staged(table))) as copy:
                for number, line in _checked(archive, table):
                    copy.write_row((number, line.decode()))
        except (psycopg.DataError, DatabaseError) as odd:
            raise ArchiveRefused(reason(odd), file=table.file, line=_line_of(odd)) from odd
        cursor.execute(sql.SQL("CREATE INDEX ON {} (was)").format(staged(table)))
        cursor.execute(sql.SQL("ANALYZE {}").format(staged(table)))
    return archive.manifest.parts[table.file].rows


def _checked(archive: Archive, table: Table) -> Iterator[tuple[int, bytes]]:
    check = RowCheck(table, crew=archive.manifest.crew)
    for number, line in archive.lines_of(table):
        if fault := check.fault_of(line):
            raise ArchiveRefused(fault, file=table.file, line=number)
        yield number, line


def _new_id(table: Table) -> str:
    """The column's type and how a row gets its id on this server."""
    if table.fields["id"].get_internal_type() == "UUIDField":
        return "uuid DEFAULT gen_random_uuid()"
    return f"bigint DEFAULT nextval(pg_get_serial_sequence('{table.name}', 'id'))"


def check_names() -> None:
    """Every row names rows of the archive alone, each of which is there once and new to this server."""
    for table in tables():
        _refuse_first(table, _TWICE, "the same id as an earlier line ({}).", staged=staged(table))
        for column, other in table.names.items():
            _refuse_first(
                table,
                _NAMES_NONE,
                f"{column} names no row of {other.file} ({{}}).",
                staged=staged(table),
                column=sql.Literal(column),
                other=staged(other),
            )
    for table in tables():
        if not table.held.new_ids:
            here = sql.Identifier(table.name)
            _refuse_first(
                table, _HERE, "a row of this id is here already ({}).", staged=staged(table), here=here
            )
    for table in tables():
        if table.held.documents_name_rows:
            _check_documents(table)


_TWICE = """
    SELECT line, was FROM (
        SELECT line, was, row_number() OVER (PARTITION BY was ORDER BY line) AS time FROM {staged}
    ) AS one WHERE time > 1
"""
_NAMES_NONE = """
    SELECT one.line, one.doc->>{column} FROM {staged} one
    WHERE one.doc->>{column} IS NOT NULL
    AND NOT EXISTS (SELECT 1 FROM {other} other WHERE other.was = one.doc->>{column})
"""
_HERE = "SELECT one.line, one.was FROM {staged} one JOIN {here} here ON here.id = one.becomes"
_NAMED = """
    CREATE TEMP TABLE named ON COMMIT DROP AS
    SELECT min(line) AS line, found[1]::uuid AS id
    FROM {staged}, LATERAL regexp_matches(doc::text, '({uuid})', 'gi') AS found GROUP BY 2
"""


def _check_documents(table: Table) -> None:
    """No document names a row that is here already: nothing here is this crew's."""
    with connection.cursor() as cursor:
        cursor.execute(sql.SQL(_NAMED).format(staged=staged(table), uuid=sql.SQL(_UUID)))
        cursor.execute("ANALYZE named")
        for other in tables():
            if not other.held.new_ids:
                _refuse_first(
                    table,
                    "SELECT named.line, named.id::text FROM named JOIN {here} here ON here.id = named.id",
                    f"it names a row that is here already, of another crew ({other.file}, {{}}).",
                    here=sql.Identifier(other.name),
                )
        cursor.execute("DROP TABLE named")


def _refuse_first(table: Table, query: str, why: str, **names: sql.Composable) -> None:
    """Refuse if the query finds lines; it gives their numbers and what is odd about them."""
    with connection.cursor() as cursor:
        cursor.execute(sql.SQL(query + " ORDER BY 1 LIMIT 1").format(**names))
        found = cursor.fetchone()
    if found:
        raise ArchiveRefused(why.format(found[1]), file=table.file, line=found[0])


def reason(error: BaseException) -> str:
    """What the database says is wrong, in one line."""
    said: Any = getattr(error, "diag", None) or getattr(error.__cause__, "diag", None)
    told = (said and said.message_primary) or str(error)
    return f"{told.strip().splitlines()[0][:300]}."


def _line_of(error: BaseException) -> int:
    said: Any = getattr(error, "diag", None) or getattr(error.__cause__, "diag", None)
    found = _LINE.search((said and said.context) or "")
    return int(found[1]) if found else 0
