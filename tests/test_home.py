"""Where a clone's data lie: outside of it, bound to its path, and never shared or lost without a word."""

import shutil
from io import StringIO
from pathlib import Path

import pytest

from config import home as homes
from config.database import settle_in
from config.home import HomeUnclear, data_root, home_of, kept_text, settle
from config.switches import SwitchRefused


@pytest.fixture(autouse=True)
def _own_root(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The data folder of a user of this test alone."""
    monkeypatch.setattr(homes, "as_root", lambda: False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    monkeypatch.delenv("ROUNDLAY_PRIVATE_DIR", raising=False)


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    return a_clone(tmp_path / "first" / "round lay")


def a_clone(folder: Path) -> Path:
    folder.mkdir(parents=True)
    (folder / "manage.py").touch()
    return folder


def settled(clone: Path, *, answer: bool | None = None, running: bool = False) -> list[str]:
    """What is said when that clone is started. Without an answer nobody may ask."""
    said: list[str] = []

    def ask(question: str) -> bool:
        assert answer is not None, question
        said.append(question)
        return answer

    settle(say=said.append, ask=ask, is_running=lambda _: running, clone=clone)
    return said


def used(clone: Path, *, answer: bool | None = None) -> Path:
    """Start it and leave data behind; where they lie."""
    settled(clone, answer=answer)
    data = home_of(clone) / "postgres"
    data.mkdir(parents=True)
    (data / "PG_VERSION").write_text(str(clone))
    (home_of(clone) / "demo-key").write_text("log_of_the_first")
    return data


def test_data_lie_in_the_users_data_folder_and_outlive_what_cleans_the_clone(clone, tmp_path):
    data = used(clone)
    shutil.rmtree(clone)

    again = a_clone(clone)  # cleaned with `git clean -fdx`, or cloned anew at the same place

    assert data.is_relative_to(tmp_path / "share" / "roundlay")
    assert settled(again) == []
    assert (home_of(again) / "postgres" / "PG_VERSION").read_text() == str(clone)


def test_a_copy_gets_data_of_its_own_and_says_so(clone, tmp_path):
    data = used(clone)
    copy = tmp_path / "copy"
    shutil.copytree(clone, copy)

    said = settled(copy)

    assert f"copy of {clone}" in said[0]
    assert home_of(copy) != home_of(clone)
    assert not (home_of(copy) / "postgres").exists()
    assert data.exists()
    assert settled(copy) == [], "it is said once"


def test_a_moved_clone_asks_and_takes_its_data_along(clone, tmp_path):
    used(clone)
    moved = clone.rename(tmp_path / "moved")

    said = settled(moved, answer=True)

    assert f"was at {clone}" in said[0]
    assert (home_of(moved) / "postgres" / "PG_VERSION").read_text() == str(clone)
    assert (home_of(moved) / "demo-key").read_text() == "log_of_the_first"
    assert not home_of(clone).exists()
    assert settled(moved) == []


def test_a_moved_clone_may_begin_anew_and_is_told_where_the_old_data_are(clone, tmp_path):
    data = used(clone)
    moved = clone.rename(tmp_path / "moved")

    said = settled(moved, answer=False)

    assert str(data.parent) in said[-1]
    assert data.exists()
    assert not (home_of(moved) / "postgres").exists()


def test_data_are_not_taken_from_under_a_running_service(clone, tmp_path):
    data = used(clone)
    moved = clone.rename(tmp_path / "moved")

    with pytest.raises(HomeUnclear, match="runs still"):
        settled(moved, answer=True, running=True)

    assert data.exists()
    assert settled(moved, answer=True) != [], "it is asked again once the service is stopped"
    assert (home_of(moved) / "postgres").exists()


def test_a_clone_moved_to_where_data_are_already_takes_none_over(clone, tmp_path):
    data = used(clone)
    other = used(a_clone(tmp_path / "second"))
    shutil.rmtree(tmp_path / "second")
    moved = clone.rename(tmp_path / "second")

    said = settled(moved)

    assert str(data.parent) in said[0]
    assert (other / "PG_VERSION").read_text() == str(tmp_path / "second")


def test_what_an_older_release_kept_in_the_clone_is_taken_over(clone):
    old = clone / ".private"
    (old / "postgres").mkdir(parents=True)
    for name in ("secret", "demo-key"):
        (old / name).write_text(f"the {name}")

    said = settled(clone)

    assert str(old) in said[0]
    assert (home_of(clone) / "postgres").is_dir()
    assert not (old / "postgres").exists()
    assert [(home_of(clone) / name).read_text() for name in ("secret", "demo-key")] == [
        "the secret",
        "the demo-key",
    ]
    assert settled(clone) == []


def test_what_an_older_release_kept_for_root_is_taken_over(clone, monkeypatch, tmp_path):
    monkeypatch.setattr(homes, "as_root", lambda: True)
    monkeypatch.setattr(homes, "ROOT_HOME", tmp_path / "var")
    (tmp_path / "var" / "1cb229e1" / "postgres").mkdir(parents=True)
    (clone / ".private").mkdir()
    (clone / ".private" / "id").write_text("1cb229e1")

    settled(clone)

    assert (home_of(clone) / "postgres").is_dir()
    assert not (tmp_path / "var" / "1cb229e1" / "postgres").exists()


def test_old_data_in_use_stay_where_they_are(clone):
    (clone / ".private" / "postgres").mkdir(parents=True)

    with pytest.raises(HomeUnclear, match="runs still"):
        settled(clone, running=True)

    assert (clone / ".private" / "postgres").exists()


def test_without_a_terminal_the_question_is_answered_by_a_switch(monkeypatch):
    answers: list[bool] = []
    monkeypatch.setattr("config.database.settle", lambda *, ask, **_: answers.append(ask("Take them over?")))
    monkeypatch.setattr("sys.stdin", StringIO())

    with pytest.raises(HomeUnclear, match=r"Take them over\? make run MOVED=1 does that, MOVED=0 "):
        settle_in(print, command="make run")
    for given in ("yes", "0"):
        monkeypatch.setenv("MOVED", given)
        settle_in(print, command="make run")
    monkeypatch.setenv("MOVED", "perhaps")
    with pytest.raises(SwitchRefused):
        settle_in(print, command="make run")

    assert answers == [True, False]


@pytest.mark.parametrize("given", ["", "share/relative"])
def test_a_data_folder_that_is_not_absolute_counts_as_not_given(monkeypatch, given, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", given)
    monkeypatch.setenv("HOME", str(tmp_path / "someone"))

    assert data_root() == tmp_path / "someone" / ".local" / "share" / "roundlay"


def test_without_a_home_the_users_own_entry_says_where(monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", "")
    monkeypatch.setenv("HOME", "")

    assert data_root().is_absolute()
    assert data_root().parts[-3:] == (".local", "share", "roundlay")
    assert len(data_root().parts) > 4


def test_a_data_folder_that_cannot_be_made_is_refused_with_the_way_out(monkeypatch, tmp_path):
    (tmp_path / "a file").touch()
    monkeypatch.setenv("ROUNDLAY_PRIVATE_DIR", str(tmp_path / "a file" / "within"))

    with pytest.raises(HomeUnclear, match="ROUNDLAY_PRIVATE_DIR names another"):
        kept_text("secret", "a secret")


def test_a_secret_is_made_once_and_for_the_owners_eyes(monkeypatch, tmp_path):
    monkeypatch.setenv("ROUNDLAY_PRIVATE_DIR", str(tmp_path / "own"))

    first, again = kept_text("secret", "the first"), kept_text("secret", "the second")

    assert (first, again) == ("the first", "the first")
    assert (tmp_path / "own" / "secret").stat().st_mode & 0o777 == 0o600
    assert [path.name for path in (tmp_path / "own").iterdir()] == ["secret"]
