"""Lines of a take-off: logs of one length class and middle band, what each is for, and what to order.

Lengths and diameters in mm.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from planning.core.takeoff.needs import MiddleBand, PartUse, Target


@dataclass(frozen=True, slots=True, kw_only=True)
class NeededLog:
    """One log that is needed: what is cut from it, how long it must be, and the yard's log that covers it.

    `needed_mm` is the least length with every trim and kerf, `length_mm` its class. `log` is None where the
    yards fall short; `is_bowed`: that log bows more than its longest piece may. `crown_limit_mm`: what a
    member allows; None: as for a place of the wall.
    """

    targets: tuple[Target, ...]
    needed_mm: float
    length_mm: float
    band: MiddleBand
    is_straight: bool
    is_spare: bool
    crown_limit_mm: float | None = None
    log: str | None = None
    is_bowed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeoffLine:
    """Logs of one class. `count` and `covered` leave the spare logs out, `to_order` has both.

    `straight`: how many of `count` go into a first or last round. `note` says in words what they are for.
    """

    length_mm: float
    least_middle_mm: float
    largest_middle_mm: float
    count: int
    spare: int
    covered: int
    spare_covered: int
    short: int
    to_order: int
    straight: int
    note: str
    logs: tuple[NeededLog, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeoffOrderLine:
    """A line as an order takes it. `length_mm` is the class, trim included; species None: any."""

    species: str | None
    length_mm: float
    least_middle_mm: float
    largest_middle_mm: float
    count: int
    note: str


def lines_of(logs: Iterable[NeededLog]) -> tuple[TakeoffLine, ...]:
    """The logs gathered into lines: longest first, of one length the thickest first."""
    by_class: dict[tuple[float, MiddleBand], list[NeededLog]] = defaultdict(list)
    for log in logs:
        by_class[log.length_mm, log.band].append(log)
    keys = sorted(by_class, key=lambda key: (-key[0], -key[1].least_mm, -key[1].largest_mm))
    return tuple(_line(length, band, by_class[length, band]) for length, band in keys)


def _line(length_mm: float, band: MiddleBand, logs: Sequence[NeededLog]) -> TakeoffLine:
    needed = [log for log in logs if not log.is_spare]
    spare = [log for log in logs if log.is_spare]
    covered = sum(log.log is not None for log in needed)
    spare_covered = sum(log.log is not None for log in spare)
    straight = sum(log.is_straight for log in needed)
    return TakeoffLine(
        length_mm=length_mm,
        least_middle_mm=band.least_mm,
        largest_middle_mm=band.largest_mm,
        count=len(needed),
        spare=len(spare),
        covered=covered,
        spare_covered=spare_covered,
        short=len(needed) - covered,
        to_order=len(logs) - covered - spare_covered,
        straight=straight,
        note=_note(logs, straight),
        logs=tuple(logs),
    )


def order_lines(lines: Iterable[TakeoffLine], *, species: str | None) -> tuple[TakeoffOrderLine, ...]:
    """What the yards do not cover, spare included, as an order takes it; a covered line is left out."""
    return tuple(
        TakeoffOrderLine(
            species=species,
            length_mm=line.length_mm,
            least_middle_mm=line.least_middle_mm,
            largest_middle_mm=line.largest_middle_mm,
            count=line.to_order,
            note=line.note,
        )
        for line in lines
        if line.to_order
    )


def _note(logs: Sequence[NeededLog], straight: int) -> str:
    """`Lake cabin: A 1-3, C 1-3, half logs B, purlin 1-4; 4 straight for first and last rounds; 4 spare`."""
    targets = [target for log in logs for target in log.targets]
    cabins = list(
        dict.fromkeys(t.cabin for t in targets if t.cabin is not None and t.use is not PartUse.SPARE)
    )
    parts = [f"{cabin}: {_cabin_note(cabin, targets)}" for cabin in cabins]
    members = Counter(
        (t.member_kind, t.member) for t in targets if t.use is PartUse.MEMBER and t.cabin is None
    )
    parts += [f"{kind} {name}: {count}" for (kind, name), count in members.items()]
    if straight:
        parts.append(f"{straight} straight for first and last rounds")
    spare = sum(log.is_spare for log in logs)
    if spare:
        parts.append(f"{spare} spare")
    return "; ".join(parts)


def _cabin_note(cabin: str, targets: Iterable[Target]) -> str:
    rounds: dict[str, set[int]] = defaultdict(set)
    halves: list[str] = []
    members: list[str] = []
    for target in targets:
        if target.cabin != cabin:
            continue
        if target.member is not None:
            members.append(target.member)
        elif target.wall is not None and target.use is PartUse.HALF_LOG:
            halves.append(target.wall)
        elif target.wall is not None and target.round is not None:
            rounds[target.wall].add(target.round)
    parts = [f"{wall} {_ranges(found)}" for wall, found in sorted(rounds.items())]
    if halves:
        parts.append("half logs " + " ".join(sorted(halves)))
    return ", ".join(parts + _member_notes(members))


def _member_notes(names: Iterable[str]) -> list[str]:
    """`ridge`, `purlin 1-4` for purlins 1 to 4."""
    numbers: dict[str, list[int]] = {}
    for name in names:
        word, _, number = name.rpartition(" ")
        if word and number.isdecimal():
            numbers.setdefault(word, []).append(int(number))
        else:
            numbers.setdefault(name, [])
    return [f"{word} {_ranges(found)}" if found else word for word, found in numbers.items()]


def _ranges(numbers: Iterable[int]) -> str:
    """`1-3 5` for 1, 2, 3, 5."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return " ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def spare_by_percent(logs: Sequence[NeededLog], percent: float) -> list[NeededLog]:
    """Spare logs of the same classes: `percent` of all logs, rounded up once and shared out by class.

    Rounding every class up would order far too many. Shares by largest remainder; of equal ones the longer,
    then the thicker class goes first, since a long log can stand in for a short one.
    """
    by_class = Counter((log.length_mm, log.band) for log in logs)
    total = math.ceil(len(logs) * percent / 100 - 1e-9)
    quota = {key: total * count / len(logs) for key, count in by_class.items()}
    spare = {key: math.floor(share) for key, share in quota.items()}
    order = sorted(quota, key=lambda key: (spare[key] - quota[key], -key[0], -key[1].least_mm))
    for key in order[: total - sum(spare.values())]:
        spare[key] += 1
    return [
        NeededLog(
            targets=(Target(use=PartUse.SPARE, length_mm=length),),
            needed_mm=length,
            length_mm=length,
            band=band,
            is_straight=False,
            is_spare=True,
        )
        for (length, band), count in spare.items()
        for _ in range(count)
    ]
