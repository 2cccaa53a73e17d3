"""Rows that are none, or that reach for another crew, are refused with file, line and why; nothing stays."""

import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import connection, transaction

from config.archive.opening import ArchiveRefused, opened
from config.archive.reading_in import read_in
from config.archive.staging import check_names, stage
from config.archive.tables import tables
from inventory.logs.models import Log
from tests.archive.world import LATER, Rows, agreeing, held, repacked, rewritten, with_manifest
from tests.cabins.building import a_log

pytestmark = pytest.mark.django_db(transaction=True)
LOGS, MEMBERS, PLACES = "inventory.log.jsonl", "crews.member.jsonl", "cabins.place.jsonl"


def changed(file: str, line: int, **columns: Any) -> Callable[[Rows], None]:
    """A change of one row's columns; the line counts from 1."""

    def change(rows: Rows) -> None:
        rows[file][line - 1] |= columns

    return change


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (changed(LOGS, 2, length_mm="6 m"), f"{LOGS}, line 2: length_mm is not a number."),
        (changed(LOGS, 3, number=None), f"{LOGS}, line 3: number is not a text."),
        (changed(LOGS, 1, state="floating"), f"{LOGS}, line 1: state is not one of"),
        (changed(LOGS, 1, secret="x"), f"{LOGS}, line 1: not the columns of this table: secret."),
        (changed(LOGS, 1, charted_on="4713-01-01 BC"), f"{LOGS}, line 1: charted_on is not a date."),
        (changed(LOGS, 1, created_at="infinity"), f"{LOGS}, line 1: created_at is not a time"),
        (changed(LOGS, 1, created_at="2026-05-04T07:30:00"), f"{LOGS}, line 1: created_at is not a time"),
        (changed(LOGS, 1, peeled=1), f"{LOGS}, line 1: peeled is not true or false."),
        (changed(LOGS, 1, hazards=None), f"{LOGS}, line 1: hazards is not a document."),
        (changed(LOGS, 1, id=str(uuid4()).upper()), f"{LOGS}, line 1: id is not an id"),
        (changed(MEMBERS, 1, role="owner"), f"{MEMBERS}, line 1: role is not one of builder, lead, learner."),
        (changed(PLACES, 1, id=1.0), f"{PLACES}, line 1: id is not a whole number."),
        # What only the database knows.
        (changed(LOGS, 4, length_mm=-1), f"{LOGS}, line 4: new row for relation"),
        (changed(LOGS, 4, length_mm=10**9), f"{LOGS}, line 4: numeric field overflow"),
        (changed(LOGS, 4, number="x" * 41), f"{LOGS}, line 4: value too long"),
        (changed(LOGS, 4, remarks="a\0b"), f"{LOGS}, line 4: unsupported Unicode escape sequence"),
        (changed(LOGS, 4, version=-1), f"{LOGS}, line 4: new row for relation"),
    ],
)
def test_a_row_that_is_none_is_named(archive, refused, change, said):
    assert refused(rewritten(archive, change)).startswith(said)


@pytest.mark.parametrize("text", [b"{", b"[]", b"7", b'{"id": NaN}', b'{"a":' * 2000, b"\xff\xfe", b""])
def test_a_line_that_is_no_row_is_named(archive, refused, text):
    files = held(archive)
    files[LOGS] = files[LOGS].split(b"\n", 1)[0] + b"\n" + text + b"\n"

    assert refused(repacked(archive, agreeing(files))).startswith(f"{LOGS}, line 2: ")


def test_the_same_id_or_number_twice_is_named(archive, refused):
    def same_row(rows: Rows) -> None:
        rows[PLACES].append(rows[PLACES][0])

    def same_number(rows: Rows) -> None:
        first = rows[LOGS][0]
        rows[LOGS].append({**first, "id": str(uuid4())})

    count = held(archive)[PLACES].count(b"\n")
    assert refused(rewritten(archive, same_row)).startswith(
        f"{PLACES}, line {count + 1}: the same id as an earlier line"
    )
    count = held(archive)[LOGS].count(b"\n")
    assert refused(rewritten(archive, same_number)).startswith(
        f'{LOGS}, line {count + 1}: duplicate key value violates unique constraint "log_number_once_in_yard"'
    )


# Other crews.


def test_a_crew_that_is_here_is_not_read_over(archive):
    read_in(archive, at=LATER)
    with pytest.raises(ArchiveRefused, match="on this server already"):
        read_in(archive, at=LATER)


def test_a_row_of_another_crew_is_refused(archive, refused, stranger):
    there = str(stranger.who.crew.id)

    assert refused(rewritten(archive, changed(LOGS, 2, crew_id=there))) == (
        f"{LOGS}, line 2: a row of another crew."
    )


def test_under_another_crews_id_nothing_is_read(archive, refused, stranger):
    there = str(stranger.who.crew.id)
    other = with_manifest(archive, crew={"id": there, "name": "ours"})

    assert "on this server already" in refused(other)


def test_a_crew_that_the_manifest_does_not_name_is_refused(archive, refused):
    file = "crews.crew.jsonl"
    two = rewritten(archive, lambda rows: rows[file].append({**rows[file][0], "id": str(uuid4())}))
    none = rewritten(archive, lambda rows: rows[file].clear())
    other = with_manifest(archive, crew={"id": str(uuid4()), "name": "other"})

    assert "not the one crew" in refused(two)
    assert "not the one crew" in refused(none)
    assert "a row of another crew" in refused(other)


@contextmanager
def laid_beside(file: Path) -> Iterator[None]:
    """The archive's rows in their staging tables; what is done to them goes with the block."""
    with opened(file, limit_bytes=settings.ARCHIVE_LIMIT_BYTES) as there, transaction.atomic():
        for table in tables():
            stage(there, table)
        check_names()
        yield
        transaction.set_rollback(True)


def refused_with(change: str, *values: Any) -> str:
    """What is said of the rows laid beside after a change, which is taken back."""
    with pytest.raises(ArchiveRefused) as said, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(change, values)
        check_names()
    return str(said.value)


def test_a_row_that_names_a_row_of_another_crew_or_none_is_refused(archive, stranger):
    """Every column of every table that names a row of something."""
    a_log(stranger.who.crew)
    tried = 0
    with laid_beside(archive):
        for table, column, other in [
            (t, c, o) for t in tables() for c, o in t.names.items() if c != "crew_id"
        ]:
            numbered = other.fields["id"].get_internal_type() == "BigAutoField"
            with connection.cursor() as cursor:
                cursor.execute(f"SELECT id FROM {other.name} ORDER BY id DESC LIMIT 1")
                theirs = [id if numbered else str(id) for (id,) in cursor.fetchall()]
            bent = f"UPDATE staged_{table.name} SET doc = jsonb_set(doc, %s, %s) WHERE line = 1"
            for id in [10**9 if numbered else str(uuid4()), *theirs]:
                said = refused_with(bent, [column], json.dumps(id))
                assert said == f"{table.file}, line 1: {column} names no row of {other.file} ({id})."
                tried += 1
    assert tried > 80


def test_an_id_that_is_another_crews_is_refused(archive):
    """The crew is here; the same rows come again under new ids, but for one."""
    read_in(archive, at=LATER)
    news = new_ids(archive)
    with laid_beside(renamed(archive, news)):
        for table in [one for one in tables() if not one.held.new_ids and one.file != "crews.crew.jsonl"]:
            mine = json.loads(held(archive)[table.file].splitlines()[0])["id"]
            back = "; ".join(
                f"UPDATE staged_{one.name} SET doc = replace(doc::text, %s, %s)::jsonb" for one in tables()
            )
            said = refused_with(back, *[news[mine], mine] * len(tables()))
            assert said == f"{table.file}, line 1: a row of this id is here already ({mine})."
    assert read_in(renamed(archive, news), at=LATER).rows


_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")


def new_ids(file: Path) -> dict[str, str]:
    """Another id for each that stands in the archive."""
    return {id: str(uuid4()) for text in held(file).values() for id in _ID.findall(text.decode())}


def renamed(file: Path, news: dict[str, str]) -> Path:
    """The same archive in which every id is another."""
    files = {
        name: _ID.sub(lambda found: news[found[0]], text.decode()).encode()
        for name, text in held(file).items()
    }
    return repacked(file, agreeing(files))


def test_documents_that_name_another_crews_rows_are_refused(archive, refused, stranger):
    theirs = str(Log.objects.get(crew=stranger.who.crew).id)
    jobs, plans = "planning.planningjob.jsonl", "planning.plan.jsonl"

    def job(rows: Rows) -> None:
        rows[jobs][0]["cabins"].append(theirs.upper().replace("-", ""))

    def plan(rows: Rows) -> None:
        rows[plans][0]["made_from"]["logs"][theirs] = 1

    for file, change in ((jobs, job), (plans, plan)):
        said = refused(rewritten(archive, change))
        assert (
            said
            == f"{file}, line 1: it names a row that is here already, of another crew ({LOGS}, {theirs})."
        )


def test_a_job_that_has_not_ended_is_refused(archive, refused):
    file = "planning.planningjob.jsonl"

    for state in ("waiting", "running"):
        said = refused(rewritten(archive, changed(file, 1, state=state)))
        assert said == f"{file}, line 1: a planning job that has not ended."


def test_documents_that_would_stop_the_service_for_everyone_are_refused(archive, refused):
    plan = changed("planning.plan.jsonl", 1, made_from={"cabins": {}})
    layout = changed("cabins.cabin.jsonl", 1, layout={"walls": 7})

    assert "does not say what it was made from" in refused(rewritten(archive, plan))
    assert refused(rewritten(archive, layout)).startswith("cabins.cabin.jsonl: the layout of")


def test_a_crew_without_a_lead_is_refused(archive, refused):
    def demote(rows: Rows) -> None:
        for member in rows[MEMBERS]:
            member["role"] = "learner"

    assert refused(rewritten(archive, demote)) == f"{MEMBERS}: no lead is among the members."
