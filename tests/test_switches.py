"""Switches: what is meant is read, what cannot be meant is refused in one sentence that names it."""

import os
import subprocess
import sys

import pytest

from config.home import PROJECT
from config.switches import SwitchRefused, is_on, one_of, seconds, secret, whole_number

NAME = "ROUNDLAY_TRIAL"
ON_OR_OFF = "one of 1 true yes on or 0 false no off"


@pytest.mark.parametrize("given", ["1", "true", "yes", "on", "TRUE", " Yes "])
def test_four_words_switch_on(monkeypatch, given):
    monkeypatch.setenv(NAME, given)

    assert is_on(NAME)


@pytest.mark.parametrize("given", ["0", "false", "no", "off", "Off"])
def test_four_words_switch_off(monkeypatch, given):
    monkeypatch.setenv(NAME, given)

    assert not is_on(NAME, default=True)


def test_an_empty_switch_counts_as_not_given(monkeypatch):
    monkeypatch.setenv(NAME, "")

    assert is_on(NAME, default=True)
    assert whole_number(NAME, 8, least=1, most=9) == 8


@pytest.mark.parametrize("given", ["2", "maybe", "enabled", "-1", "1.0"])
def test_anything_else_is_refused_with_what_it_takes(monkeypatch, given):
    monkeypatch.setenv(NAME, given)

    with pytest.raises(SwitchRefused, match=f'{NAME} takes {ON_OR_OFF}; it is "{given}"'):
        is_on(NAME)


@pytest.mark.parametrize("given", ["abc", "0", "101", "-5", "1e2", "٣", "9" * 5000])
def test_a_number_is_whole_and_within_its_bounds(monkeypatch, given):
    monkeypatch.setenv(NAME, given)

    with pytest.raises(SwitchRefused, match=f"{NAME} takes a whole number from 1 to 100"):
        whole_number(NAME, 8, least=1, most=100)


@pytest.mark.parametrize("given", ["abc", "0", "-1", "nan", "inf", "61"])
def test_a_time_is_above_nothing_and_within_its_bound(monkeypatch, given):
    monkeypatch.setenv(NAME, given)

    with pytest.raises(SwitchRefused, match="seconds, above 0 and up to 60"):
        seconds(NAME, 5, most=60)


def test_a_word_is_one_of_those_that_are_known_however_it_is_written(monkeypatch):
    monkeypatch.setenv(NAME, "warning")
    assert one_of(NAME, "INFO", ("INFO", "WARNING")) == "WARNING"

    monkeypatch.setenv(NAME, "chatty")
    with pytest.raises(SwitchRefused, match="one of INFO, WARNING"):
        one_of(NAME, "INFO", ("INFO", "WARNING"))


def told(*command: str, **env: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, *command], cwd=PROJECT, env=os.environ | env, capture_output=True, text=True,
        check=False, timeout=60,
    )  # fmt: skip


@pytest.mark.parametrize(
    "wrong",
    [
        {"PORT": "80000"},
        {"PORT": "web"},
        {"ONCE": "twice"},
        {"LAN": "home"},
        {"ROUNDLAY_HTTPS": "maybe"},
        {"ROUNDLAY_DATABASE_POOL": "abc"},
        {"ROUNDLAY_DATABASE_POOL": "0"},
        {"ROUNDLAY_DATABASE_WAIT_SECONDS": "soon"},
        {"ROUNDLAY_LOG_LEVEL": "chatty"},
        {"ROUNDLAY_LOG_FORMAT": "xml"},
        {"ROUNDLAY_BODY_LIMIT_MB": "much"},
        {"ROUNDLAY_TRUSTED_PROXIES": "the one in front"},
        {"DATABASE_URL": "the old server"},
    ],
    ids=lambda wrong: "=".join(*wrong.items()),
)
def test_make_run_refuses_a_wrong_switch_in_a_sentence_and_starts_nothing(wrong):
    done = told("-m", "config.run", **wrong)

    assert done.returncode == 1
    [name] = wrong
    assert done.stdout.strip().startswith(f"{name} ")
    assert len(done.stdout.strip().splitlines()) == 1
    assert done.stderr == ""


def test_so_does_every_command_of_manage_py():
    done = told("manage.py", "check", ROUNDLAY_HTTPS="maybe")

    assert done.returncode == 1
    assert (
        done.stderr.strip() == 'ROUNDLAY_HTTPS takes one of 1 true yes on or 0 false no off; it is "maybe".'
    )


def test_a_word_for_on_is_as_good_as_1():
    done = told(
        "-c", "import config.settings as s; print(s.HTTPS, s.SECURE_SSL_REDIRECT)", ROUNDLAY_HTTPS="true"
    )

    assert done.stdout.split() == ["True", "True"]


def test_a_secret_may_lie_in_a_file(monkeypatch, tmp_path):
    file = tmp_path / "key"
    file.write_text("of this test\n")
    monkeypatch.setenv(f"{NAME}_FILE", str(file))
    assert secret(NAME) == "of this test"

    monkeypatch.setenv(NAME, "another")
    with pytest.raises(SwitchRefused, match="both given"):
        secret(NAME)

    monkeypatch.delenv(NAME)
    file.unlink()
    with pytest.raises(SwitchRefused, match="cannot be read"):
        secret(NAME)


@pytest.mark.parametrize("name", ["ROUNDLAY_SECRET_KEY", "ROUNDLAY_METRICS_TOKEN", "DATABASE_URL"])
def test_the_secrets_of_the_service_may(tmp_path, name):
    file = tmp_path / "secret"
    file.write_text("postgresql://somebody@db.example/cabins")
    shown = {"ROUNDLAY_SECRET_KEY": "SECRET_KEY", "ROUNDLAY_METRICS_TOKEN": "METRICS_TOKEN"}
    what = f"s.{shown[name]}" if name in shown else "s.DATABASES['default']['NAME']"

    env = {name: "", f"{name}_FILE": str(file)}
    done = told("-c", f"import config.settings as s; print({what})", **env)

    assert done.stdout.strip() in (file.read_text(), "cabins")
