"""What a lead gets as the crew's archive, who else gets it, and what is not in it."""

import errno
import io
import json
import zipfile
from hashlib import sha256
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from django.db import transaction
from django.test import Client

from config.archive import tables as held
from config.archive import views, writing
from config.archive.form import MANIFEST, README, schema_state
from config.archive.tables import ARCHIVED, LEFT_OUT, tables, undecided
from crews.accounts.models import AccessKey
from crews.history.models import Change
from crews.webhooks.models import Webhook
from planning.jobs.models import JobState, PlanningJob
from tests.archive.world import WEBHOOK_URL, a_full_crew
from tests.cabins.building import a_log
from tests.conftest import Asker
from tests.people import MORNING, a_crew
from tests.planning.planning_yard import a_hut, ask

pytestmark = pytest.mark.django_db(transaction=True)


def unpacked(someone: Asker) -> dict[str, bytes]:
    answer = someone.get("crew/archive")
    assert answer.status_code == 200, answer.body
    with zipfile.ZipFile(io.BytesIO(answer.body)) as packed:
        assert packed.testzip() is None
        return {name: packed.read(name) for name in packed.namelist()}


def rows(held_files: dict[str, bytes], name: str) -> list[Any]:
    return [json.loads(line) for line in held_files[name].splitlines()]


def test_of_every_model_it_is_said_whether_it_goes_into_an_archive():
    assert undecided() == [], "name it in config/archive/tables.py"
    assert set(ARCHIVED) & set(LEFT_OUT) == set()


def test_a_model_that_was_forgotten_is_found(monkeypatch):
    for label in ("crews.Change", "cabins.Place"):
        monkeypatch.setattr(held, "ARCHIVED", {k: v for k, v in ARCHIVED.items() if k != label})
        assert undecided() == [label]


def test_tables_are_read_in_after_those_they_name_and_the_history_last():
    before: list[Any] = []
    for table in tables():
        assert {other.model for other in table.names.values()} <= {*before, table.model}, table.file
        before.append(table.model)
    assert before[-1] is Change


def test_no_column_with_a_secret_leaves():
    """Of what is kept as bytes only the fingerprint of a tally is no secret."""
    suspicious = {
        f"{table.model.__name__}.{column}"
        for table in tables()
        for column in table.columns
        if table.fields[column].get_internal_type() == "BinaryField"
        or any(word in column for word in ("secret", "password", "token", "sha256"))
    }

    assert suspicious == {"Delivery.tally_sha256"}


def test_an_archive_counts_and_fingerprints_what_it_holds_and_holds_no_secret(lead, asker):
    a_full_crew(lead, asker)
    secrets = [lead.who.key.encode()]
    secrets += [bytes(key.secret_sha256).hex().encode() for key in AccessKey.objects.all()]
    secrets += [Webhook.objects.get().secret.encode()]

    files = unpacked(lead)

    told = json.loads(files[MANIFEST])
    assert (told["format"], told["schema"]) == ("roundlay-crew/1", schema_state())
    assert told["crew"] == {"id": str(lead.who.crew.id), "name": lead.who.crew.name}
    assert [part["name"] for part in told["files"]] == [table.file for table in tables()]
    for part in told["files"]:
        text = files[part["name"]]
        assert (part["rows"], part["bytes"]) == (text.count(b"\n"), len(text))
        assert part["sha256"] == sha256(text).hexdigest()
    assert {*LEFT_OUT, "crews.AccessKey.secret_sha256", "crews.Webhook.secret"} <= set(told["left_out"])
    assert files[README].startswith(b"All of one crew")
    whole = b"".join(files.values())
    assert WEBHOOK_URL.encode() in whole
    assert [secret for secret in secrets if secret in whole] == []
    (made,) = rows(files, "cabins.roofmember.jsonl")
    assert made["remarks"] == 'a\\b "c"\n\td é ☃'


def test_an_archive_holds_one_crew_alone(lead, stranger, asker):
    a_log(lead.who.crew)
    for _ in range(3):
        a_log(stranger.who.crew)

    files = unpacked(lead)

    assert len(rows(files, "inventory.log.jsonl")) == 1
    others = (str(stranger.who.crew.id), str(stranger.who.member.id), str(stranger.who.member.person_id))
    assert [word for word in others if word.encode() in b"".join(files.values())] == []


def test_only_a_lead_gets_it(lead, builder, learner, nobody):
    def asked(someone: Asker, method: str) -> int:
        headers = {"authorization": f"Bearer {someone.who.key}"} if someone.who else {}
        answer: Any = Client().generic(method, "/api/v1/crew/archive", headers=headers)
        answer.close()
        return answer.status_code

    for method in ("GET", "HEAD"):
        assert [asked(one, method) for one in (lead, builder, learner, nobody)] == [200, 403, 403, 401]


def test_a_job_that_has_not_ended_is_left_out(lead):
    hut, yard = a_hut(lead), a_log(lead.who.crew).yard_id
    for state in (JobState.RUNNING, JobState.DONE):
        job = ask(lead, [hut], [yard]).body["id"]
        PlanningJob.objects.filter(id=job).update(state=state, ended_at=MORNING)

    assert [job["state"] for job in rows(unpacked(lead), "planning.planningjob.jsonl")] == ["done"]


def test_one_archive_of_a_crew_is_written_at_a_time(here, lead, stranger):
    with psycopg.connect(here) as other:
        name = f"archive of {lead.who.crew.id}"
        other.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [name])
        refused = lead.get("crew/archive")
        assert stranger.get("crew/archive").status_code == 200

    assert (refused.status_code, refused.body["type"]) == (409, "/problems/archive-under-way")
    assert refused.headers["Retry-After"] == "10"
    assert lead.get("crew/archive").status_code == 200


def test_all_is_of_one_moment_whatever_is_written_meanwhile(here, lead, monkeypatch):
    """The first table was read, then logs came in: the archive knows nothing of them, nor their history."""
    read = writing._write_table

    def interrupted(archive: Any, table: Any, crew: Any, **given: Any) -> Any:
        part = read(archive, table, crew, **given)
        if table.file == "crews.crew.jsonl":
            with psycopg.connect(here) as other:
                other.execute(
                    "INSERT INTO inventory_yard (id, crew_id, version, created_at, changed_at, name, remarks)"
                    " VALUES (%s, %s, 1, now(), now(), 'Late yard', '')",
                    [uuid4(), crew],
                )
        return part

    monkeypatch.setattr(writing, "_write_table", interrupted)
    files = unpacked(lead)

    assert b"Late yard" not in b"".join(files.values())
    assert lead.get("yards").body["items"][0]["name"] == "Late yard"


def test_a_full_disk_is_said_and_leaves_nothing_open(lead, monkeypatch):
    opened = []

    class FullDisk(io.BytesIO):
        def __init__(self) -> None:
            super().__init__()
            opened.append(self)

        def write(self, data: Any) -> int:
            raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(views, "TemporaryFile", FullDisk)

    refused = lead.get("crew/archive")

    assert (refused.status_code, refused.body["type"]) == (503, "/problems/storage-full")
    assert [file.closed for file in opened] == [True]


def test_inside_a_callers_transaction_an_archive_is_written_too(lead):
    with transaction.atomic():
        assert lead.get("crew/archive").status_code == 200


def test_the_lead_of_a_new_crew_gets_an_archive_of_almost_nothing(asker):
    files = unpacked(asker(a_crew("New crew")))

    assert len(rows(files, "crews.member.jsonl")) == 1
    assert files["inventory.log.jsonl"] == b""
