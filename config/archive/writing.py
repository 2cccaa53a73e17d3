"""Writes the archive of a crew: one moment of the database, row by row, whatever the crew has."""

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import IO, Any, ClassVar
from uuid import UUID
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import orjson
from django.db import connection, transaction
from psycopg import sql

from config.archive.form import MANIFEST, README, WORDS, Manifest, Part, schema_state
from config.archive.tables import LEFT_OUT, Table, tables
from crews.accounts.models import Crew
from crews.api.problems import Refusal

_BUFFER = 1 << 16


class ArchiveUnderWay(Refusal):
    """An archive of this crew is being written already."""

    headers: ClassVar[dict[str, str]] = {"Retry-After": "10"}


def write_archive(crew: Crew, out: IO[bytes], *, at: datetime) -> Manifest:
    """Write the crew's archive to `out`, a seekable file. Raises ArchiveUnderWay."""
    with _one_moment(crew.id), ZipFile(out, "w", ZIP_DEFLATED) as archive:
        parts = [_write_table(archive, table, crew.id, at=at) for table in tables()]
        manifest = Manifest(
            crew=str(crew.id),
            crew_name=crew.name,
            written_at=at.isoformat(),
            schema=schema_state(),
            parts={part.name: part for part in parts},
        )
        document = manifest.document(left_out=_left_out())
        archive.writestr(_entry(MANIFEST, at), orjson.dumps(document, option=orjson.OPT_INDENT_2))
        archive.writestr(_entry(README, at), WORDS)
    return manifest


@contextmanager
def _one_moment(crew: UUID) -> Iterator[None]:
    """All that is read within is as it stood at its beginning, unless the caller has a transaction open.

    One archive of a crew at a time: a moment that is kept costs the database room.
    """
    outermost = not connection.in_atomic_block
    with transaction.atomic(), connection.cursor() as cursor:
        if outermost:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        cursor.execute("SELECT pg_try_advisory_xact_lock(hashtextextended(%s, 0))", [f"archive of {crew}"])
        if not cursor.fetchone()[0]:
            raise ArchiveUnderWay
        yield


def _write_table(archive: ZipFile, table: Table, crew: UUID, *, at: datetime) -> Part:
    digest, rows, size, waiting = hashlib.sha256(), 0, 0, bytearray()
    with (
        archive.open(_entry(table.file, at), "w", force_zip64=True) as file,
        connection.cursor() as cursor,
        cursor.copy(_lines_of(table, crew)) as lines,
    ):
        for line in lines:
            rows += 1
            size += len(line)
            digest.update(line)
            waiting += line
            if len(waiting) >= _BUFFER:
                file.write(waiting)
                waiting.clear()
        file.write(waiting)
    return Part(name=table.file, rows=rows, bytes=size, sha256=digest.hexdigest())


def _lines_of(table: Table, crew: UUID) -> sql.Composed:
    """The query whose answer is the file: JSON holds no raw control sign, so that COPY escapes nothing."""
    given = {"crew": sql.Literal(crew)}
    columns = [
        sql.SQL(table.held.written[column]).format(**given) + sql.SQL(" AS ") + sql.Identifier(column)
        if column in table.held.written
        else sql.Identifier(column)
        for column in table.columns
    ]
    return sql.SQL(
        "COPY (SELECT row_to_json(one) FROM (SELECT {columns} FROM {table} WHERE {rows} ORDER BY id) AS one)"
        r" TO STDOUT (FORMAT csv, DELIMITER E'\x01', QUOTE E'\x02')"
    ).format(
        columns=sql.SQL(", ").join(columns),
        table=sql.Identifier(table.name),
        rows=sql.SQL(table.held.rows).format(**given),
    )


def _entry(name: str, at: datetime) -> ZipInfo:
    entry = ZipInfo(name, at.timetuple()[:6])
    entry.compress_type = ZIP_DEFLATED
    entry.external_attr = 0o600 << 16
    return entry


def _left_out() -> dict[str, Any]:
    columns = {
        f"{table.model._meta.label}.{column}": "Stays on its server."
        for table in tables()
        for column in table.held.stays
    }
    return {**LEFT_OUT, **columns}
