"""A disk that is really full: a chart comes in whole or not at all, and the same again once there is room."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from django.db import connection

from config.home import as_root
from inventory.logs.models import Log, Measurement
from tests.bench.yards import a_chart
from tests.cabins.building import a_yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def small_disk() -> Iterator[None]:
    """Measurements lie on a disk of their own of 1 MB, for as long as the test runs."""
    if not as_root():
        pytest.skip("needs root, to mount a small disk")
    disk = Path(tempfile.mkdtemp(prefix="roundlay-disk-"))
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", disk], check=False).returncode:
        disk.rmdir()
        pytest.skip("this machine lets nobody mount a small disk")
    try:
        with sql() as server:
            (data,) = server.execute("SHOW data_directory").fetchone()
            owner = Path(data).stat()
            os.chown(disk, owner.st_uid, owner.st_gid)
            server.execute(f"CREATE TABLESPACE small LOCATION '{disk}'")
            server.execute("ALTER TABLE inventory_measurement SET TABLESPACE small")
        yield
        with sql() as server:
            server.execute("ALTER TABLE inventory_measurement SET TABLESPACE pg_default")
            server.execute("DROP TABLESPACE small")
    finally:
        subprocess.run(["umount", disk], check=True)
        shutil.rmtree(disk)


def sql() -> psycopg.Connection:
    given = {"dbname": connection.settings_dict["NAME"], "user": connection.settings_dict["USER"]}
    given["host"] = connection.settings_dict["HOST"]
    return psycopg.connect(**given, autocommit=True)


def test_a_disk_that_is_really_full_refuses_a_whole_chart_and_takes_it_once_there_is_room(
    learner, small_disk
):
    def send(yard):
        return learner.post(f"yards/{yard.id}/chart?unit=mm&new_racks=true", a_chart(500), media="text/csv")

    yards = [a_yard(learner.who.crew, name=f"Yard {n}") for n in range(20)]
    for yard in yards:
        answer = send(yard)
        if answer.status_code != 200:
            break

    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "60")
    assert answer.body["type"] == "/problems/storage-full"
    assert Log.objects.filter(yard=yard).count() == 0
    assert Log.objects.count() == Measurement.objects.count() == 500 * yards.index(yard) > 0
    with sql() as server:
        server.execute("ALTER TABLE inventory_measurement SET TABLESPACE pg_default")
    assert send(yard).status_code == 200
    assert Log.objects.filter(yard=yard).count() == 500
