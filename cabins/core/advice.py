"""Advice on the next log in plain sentences: cut, turn, share, or take another."""

from collections.abc import Iterable, Sequence
from typing import Protocol

from cabins.core.layout_parts import Gap
from cabins.core.next_log import ON_THE_LINE_MM, EndSheet, Remedy
from inventory.core.crew_units import CrewUnits


def advice_for(
    ends: Sequence[EndSheet],
    remedy: Remedy,
    chosen: Sequence[EndSheet],
    *,
    gap: Gap,
    rounds_left: int,
    units: CrewUnits,
) -> tuple[str, ...]:
    """What to do at each end, in sentences with the crew's units; `chosen`: the ends as the log is to lie."""
    lines = [] if remedy is Remedy.ANOTHER_LOG else [_cut_line(end, units) for end in chosen]
    if remedy is Remedy.TURN:
        lines.insert(0, "Turn the log end for end.")
    if remedy in (Remedy.SHARE, Remedy.TURN, Remedy.PLAN_AGAIN):
        lines += return_lines(chosen, gap=gap, rounds_left=rounds_left, units=units)
    if remedy is Remedy.ANOTHER_LOG:
        lines += ["Take another log: this one does not reach its height within the gap's band and limits."]
        lines += [_another_line(end, units) for end in ends]
    return tuple(lines)


def _cut_line(end: EndSheet, units: CrewUnits) -> str:
    if end.notch_mm is None:
        return f"At {end.crossing}: lay the log on the deck; its top comes to {units.along(end.top_mm)}."
    leaves = f"the gap is then {units.across(end.gap_mm)}"
    if end.gap_mm < 0:
        leaves = f"the logs then overlap by {units.across(-end.gap_mm)}"
    return (
        f"At {end.crossing}: cut the notch {units.across(end.notch_mm)} deep; {leaves} and the top comes to "
        f"{units.along(end.top_mm)}."
    )


class OffPlan(Protocol):
    """One crossing of a log that comes to lie off its plan."""

    @property
    def crossing(self) -> str:
        """Its name."""

    @property
    def off_plan_mm(self) -> float | None:
        """How far above its plan (the level line) the log comes to lie; None: there is neither."""

    @property
    def rounds_to_return(self) -> int | None:
        """Later rounds whose gaps bring that back; None: they never do."""


def return_lines(ends: Iterable[OffPlan], *, gap: Gap, rounds_left: int, units: CrewUnits) -> tuple[str, ...]:
    """How far each crossing stays off its plan, and what brings it back; nothing where it is on it."""
    return tuple(
        _return_line(end, gap, rounds_left, units)
        for end in ends
        if end.off_plan_mm is not None and abs(end.off_plan_mm) > ON_THE_LINE_MM
    )


def _return_line(end: OffPlan, gap: Gap, rounds_left: int, units: CrewUnits) -> str:
    off, rounds = end.off_plan_mm or 0.0, end.rounds_to_return
    stays = f"At {end.crossing} the wall stays {units.across(abs(off))} too {'high' if off > 0 else 'low'}"
    if rounds is None or rounds > rounds_left:
        return f"{stays}, more than the gaps of the rounds left bring back: plan the rest again."
    if rounds == 1:
        return f"{stays}: make it good in the next round."
    each = units.across(gap.target_mm - gap.smallest_mm if off > 0 else gap.largest_mm - gap.target_mm)
    return f"{stays}: make it good over the next {rounds} rounds, up to {each} in each."


def _another_line(end: EndSheet, units: CrewUnits) -> str:
    if end.diameter_from_mm is None or end.diameter_to_mm is None:
        return (
            f"At {end.crossing}: no log reaches {units.along(end.reach_mm)} from here; choose another height "
            f"to reach, or correct the crossing wall first."
        )
    least, most = units.across(end.diameter_from_mm), units.across(end.diameter_to_mm)
    return f"At {end.crossing}: it should measure {least} to {most}."
