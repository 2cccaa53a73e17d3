"""What an operator types: a crew to a new file, and a file into this server."""

from pathlib import Path
from uuid import UUID

from django.core.management import call_command
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils.timezone import now

from config.archive.opening import ArchiveRefused
from config.archive.reading_in import read_in
from config.archive.writing import write_archive
from crews.accounts.models import Crew
from crews.api.problems import Refusal

_USAGE = """\
make export-crew CREW=ID-OR-NAME FILE=crew.zip   writes all of a crew's data to a new file
make import-crew FILE=crew.zip                   reads it into this server, whole or not at all"""


class CannotArchive(RuntimeError):
    """Nothing was written or read in; the message says why and what to do."""


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def run(arguments: list[str]) -> int:
    """`export CREW FILE` or `import FILE`; the status to end with."""
    try:
        match arguments:
            case ["export", crew, file] if crew and file:
                export_crew(crew, Path(file))
            case ["import", file] if file:
                import_crew(Path(file))
            case _:
                say(_USAGE)
                return 2
    except (CannotArchive, ArchiveRefused, Refusal, DatabaseError, OSError) as reason:
        say(str(reason).strip())
        return 1
    finally:
        connection.close()
    return 0


def export_crew(wanted: str, file: Path) -> None:
    """Write the crew's archive to a new file that only its owner may read."""
    if file.exists():
        raise CannotArchive(f"{file} exists already, and an archive overwrites nothing. Name another file.")
    _refuse_older_database()
    crew = _crew_of(wanted)
    half = file.with_name(f"{file.name}.part")
    half.unlink(missing_ok=True)
    half.touch(mode=0o600)
    try:
        with half.open("wb") as out:
            manifest = write_archive(crew, out, at=now())
        half.rename(file)
    finally:
        half.unlink(missing_ok=True)
    rows = sum(part.rows for part in manifest.parts.values())
    say(f"Wrote {rows} rows of {crew.name} to {file} ({file.stat().st_size // 1024} kB).")


def import_crew(file: Path) -> None:
    """Read the archive in, into an empty database too; print what came and the lead's new key."""
    if not connection.introspection.table_names():
        call_command("migrate", verbosity=0)
    _refuse_older_database()
    came = read_in(file, at=now())
    for name, rows in came.rows.items():
        if rows:
            say(f"{rows:>9} {name.removesuffix('.jsonl')}")
    total = sum(came.rows.values())
    say(f"Read {total} rows of {came.crew.name} in. The keys it had there open nothing here.")
    say(f"A key of its lead {came.lead}, shown this once: {came.key}")


def _crew_of(wanted: str) -> Crew:
    try:
        found = list(Crew.objects.filter(id=UUID(wanted)))
    except ValueError:
        found = list(Crew.objects.filter(name=wanted))
    if len(found) == 1:
        return found[0]
    named = found or Crew.objects.order_by("name")[:50]
    said = f"{len(found)} crews are called {wanted}" if found else f"There is no crew {wanted}"
    raise CannotArchive(
        "\n".join([f"{said}. Name one by its id:", *(f"  {crew.id}  {crew.name}" for crew in named)])
    )


def _refuse_older_database() -> None:
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        raise CannotArchive("The database is older than this code. Start the service once: make run")
