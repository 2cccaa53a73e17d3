"""The two locks belong together: what the service runs with is what it is developed with."""

import re
import tomllib

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from config.home import PROJECT

_ENTRY = re.compile(r"^([A-Za-z0-9._-]+)==(\S+)[^\n]*\\\n((?:\s+--hash=\S+(?: \\)?\n)+)", re.MULTILINE)


def locked(name: str) -> dict[tuple[str, str], frozenset[str]]:
    """(package, version) -> hashes; a package may stand there twice, for older and newer Pythons."""
    found = _ENTRY.findall((PROJECT / name).read_text())
    return {(package, version): frozenset(hashes.split()) for package, version, hashes in found}


RUN, DEV = locked("requirements.lock"), locked("requirements-dev.lock")
PYPROJECT = tomllib.loads((PROJECT / "pyproject.toml").read_text())["project"]


def test_every_line_of_a_lock_is_a_pinned_release_with_hashes():
    for name, packages in (("requirements.lock", RUN), ("requirements-dev.lock", DEV)):
        starts = re.findall(r"^[A-Za-z0-9]\S*", (PROJECT / name).read_text(), re.MULTILINE)

        assert len(starts) == len(packages) > 30, set(starts)


def test_developers_have_exactly_what_the_service_runs_with_and_more():
    assert {pinned: DEV.get(pinned) for pinned in RUN} == RUN
    assert len(DEV) > len(RUN)


@pytest.mark.parametrize(
    ("asked", "lock"),
    [(PYPROJECT["dependencies"], RUN), (PYPROJECT["optional-dependencies"]["dev"], DEV)],
    ids=["run time", "development"],
)
def test_all_that_pyproject_asks_for_is_locked_within_its_bounds(asked, lock):
    for one in map(Requirement, asked):
        versions = [version for name, version in lock if name == canonicalize_name(one.name)]

        assert versions, one
        assert all(one.specifier.contains(version) for version in versions), one


def test_what_only_developers_need_is_not_installed_to_run_the_service():
    assert {"pytest", "mypy", "playwright", "scipy", "coverage"} & {name for name, _ in RUN} == set()


def test_no_command_asks_the_resolver():
    for name in ("Makefile", ".ci/run"):
        lines = [line for line in (PROJECT / name).read_text().splitlines() if ".lock" in line]

        assert [line for line in lines if "pip install" in line and "--no-deps" not in line] == []
    install = re.search(r"^INSTALL := (.*)$", (PROJECT / "Makefile").read_text(), re.MULTILINE)
    assert install
    assert {"--no-deps", "--require-hashes"} <= set(install[1].split())


def test_ci_makes_every_check():
    made = re.findall(r"^make ([a-z-]+)", (PROJECT / ".ci" / "run").read_text(), re.MULTILINE)

    assert {"lint", "check-install", "check", "audit", "test"} <= set(made)
