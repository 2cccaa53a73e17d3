"""The sheet of one corner: what every log there gives to the wall's height, from the deck up. It adds up."""

import math
from dataclasses import dataclass

from cabins.core.advice import return_lines
from cabins.core.joint_parts import JointSettings, NotchCut
from cabins.core.joints import cut_notch, top_cut_mm
from cabins.core.notching import notch_depth_mm
from cabins.core.places import CornerCrossing, column_at, columns_of, crossings_of
from cabins.core.seating import rounds_to_return
from cabins.core.stack import PiledTop, Stack
from inventory.core.crew_units import CrewUnits, Sentence


class NoSuchCrossing(ValueError):
    """The cabin has no crossing of that name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerRow:
    """One log at the corner: it lies on its seat and carries the next one's.

    `seat_mm`, `next_seat_mm`: middles of the seats below and above it, above the deck. What lies between is
    packing, clearance left by underscribing, and the wood that remains: `takes_mm` in all.
    """

    wall: str
    round: int
    column: int
    diameter_mm: float
    top_mm: float
    planned_mm: float | None
    stands_off_mm: float | None
    is_measured: bool
    seat_mm: float
    next_seat_mm: float
    takes_mm: float
    cut: NotchCut


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerSheet:
    """All logs of a corner from the deck up. `sum_mm` of what they take is `height_mm` of the wall there."""

    crossing: str
    rows: tuple[CornerRow, ...]
    sum_mm: float
    height_mm: float
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]


def corner_sheet(
    stack: Stack, *, crossing: str, thickness_mm: float | None = None, settings: JointSettings | None = None
) -> CornerSheet:
    """The sheet of one corner or tee, low and high logs in the order they are laid.

    Notches follow the heights: where a top was measured, the notch is what it must have been to give it.
    The first log lies on the deck, in a flat where the wall is scribed, on packing where it is chinked; or it
    is notched over the half log that lies across under it.
    Raises NoSuchCrossing, JointError.
    """
    use = settings or JointSettings()
    here = _crossing(stack, crossing)
    logs, half_log = _logs_at(stack, here), _half_log_at(stack, here)
    depths = _depths_mm(logs, half_log.top_mm if half_log else 0.0)
    rows: list[CornerRow] = []
    seat = 0.0
    if half_log:
        taken = top_cut_mm(kind=stack.layout.notch, depth_above_mm=depths[0], settings=use)
        seat = half_log.top_mm - taken
    lies_on = seat
    for number, (log, depth) in enumerate(zip(logs, depths, strict=True)):
        above = depths[number + 1] if number + 1 < len(logs) else 0.0
        cut = cut_notch(
            kind=stack.layout.notch,
            depth_mm=depth,
            diameter_mm=log.diameter_mm,
            crossing_diameter_mm=(logs[number - 1] if number else half_log or log).diameter_mm,
            depth_above_mm=above,
            thickness_mm=thickness_mm,
            is_on_deck=number == 0 and half_log is None,
            settings=use,
        )
        next_seat = log.top_mm - top_cut_mm(kind=stack.layout.notch, depth_above_mm=above, settings=use)
        rows.append(_row(log, cut, seat, next_seat))
        seat = next_seat
    return CornerSheet(
        crossing=crossing,
        rows=tuple(rows),
        sum_mm=math.fsum([lies_on, *(row.takes_mm for row in rows)]),
        height_mm=logs[-1].top_mm,
        warnings=tuple(
            Sentence("Round {round}, wall {wall}: {said}", round=row.round, wall=row.wall, said=warning)
            for row in rows
            for warning in row.cut.warnings
        ),
        cautions=rows[-1].cut.cautions,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _NextLog:
    """How far the next log at a crossing stays off its plan, as advice takes it."""

    crossing: str
    off_plan_mm: float | None
    rounds_to_return: int | None


def return_advice(stack: Stack, *, crossing: str, units: CrewUnits) -> tuple[str, ...]:
    """Of each wall at a crossing, how far the next log stays off its plan there, and what brings it back.

    Nothing where it is on its plan, or has none. Raises NoSuchCrossing.
    """
    here, gap = _crossing(stack, crossing), stack.layout.gap
    logs, lines = _logs_at(stack, here), []
    for wall in (here.low_wall, here.high_wall):
        own = [log for log in logs if log.wall == wall]
        measured = max((log.round for log in own if log.is_measured), default=0)
        log = next((log for log in own if log.round > measured), None)
        if log is None or log.stands_off_mm is None:
            continue
        back = rounds_to_return(log.stands_off_mm, gap=gap)
        next_log = _NextLog(crossing=crossing, off_plan_mm=log.stands_off_mm, rounds_to_return=back)
        left = stack.layout.round_count - log.round
        told = return_lines([next_log], gap=gap, rounds_left=left, units=units)
        lines += [f"Wall {wall}, round {log.round}: {line}" for line in told]
    return tuple(lines)


def _crossing(stack: Stack, name: str) -> CornerCrossing:
    for crossing in crossings_of(stack.layout):
        if crossing.id == name:
            return crossing
    raise NoSuchCrossing(f"the cabin has no crossing {name}")


def _logs_at(stack: Stack, crossing: CornerCrossing) -> list[PiledTop]:
    """The logs at a crossing in the order they are laid: low and high, round by round."""
    columns = columns_of(stack.layout)
    tops = {(top.wall, top.round, top.column): top for top in stack.tops}
    return [
        tops[wall, number, column_at(columns[wall], crossing.id)]
        for number in range(1, stack.layout.round_count + 1)
        for wall in (crossing.low_wall, crossing.high_wall)
    ]


def _half_log_at(stack: Stack, crossing: CornerCrossing) -> PiledTop | None:
    """The half log that lies across under the first log at a crossing."""
    if not stack.layout.half_logs:
        return None
    column = column_at(columns_of(stack.layout)[crossing.high_wall], crossing.id)
    return next(t for t in stack.tops if (t.wall, t.round, t.column) == (crossing.high_wall, 0, column))


def _depths_mm(logs: list[PiledTop], first_mm: float) -> list[float]:
    """How far each log sinks over the one below it; the first over what it lies on."""
    below = [first_mm, *(log.top_mm for log in logs[:-1])]
    return [
        notch_depth_mm(crossing_top_mm=under, underside_mm=log.top_mm - log.diameter_mm)
        for under, log in zip(below, logs, strict=True)
    ]


def _row(log: PiledTop, cut: NotchCut, seat_mm: float, next_seat_mm: float) -> CornerRow:
    return CornerRow(
        wall=log.wall,
        round=log.round,
        column=log.column,
        diameter_mm=log.diameter_mm,
        top_mm=log.top_mm,
        planned_mm=log.planned_mm,
        stands_off_mm=log.stands_off_mm,
        is_measured=log.is_measured,
        seat_mm=seat_mm,
        next_seat_mm=next_seat_mm,
        takes_mm=cut.packing_mm + cut.clearance_mm + cut.remains_mm,
        cut=cut,
    )
