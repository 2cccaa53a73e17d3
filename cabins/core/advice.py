"""Advice on the next log in plain sentences: cut, turn, share, or take another."""

from collections.abc import Sequence

from cabins.core.layout_parts import Gap
from cabins.core.next_log import ON_THE_LINE_MM, EndSheet, Remedy
from inventory.core.crew_units import CrewUnits


def advice_for(
    ends: Sequence[EndSheet],
    remedy: Remedy,
    chosen: Sequence[EndSheet],
    gap: Gap,
    units: CrewUnits,
) -> tuple[str, ...]:
    """What to do at each end, in sentences with the crew's units; `chosen`: the ends as the log is to lie."""
    lines = [] if remedy is Remedy.ANOTHER_LOG else [_cut_line(end, units) for end in chosen]
    if remedy is Remedy.TURN:
        lines.insert(0, "Turn the log end for end.")
    off = [end for end in chosen if abs(end.off_plan_mm) > ON_THE_LINE_MM]
    if remedy in (Remedy.SHARE, Remedy.TURN):
        lines += [_share_line(end, gap, units) for end in off]
    if remedy is Remedy.PLAN_AGAIN:
        lines += [_beyond_line(end, units) for end in off]
        lines.append(
            "Plan the rest again: the gaps of the rounds left do not bring this wall back to its plan."
        )
    if remedy is Remedy.ANOTHER_LOG:
        lines += ["Take another log: this one does not reach its height within the gap's band and limits."]
        lines += [_another_line(end, units) for end in ends]
    return tuple(lines)


def _cut_line(end: EndSheet, units: CrewUnits) -> str:
    if end.notch_mm is None:
        return f"At {end.crossing}: lay the log on the deck; its top comes to {units.along(end.top_mm)}."
    return (
        f"At {end.crossing}: cut the notch {units.across(end.notch_mm)} deep; the gap is then "
        f"{units.across(end.gap_mm)} and the top comes to {units.along(end.top_mm)}."
    )


def _off(end: EndSheet, units: CrewUnits) -> str:
    word = "high" if end.off_plan_mm > 0 else "low"
    return f"At {end.crossing} the wall stays {units.across(abs(end.off_plan_mm))} too {word}"


def _share_line(end: EndSheet, gap: Gap, units: CrewUnits) -> str:
    rounds = end.rounds_to_return or 1
    reserve = gap.target_mm - gap.smallest_mm if end.off_plan_mm > 0 else gap.largest_mm - gap.target_mm
    each = units.across(min(reserve, abs(end.off_plan_mm)))
    if rounds == 1:
        return f"{_off(end, units)}: make it good in the next round."
    return f"{_off(end, units)}: make it good over the next {rounds} rounds, up to {each} in each."


def _beyond_line(end: EndSheet, units: CrewUnits) -> str:
    return f"{_off(end, units)}."


def _another_line(end: EndSheet, units: CrewUnits) -> str:
    if end.diameter_from_mm is None or end.diameter_to_mm is None:
        return (
            f"At {end.crossing}: no log reaches {units.along(end.reach_mm)} from here; choose another height "
            f"to reach, or correct the crossing wall first."
        )
    least, most = units.across(end.diameter_from_mm), units.across(end.diameter_to_mm)
    return f"At {end.crossing}: it should measure {least} to {most}."
