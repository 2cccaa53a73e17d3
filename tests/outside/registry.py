"""Every check against something that no one here wrote, in one list: the tests and docs/checks.md read it.

A check is a plain function in a module `tests/outside/check_<topic>.py`, which is found by its name:

    @outside_check(what="Green weight per foot", source="...", mark="seen", kind="printed", unit="lb/ft",
                   limit=0.6, decides="lift")
    def green_log_weights() -> list[Compared]:
        return [against("white oak 12 in", ours=49.1, theirs=49), ...]

`mark` is how far the source was read: seen, second-hand, computed. A value from memory decides no check.
`kind` is what stands on the other side: something printed, measured or worked by another, a general library,
or the same formula or table again, which is kept as a regression and never counted as independent.
"""

import csv
import importlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parent
DATA = FOLDER / "data"
MARKS = ("seen", "second-hand", "computed")
INDEPENDENT = ("printed", "measured", "worked", "library")
AGAIN = ("same formula", "same table")
# An independent check must notice an error of a figure that is smaller than this, in percent.
MOST_UNNOTICED_PCT = {"lift": 10.0, "price": 10.0, "other": 25.0}

Figure = float | Callable[[float], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One value: what it is, and how far ours is off the source's, in the unit of the check.

    `off` takes what our figure is multiplied by, so that an error can be tried.
    """

    label: str
    off: Callable[[float], float]

    @property
    def difference(self) -> float:
        """How far our figure is off as it is."""
        return self.off(1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsideCheck:
    """What is checked, against which source, the difference allowed, and what hangs on the figure."""

    name: str
    what: str
    source: str
    mark: str
    kind: str
    unit: str
    limit: float
    decides: str
    compare: Callable[[], Iterable[Compared]]

    @property
    def is_independent(self) -> bool:
        """Whether the other side could contradict us at all."""
        return self.kind in INDEPENDENT

    @property
    def most_unnoticed_pct(self) -> float:
        """The error, in percent, that must not go unnoticed."""
        return MOST_UNNOTICED_PCT[self.decides]


_CHECKS: dict[str, OutsideCheck] = {}


def outside_check(
    *, what: str, source: str, mark: str, kind: str, unit: str, limit: float, decides: str = "other"
) -> Callable[[Callable[[], Iterable[Compared]]], Callable[[], Iterable[Compared]]]:
    """Puts a function that returns its comparisons into the list of checks."""
    for given, allowed in ((mark, MARKS), (kind, INDEPENDENT + AGAIN), (decides, (*MOST_UNNOTICED_PCT,))):
        if given not in allowed:
            raise ValueError(f"a check is decided by {', '.join(allowed)}, not {given}")

    def put(compare: Callable[[], Iterable[Compared]]) -> Callable[[], Iterable[Compared]]:
        name = f"{compare.__module__.rpartition('.')[2]}.{compare.__name__}"
        _CHECKS[name] = OutsideCheck(
            name=name,
            what=what,
            source=source,
            mark=mark,
            kind=kind,
            unit=unit,
            limit=limit,
            decides=decides,
            compare=compare,
        )
        return compare

    return put


def against(label: str, *, ours: Figure, theirs: float) -> Compared:
    """Our value against theirs; ours may be a function of what it is multiplied by before it is rounded."""
    return Compared(label=label, off=lambda times: abs(_at(ours, times) - theirs))


def against_percent(label: str, *, ours: Figure, theirs: float) -> Compared:
    """Our value against theirs, in percent of theirs."""
    return Compared(label=label, off=lambda times: abs(_at(ours, times) / theirs - 1) * 100)


def within(label: str, *, ours: Figure, low: float, high: float) -> Compared:
    """Our value must lie in their range: the difference is the distance it lies outside."""

    def off(times: float) -> float:
        value = _at(ours, times)
        return max(low - value, value - high, 0.0)

    return Compared(label=label, off=off)


def all_checks() -> list[OutsideCheck]:
    """Every check of every module `check_*.py` in this folder, by name."""
    for module in sorted(FOLDER.glob("check_*.py")):
        importlib.import_module(f"tests.outside.{module.stem}")
    return [_CHECKS[name] for name in sorted(_CHECKS)]


def rows_of(file: str) -> list[dict[str, str]]:
    """The rows of a data file beside the checks; each has a `source` and a `status` column."""
    with (DATA / file).open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def _at(figure: Figure, times: float) -> float:
    return figure(times) if callable(figure) else figure * times
