"""What docs/running/production.md copies and types is there, and agrees with what `make run` starts."""

import json
import re
import shlex
import subprocess
import sys
from itertools import pairwise

import pytest
import yaml
from django.test import Client

from config.home import PROJECT
from config.run import service_commands

SAMPLES = PROJECT / "docs" / "running" / "samples"
PAGE = (PROJECT / "docs" / "running" / "production.md").read_text()
UNITS = {path.stem: path.read_text() for path in sorted(SAMPLES.glob("*.service"))}
HOME = "/opt/roundlay/app"
COMPOSE = yaml.safe_load((SAMPLES / "compose.yml").read_text())["services"]


def said(unit: str, name: str) -> str:
    found = re.findall(rf"^{name}=(.*)$", UNITS[unit], re.MULTILINE)
    assert len(found) == 1, f"{unit}: {name}"
    return str(found[0])


def command(unit: str) -> list[str]:
    """What the unit starts, as it would be typed in the clone."""
    python, *rest = shlex.split(said(unit, "ExecStart"))
    assert python == f"{HOME}/.venv/bin/python"
    return rest


def helped(*arguments: str) -> str:
    done = subprocess.run(
        [sys.executable, *arguments, "--help"], cwd=PROJECT, capture_output=True, text=True, check=True
    )
    return done.stdout


def options(arguments: list[str]) -> dict[str, str]:
    return {name: value for name, value in pairwise(arguments) if name[:2] == "--"}


@pytest.mark.parametrize("unit", UNITS)
def test_a_unit_runs_in_the_clone_as_its_user_with_its_settings(unit):
    assert (said(unit, "WorkingDirectory"), said(unit, "User")) == (HOME, "roundlay")
    assert said(unit, "EnvironmentFile") == "/etc/roundlay/settings"


@pytest.mark.parametrize(
    ("unit", "named", "asked"),
    [
        ("roundlay-web", "web", ["-m", "config.web"]),
        ("roundlay-planner", "planner", ["manage.py", "procrastinate", "worker"]),
        ("roundlay-default", "default", ["manage.py", "procrastinate", "worker"]),
    ],
)
def test_units_and_containers_start_what_make_run_starts(unit, named, asked):
    given = command(unit)
    ours = options(service_commands(8000)[named])
    own = {"--grace", "--shutdown-graceful-timeout"}  # a laptop is shut down sooner
    contained = COMPOSE[named].get("command") or re.findall(
        r"^CMD \[(.*)\]$", (SAMPLES / "Containerfile").read_text(), re.MULTILINE
    )[0].replace('"', "").split(", ")

    assert given[: len(asked)] == asked
    assert set(options(given)) == set(ours)
    assert all(options(given)[name] == value for name, value in ours.items() if name not in own)
    shown = helped(*asked)
    assert [name for name in options(given) if name not in shown] == []
    there = options(contained) | {"--bind": "127.0.0.1:8000"} if named == "web" else options(contained)
    assert contained[1 : len(asked) + 1] == asked
    assert there == options(given)


def test_a_unit_is_given_longer_than_its_grace():
    for unit, name in (
        ("roundlay-web", "--grace"),
        ("roundlay-planner", "--shutdown-graceful-timeout"),
        ("roundlay-default", "--shutdown-graceful-timeout"),
    ):
        assert int(said(unit, "TimeoutStopSec")) >= int(options(command(unit))[name]) + 10


def test_the_backup_of_the_night_is_a_command_of_ours():
    assert command("roundlay-backup") == ["-m", "config.backup", "keep", "/var/backups/roundlay"]
    assert "-m config.backup" in (PROJECT / "Makefile").read_text()
    assert (SAMPLES / "roundlay-backup.timer").is_file()


def test_every_file_command_and_setting_that_the_page_names_is_there():
    makefile = (PROJECT / "Makefile").read_text()
    table = (PROJECT / "docs" / "running" / "settings.md").read_text()
    blocks = "".join(re.findall(r"^```sh\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL))
    files = set(re.findall(r"samples/([\w.-]+\w)", PAGE)) | set(re.findall(r"`([a-z]+\.(?:yml|json))`", PAGE))
    makes = set(" ".join(re.findall(r"make ((?:[a-z-]+ ?)+)$", blocks, re.MULTILINE)).split())
    manages = set(re.findall(r"roundlay-manage ([a-z_]+)", PAGE))
    known = helped("manage.py")
    settings = re.findall(r"^([A-Z_]+?)(?:_FILE)?=", (SAMPLES / "settings").read_text(), re.MULTILINE)

    assert {one for one in files if not (SAMPLES / one).exists()} == set()
    assert {one for one in makes if not re.search(rf"^{one}:", makefile, re.MULTILINE)} == set()
    assert makes >= {"setup", "kernels"}
    assert {one for one in manages if not re.search(rf"^    {one}$", known, re.MULTILINE)} == set()
    assert manages >= {"ready", "migrate", "found_crew", "new_lead_key", "crews"}
    assert {one for one in settings if f"`{one}`" not in table} == set()


def test_ready_says_what_is_missing_and_what_to_do(postgres, tmp_path):
    env = {
        "PATH": "/usr/bin",
        "ROUNDLAY_PRIVATE_DIR": str(tmp_path),
        "DATABASE_URL": f"host={tmp_path} dbname=x",
    }

    done = subprocess.run(
        [sys.executable, "manage.py", "ready"],
        cwd=PROJECT,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 1
    for missing in ("unencrypted", "no name but this machine's own", "database does not answer"):
        assert missing in done.stdout
    assert "ROUNDLAY_ALLOWED_HOSTS" in done.stdout


def test_alerts_and_dashboard_ask_for_metrics_that_there_are(lead):
    lead.get("me")
    told = Client().get("/metrics").content.decode()
    there = set(re.findall(r"^# TYPE (\w+) ", told, re.MULTILINE))
    rules = [
        rule["expr"]
        for one in yaml.safe_load((SAMPLES / "alerts.yml").read_text())["groups"]
        for rule in one["rules"]
    ]
    panels = json.loads((SAMPLES / "dashboard.json").read_text())["panels"]
    asked = rules + [target["expr"] for panel in panels for target in panel["targets"]]
    named = {name for one in asked for name in re.findall(r"roundlay_\w+", one)}

    assert len(rules) >= 8
    assert {re.sub("_(bucket|total)$", "", name) for name in named} <= {
        re.sub("_total$", "", name) for name in there
    }


def test_samples_hold_no_secret():
    for path in [one for one in SAMPLES.iterdir() if one.is_file()]:
        assert not re.search(r"(?i)(password|secret_key)\s*[:=]\s*['\"]?\w{8,}", path.read_text()), path
