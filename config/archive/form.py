"""The form of an archive: a ZIP with a manifest, and JSON lines of each table, one row a line."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.db.migrations.loader import MigrationLoader

from config.archive.tables import OUR_APPS

FORMAT = "roundlay-crew/1"
MANIFEST, README = "manifest.json", "README.txt"

WORDS = """\
All of one crew's data from a Roundlay server, as it stood at one moment.

manifest.json says whose it is, when it was written, from which state of the database, and of each file how
many rows and bytes it has and its SHA-256. Every other file holds one table: a JSON object a line (JSON
Lines, UTF-8), named as the columns are. Fields that end in _mm are millimetres, times are UTC.

crews.change.jsonl is the history: who changed what, from what to what, when. Keys to the server and secrets
of webhooks are not in here, not even as hashes: a server that reads this in makes a new key.

It holds names of people and all that they wrote. Give it to nobody who may not read it.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One file of an archive as the manifest tells of it."""

    name: str
    rows: int
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """What an archive says of itself."""

    crew: str
    crew_name: str
    written_at: str
    schema: Mapping[str, str]
    parts: Mapping[str, Part]

    def document(self, *, left_out: Mapping[str, str]) -> dict[str, Any]:
        """As it is written."""
        files = [
            {"name": part.name, "rows": part.rows, "bytes": part.bytes, "sha256": part.sha256}
            for part in self.parts.values()
        ]
        return {
            "format": FORMAT,
            "crew": {"id": self.crew, "name": self.crew_name},
            "written_at": self.written_at,
            "schema": dict(self.schema),
            "files": files,
            "left_out": dict(left_out),
        }


@cache
def schema_state() -> dict[str, str]:
    """app -> its last migration: two servers that agree in these have the same tables."""
    leaves = MigrationLoader(None).graph.leaf_nodes()
    return {app: name for app, name in sorted(leaves) if app in OUR_APPS}
