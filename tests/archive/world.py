"""A crew that has at least one row of everything that is archived, and how an archive of it is taken."""

import json
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.db import connection
from psycopg import sql

from config.archive.form import MANIFEST
from config.archive.tables import tables
from crews.accounts.models import Crew, Member, Person
from crews.events.actions import emit_event
from crews.events.models import EventKind
from crews.history.models import Change
from inventory.yards.models import Yard
from tests.cabins.building import NOON, a_log, record_set, undo
from tests.inventory.ordering import (
    FIRST_TRUCK,
    a_rack,
    a_sent_order,
    delivered,
    mill_of,
)
from tests.people import MORNING
from tests.planning.planning_yard import a_hut, logs_enough, planned

Rows = dict[str, list[Any]]
# Long after all that the crew did.
LATER = datetime(2031, 6, 1, tzinfo=UTC)
RIDGE = {
    "id": "ridge",
    "kind": "ridge",
    "length_mm": 4000,
    "least_middle_mm": 200,
    "crown_limit_mm": 20,
    "count": 1,
}
WINDOW = {
    "id": "W1",
    "kind": "window",
    "wall": "D",
    "offset_mm": 1500,
    "width_mm": 800,
    "sill_mm": 470,
    "head_mm": 760,
}
WEBHOOK_URL = "https://hooks.example.org/roundlay?token=hush"


def a_full_crew(lead: Any, asker: Callable[..., Any]) -> str:
    """Orders, a wall, an adopted plan, choices, webhooks: the id of its cabin."""
    order = a_sent_order(lead)
    mill = mill_of(lead, order, asker)
    assert mill.put(f"mill/proposals/{uuid4()}", {"line": 2, "count": 5}).status_code == 201
    delivered(lead, order, a_rack(lead), FIRST_TRUCK)
    lead.patch("scaling-settings", {"longest_ft": 16}, version=0)
    lead.patch("wall-settings", {"rule": "fi_round"}, version=0)
    lead.patch("grain-rules", {"weights": {"top_round_straight": "bind"}}, version=0)
    hut = a_hut(lead, members=[RIDGE], openings=[WINDOW])
    yard = logs_enough(lead, 16)[0].yard_id
    job = planned(lead, [hut], [yard])
    assert lead.post(f"plans/{job['plan_id']}/adopt").status_code == 200, job
    _build(lead, hut, job["plan_id"])
    webhook = lead.put(f"webhooks/{uuid4()}", {"url": WEBHOOK_URL, "kinds": ["round_complete"]})
    assert webhook.status_code == 201, webhook.body
    emit_event(lead.who.crew, EventKind.ROUND_COMPLETE, {"cabin": hut, "round": 1}, MORNING)
    return hut


def _build(lead: Any, hut: str, plan: str) -> None:
    """One log set and left, one undone, one height, one member made, all of text that is hard to write."""
    pieces = lead.get(f"plans/{plan}/pieces").body["items"]
    ridge = next(piece for piece in pieces if piece["member"])
    made = {name: ridge[name] for name in ("cabin", "member", "log", "from_butt_mm")}
    when = NOON.isoformat()
    answer = lead.put(
        f"roof-members/{uuid4()}", {**made, "installed_at": when, "remarks": 'a\\b "c"\n\td é ☃'}
    )
    assert answer.status_code == 201, answer.body
    height = {"cabin": hut, "wall": "A", "round": 0, "end": "start", "height_mm": "1 3/32 in"}
    answer = lead.put(f"heights/{uuid4()}", {**height, "measured_at": when})
    assert answer.status_code == 201, answer.body
    other = Yard.objects.create(crew=lead.who.crew, name="Far yard", created_at=MORNING, changed_at=MORNING)
    undone = undo(lead, record_set(lead, f"cabins/{hut}", a_log(lead.who.crew, yard=other))[0])
    part = {"log": str(undone.log_id), "near_butt_mm": 60, "near_tip_mm": "2 m", "prepared_at": when}
    answer = lead.put(f"prepared-pieces/{uuid4()}", part)
    assert answer.status_code == 201, answer.body
    record_set(lead, f"cabins/{hut}", a_log(lead.who.crew, yard=other))


def archive_of(lead: Any, folder: Path, name: str = "crew.zip") -> Path:
    """The crew's archive as its lead gets it."""
    answer = lead.get("crew/archive")
    assert answer.status_code == 200, answer.body
    file = folder / name
    file.write_bytes(answer.body)
    return file


def forget(crew: Crew) -> None:
    """Take the crew from the database as if it had never been there."""
    people = list(Member.objects.of(crew).values_list("person", flat=True))
    with connection.cursor() as cursor:
        for table in reversed(tables()):
            rows = sql.SQL(table.held.rows).format(crew=sql.Literal(crew.id))
            cursor.execute(sql.SQL("DELETE FROM {} WHERE {}").format(sql.Identifier(table.name), rows))
        cursor.execute("DELETE FROM planning_planningjob WHERE crew_id = %s", [crew.id])
    Person.objects.filter(id__in=people, memberships=None).delete()
    Change.objects.filter(crew=crew).delete()


def counted() -> dict[str, int]:
    """How many rows every table has."""
    found = {}
    with connection.cursor() as cursor:
        for table in tables():
            cursor.execute(f"SELECT count(*) FROM {table.name}")
            found[table.name] = cursor.fetchone()[0]
    return found


def held(file: Path) -> dict[str, bytes]:
    """What is in the archive."""
    with zipfile.ZipFile(file) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def with_manifest(file: Path, **changed: Any) -> Path:
    """The archive with other words in its manifest."""
    files = held(file)
    return repacked(
        file, {**files, MANIFEST: json.dumps({**json.loads(files[MANIFEST]), **changed}).encode()}
    )


def rewritten(file: Path, change: Callable[[Rows], Any], *, honest: bool = True) -> Path:
    """The archive with other rows: `change` gets file -> rows. If `honest`, the manifest is made to agree."""
    files = held(file)
    rows = {
        name: [json.loads(line) for line in text.splitlines()]
        for name, text in files.items()
        if name.endswith(".jsonl")
    }
    before = {name: json.dumps(lines) for name, lines in rows.items()}
    change(rows)
    for name in [name for name in rows if json.dumps(rows[name]) != before[name]]:
        files[name] = b"".join(json.dumps(line).encode() + b"\n" for line in rows[name])
    return repacked(file, agreeing(files) if honest else files)


def agreeing(files: dict[str, bytes]) -> dict[str, bytes]:
    """The same files with a manifest that counts them right."""
    told = json.loads(files[MANIFEST])
    for part in told["files"]:
        text = files[part["name"]]
        part |= {"rows": text.count(b"\n"), "bytes": len(text), "sha256": sha256(text).hexdigest()}
    return {**files, MANIFEST: json.dumps(told).encode()}


def repacked(file: Path, files: dict[str, bytes]) -> Path:
    """An archive of these files, beside the one it was made from."""
    other = file.with_name(f"hostile-{uuid4().hex[:6]}.zip")
    with zipfile.ZipFile(other, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in files.items():
            packed.writestr(name, text)
    return other
