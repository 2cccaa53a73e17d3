"""`make run` on a database of one's own: nothing comes in unasked, refusals are told in its words."""

import shutil
import signal
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from config.database import ServerPlace, running_server
from tests.service.test_service import ROOT, Service, subprocess, sys


@pytest.fixture
def own(tmp_path: Path, elsewhere: str) -> Service:
    """A service with nothing kept yet, an empty database and a secret key of its own."""
    one = Service(tmp_path / "nothing yet")
    one.env |= {
        "DATABASE_URL": elsewhere,
        "ROUNDLAY_SECRET_KEY": "of this test alone",
    }
    return one


def crews(database: str) -> int:
    with psycopg.connect(database) as connection:
        [found] = connection.execute("SELECT count(*) FROM crews_crew").fetchone() or [0]
    return int(found)


def command(service: Service, name: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", name], cwd=ROOT, env=service.env, capture_output=True, text=True, timeout=120,
        check=False,
    )  # fmt: skip


def test_an_empty_database_stays_empty_until_a_crew_is_founded_or_the_demo_asked_for(own, elsewhere):
    first = own.once()

    assert first.returncode == 0, first.stdout + first.stderr
    assert 'manage.py found_crew "NAME OF THE CREW" --lead "NAME"' in first.stdout
    assert "make demo-data" in first.stdout
    assert crews(elsewhere) == 0

    loaded = command(own, "config.demo")
    assert loaded.returncode == 0, loaded.stdout + loaded.stderr
    assert crews(elsewhere) == 1
    [kept] = own.private.glob("demo-key-*")
    assert kept.stat().st_mode & 0o777 == 0o600
    key = kept.read_text()
    assert key in loaded.stdout

    again = command(own, "config.demo")
    assert again.returncode == 1
    assert "There is a crew already" in again.stdout
    assert kept.read_text() == key

    running = own.start()
    served = own.status("/api/v1/me", key)
    running.send_signal(signal.SIGINT)
    running.wait(timeout=30)
    running.stdout.close()
    assert served == 200
    assert f"Access key (demo): {key}" in own.printed
    assert "SETTING SHEET" in own.printed


def test_the_settings_for_the_internet_do_not_keep_it_from_starting(own):
    running = own.start(
        ROUNDLAY_HTTPS="yes", ROUNDLAY_ALLOWED_HOSTS="cabins.example", ROUNDLAY_BEHIND_PROXY="on"
    )

    asked = urllib.request.Request(f"http://127.0.0.1:{own.port}/health/live")
    asked.add_header("Host", "cabins.example")
    with urllib.request.urlopen(asked, timeout=10) as answer:
        status = answer.status
    running.send_signal(signal.SIGINT)
    running.wait(timeout=30)
    running.stdout.close()
    assert status == 200


@pytest.fixture
def guarded(tmp_path: Path) -> Iterator[str]:
    """The address of a database whose server asks for a password, with a wrong one."""
    name = f"/tmp/roundlay-guarded-{tmp_path.name}"
    place = ServerPlace(data=Path(f"{name}-data"), sockets=Path(name))
    try:
        with running_server(place, lasting=False):
            with psycopg.connect(place.url(), autocommit=True) as connection:
                connection.execute("ALTER ROLE roundlay PASSWORD 'the right one'")
                (place.data / "pg_hba.conf").write_text("local all all scram-sha-256\n")
                connection.execute("SELECT pg_reload_conf()")
            given = conninfo_to_dict(place.url())
            yield make_conninfo(**given | {"password": "thewrongone"})
    finally:
        shutil.rmtree(place.data, ignore_errors=True)
        shutil.rmtree(place.sockets, ignore_errors=True)


def test_a_wrong_password_is_told_in_the_servers_words_and_not_printed(tmp_path, guarded):
    one = Service(tmp_path / "nothing yet")

    done = one.once(DATABASE_URL=guarded)

    assert done.returncode == 1
    assert 'password authentication failed for user "roundlay"' in done.stdout
    assert "thewrongone" not in done.stdout + done.stderr
    assert "Traceback" not in done.stdout + done.stderr
    assert len(done.stdout.splitlines()) < 8
