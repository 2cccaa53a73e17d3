"""Opens an archive and reads it line by line, trusting nothing that it says of itself.

Nothing is unpacked to disk, and no more is read than the manifest names and the limit allows.
"""

import hashlib
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from io import BufferedReader
from pathlib import Path
from typing import Any, cast

import orjson

from config.archive.form import FORMAT, MANIFEST, README, Manifest, Part, schema_state
from config.archive.rows import is_id
from config.archive.tables import Table, tables

# The end of a ZIP without a remark, as we write it: entries, size of their list, where it begins.
_END = struct.Struct("<4s4H2LH")
_MOST_ENTRIES, _MOST_LIST_BYTES = 1000, 1 << 18
_MANIFEST_MOST = 1 << 20
_LINE_MOST = 1 << 28  # more than PostgreSQL takes as one document
_ENCRYPTED = 1
# All that reading a ZIP which somebody bent may raise.
_BROKEN = (zipfile.BadZipFile, zlib.error, struct.error, EOFError, OSError, ValueError, RuntimeError)


class ArchiveRefused(Exception):
    """The archive is not read in; says in which file and line, and why."""

    def __init__(self, why: str, *, file: str = "", line: int = 0) -> None:
        where = f"{file}, line {line}: " if line else f"{file}: " if file else ""
        super().__init__(f"{where}{why}")


class Archive:
    """An archive that was opened; its manifest agrees with what it holds and with this server."""

    def __init__(self, packed: zipfile.ZipFile, *, limit_bytes: int) -> None:
        self._packed = packed
        self._check_entries()
        self.manifest = _manifest_of(self._read_small(MANIFEST))
        declared = sum(part.bytes for part in self.manifest.parts.values())
        if declared > limit_bytes:
            raise ArchiveRefused(
                f"unpacked it has {declared} bytes, and this server reads up to {limit_bytes}."
                " ROUNDLAY_ARCHIVE_LIMIT_MB raises that."
            )

    def lines_of(self, table: Table) -> Iterator[tuple[int, bytes]]:
        """(number, text) of each line. Raises ArchiveRefused where the file is not what the manifest says."""
        part = self.manifest.parts[table.file]
        digest, left, number = hashlib.sha256(), part.bytes, 0
        try:
            with self._packed.open(table.file) as packed:
                lines = BufferedReader(cast(Any, packed), 1 << 16)
                while line := lines.readline(min(left, _LINE_MOST) + 1):
                    number += 1
                    left -= len(line)
                    if left < 0 or len(line) > _LINE_MOST:
                        raise ArchiveRefused("longer than it may be.", file=part.name, line=number)
                    digest.update(line)
                    yield number, line
        except _BROKEN as broken:
            raise ArchiveRefused(f"damaged ({broken}).", file=part.name, line=number + 1) from broken
        if (number, digest.hexdigest()) != (part.rows, part.sha256) or left:
            raise ArchiveRefused("not the rows that the manifest was written for.", file=part.name)

    def _check_entries(self) -> None:
        entries = self._packed.infolist()
        names = [entry.filename for entry in entries]
        wanted = {MANIFEST, README, *(table.file for table in tables())}
        for name in [*sorted(wanted - set(names)), *sorted(set(names) - wanted)]:
            said = "is missing." if name in wanted else "does not belong into an archive of this version."
            raise ArchiveRefused(said, file=name[:100])
        if len(names) != len(wanted):
            raise ArchiveRefused("a file is in it twice.")
        for entry in entries:
            known = entry.compress_type in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
            if not known or entry.flag_bits & _ENCRYPTED:
                raise ArchiveRefused("packed in a way that is not read here.", file=entry.filename)

    def _read_small(self, name: str) -> bytes:
        try:
            with self._packed.open(name) as packed:
                read = packed.read(_MANIFEST_MOST + 1)
        except _BROKEN as broken:
            raise ArchiveRefused(f"damaged ({broken}).", file=name) from broken
        if len(read) > _MANIFEST_MOST:
            raise ArchiveRefused("longer than it may be.", file=name)
        return read


@contextmanager
def opened(file: Path, *, limit_bytes: int) -> Iterator[Archive]:
    """The archive in `file`, open while the block runs. Raises ArchiveRefused."""
    try:
        with file.open("rb") as raw:
            _check_end(raw, file, limit_bytes)
            yield Archive(_packed(raw, file), limit_bytes=limit_bytes)
    except FileNotFoundError as absent:
        raise ArchiveRefused(f"there is no file {file}.") from absent
    except IsADirectoryError as folder:
        raise ArchiveRefused(f"{file} is no archive, but a folder.") from folder


def _packed(raw: Any, file: Path) -> zipfile.ZipFile:
    raw.seek(0)
    try:
        return zipfile.ZipFile(raw)
    except _BROKEN as broken:
        raise ArchiveRefused(f"{file} is no archive, or is damaged ({broken}).") from broken


def _check_end(raw: Any, file: Path, limit_bytes: int) -> None:
    """A list of millions of entries would fill the memory before any of them is looked at."""
    size = file.stat().st_size
    if size > limit_bytes:
        raise ArchiveRefused(f"{file} has {size} bytes, and this server reads up to {limit_bytes}.")
    raw.seek(max(0, size - _END.size))
    end = raw.read(_END.size)
    if len(end) < _END.size or not end.startswith(b"PK\5\6"):
        raise ArchiveRefused(f"{file} is no archive, or is cut off.")
    _, _, _, _, entries, list_bytes, _, _ = _END.unpack(end)
    if entries > _MOST_ENTRIES or list_bytes > _MOST_LIST_BYTES:
        raise ArchiveRefused(f"{file} holds more files than an archive has.")


def _manifest_of(read: bytes) -> Manifest:
    try:
        told = orjson.loads(read)
        if told["format"] != FORMAT:
            raise ArchiveRefused(
                f"its form is {str(told['format'])[:60]}; this server reads {FORMAT}.", file=MANIFEST
            )
        parts = [_part_of(one) for one in told["files"]]
        crew, name, written_at = told["crew"]["id"], told["crew"]["name"], told["written_at"]
        schema = told["schema"]
    except (ValueError, TypeError, KeyError) as odd:
        raise ArchiveRefused("not what a manifest says.", file=MANIFEST) from odd
    if not is_id(crew):
        raise ArchiveRefused("the crew's id is no id.", file=MANIFEST)
    if [part.name for part in parts] != [table.file for table in tables()]:
        raise ArchiveRefused("it does not name the files of an archive in their order.", file=MANIFEST)
    if schema != schema_state():
        raise ArchiveRefused(
            f"written by another version of the service ({schema}; here: {schema_state()})."
            " Bring both servers to the same version, then write the archive anew.",
            file=MANIFEST,
        )
    by_name = {part.name: part for part in parts}
    return Manifest(crew=crew, crew_name=str(name), written_at=str(written_at), schema=schema, parts=by_name)


def _part_of(told: Any) -> Part:
    part = Part(name=told["name"], rows=told["rows"], bytes=told["bytes"], sha256=told["sha256"])
    counts = (part.rows, part.bytes)
    if any(type(count) is not int or count < 0 for count in counts):
        raise ValueError("no count")
    return part
