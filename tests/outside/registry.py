"""Every check against something that no one here wrote, in one list: the tests and docs/checks.md read it.

A check is a plain function in a module `tests/outside/check_<topic>.py`, which is found by its name:

    @outside_check(what="Green weight per foot", source="...", mark="seen", unit="lb/ft", limit=0.6)
    def green_log_weights() -> list[Compared]:
        return [against("white oak 12 in", ours=49.1, theirs=49), ...]

`mark` is how far the source was read: seen, second-hand, computed. A value from memory decides no check.
"""

import csv
import importlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parent
DATA = FOLDER / "data"
MARKS = ("seen", "second-hand", "computed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One value: what it is, and by how much we differ from the source, in the unit of the check."""

    label: str
    difference: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsideCheck:
    """What is checked, against which source, and the difference allowed."""

    name: str
    what: str
    source: str
    mark: str
    unit: str
    limit: float
    compare: Callable[[], Iterable[Compared]]


_CHECKS: dict[str, OutsideCheck] = {}


def outside_check(
    *, what: str, source: str, mark: str, unit: str, limit: float
) -> Callable[[Callable[[], Iterable[Compared]]], Callable[[], Iterable[Compared]]]:
    """Puts a function that returns its comparisons into the list of checks."""
    if mark not in MARKS:
        raise ValueError(f"a check is decided by a source that is {', '.join(MARKS)}, not {mark}")

    def put(compare: Callable[[], Iterable[Compared]]) -> Callable[[], Iterable[Compared]]:
        name = f"{compare.__module__.rpartition('.')[2]}.{compare.__name__}"
        _CHECKS[name] = OutsideCheck(
            name=name, what=what, source=source, mark=mark, unit=unit, limit=limit, compare=compare
        )
        return compare

    return put


def against(label: str, *, ours: float, theirs: float) -> Compared:
    """Our value against theirs."""
    return Compared(label=label, difference=abs(ours - theirs))


def against_percent(label: str, *, ours: float, theirs: float) -> Compared:
    """Our value against theirs, in percent of theirs."""
    return Compared(label=label, difference=abs(ours / theirs - 1) * 100)


def within(label: str, *, value: float, low: float, high: float) -> Compared:
    """A value that must lie in a range: the difference is the distance it lies outside."""
    return Compared(label=label, difference=max(low - value, value - high, 0.0))


def all_checks() -> list[OutsideCheck]:
    """Every check of every module `check_*.py` in this folder, by name."""
    for module in sorted(FOLDER.glob("check_*.py")):
        importlib.import_module(f"tests.outside.{module.stem}")
    return [_CHECKS[name] for name in sorted(_CHECKS)]


def rows_of(file: str) -> list[dict[str, str]]:
    """The rows of a data file beside the checks; each has a `source` and a `status` column."""
    with (DATA / file).open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))
