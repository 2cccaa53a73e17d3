"""Advice on the next log in plain sentences: cut, turn, share, or take another."""

from collections.abc import Sequence

from cabins.core.next_log import ON_THE_LINE_MM, EndSheet, Remedy


def advice_for(
    ends: Sequence[EndSheet], remedy: Remedy, chosen: Sequence[EndSheet], to_share: int | None
) -> tuple[str, ...]:
    """What to do at each end, in sentences; `chosen` are the ends as the log is to lie."""
    lines = [] if remedy is Remedy.ANOTHER_LOG else [_cut_line(end) for end in chosen]
    if remedy is Remedy.TURN:
        lines.insert(0, "Turn the log end for end.")
    if to_share is not None:
        lines += [_share_line(end, to_share) for end in chosen if abs(end.off_mm) > ON_THE_LINE_MM]
    if remedy is Remedy.ANOTHER_LOG:
        lines += ["Take another log: this one does not reach its height within the gap's band and limits."]
        lines += [_another_line(end) for end in ends]
    return tuple(lines)


def _cut_line(end: EndSheet) -> str:
    if end.notch_mm is None:
        return f"At {end.crossing}: lay the log on the deck; its top comes to {end.top_mm:.0f} mm."
    return (
        f"At {end.crossing}: cut the notch {end.notch_mm:.0f} mm deep; the gap is then {end.gap_mm:.0f} mm "
        f"and the top comes to {end.top_mm:.0f} mm."
    )


def _share_line(end: EndSheet, rounds: int) -> str:
    word = "high" if end.off_mm > 0 else "low"
    return (
        f"At {end.crossing} the wall stays {abs(end.off_mm):.0f} mm too {word}: make it good over the next "
        f"{rounds} round{'s' if rounds > 1 else ''}, {abs(end.off_mm) / rounds:.0f} mm in each."
    )


def _another_line(end: EndSheet) -> str:
    if end.diameter_from_mm is None or end.diameter_to_mm is None:
        return (
            f"At {end.crossing}: no log reaches {end.reach_mm:.0f} mm from here; choose another height to "
            f"reach, or correct the crossing wall first."
        )
    return f"At {end.crossing}: it should measure {end.diameter_from_mm:.0f} to {end.diameter_to_mm:.0f} mm."
