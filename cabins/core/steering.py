"""What the crew steers with: the height the next log is to reach at each end, and the notch for it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cabins.core.advice import advice_for
from cabins.core.layout_parts import Gap, LogWall, SillFlat, Start
from cabins.core.next_log import ON_THE_LINE_MM, EndSheet, NextLog, Remedy
from cabins.core.notching import NOTCH_LIMIT
from cabins.core.places import Spot, column_at, columns_of, crossings_of
from cabins.core.seating import rounds_to_return, seat_log, seat_on_deck
from cabins.core.sources import MP579, PRACTICE
from cabins.core.stack import PiledTop, Stack
from inventory.core.basis import Basis
from inventory.core.crew_units import IN_MM, CrewUnits

BASIS = Basis(
    rule="the height to reach is the plan's own top, and what the gap of one round cannot bring back where "
    "the wall stands off its plan; the notch is the crossing log's top less the underside the log is to "
    "have. Without a plan the height to reach is the mean expected top of the walls that start alike",
    source=f"{MP579}, for notch depth and turning as the two ways to steer; the rest: {PRACTICE}",
    assumption="heights as measured where they are, computed from diameters where not",
)
CAUTION_THIN = (
    "A notch beyond its limit leaves too little wood to carry the wall; do not cut it. Structure is decided "
    "by local code and licensed practice."
)
CAUTION_CHECK = "Measure at the corner again before cutting: a notch cut too deep cannot be put back."


class SteeringError(ValueError):
    """The next log cannot be steered: a wall, round or diameter that does not fit the cabin."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bed:
    """What lies under the next log at one column."""

    column: int
    at_mm: float
    crossing: str
    reach_mm: float
    planned_mm: float | None
    own: PiledTop
    crossing_top: PiledTop | None
    flat: SillFlat | None
    sealer_mm: float
    error_mm: float


def level_line_mm(stack: Stack, *, wall: str, round_number: int) -> float:
    """The height a round of `wall` is to reach: the mean expected top of the walls that start alike.

    Taken over wall ends, from measured heights below and the planned or nominal logs of the round.
    Raises SteeringError.
    """
    start = _wall(stack, wall, round_number).start
    columns = columns_of(stack.layout)
    tops = [
        stack.heights_mm[other.id, round_number - 1, column.column]
        + stack.diameters_mm[other.id, round_number, column.column]
        + stack.layout.gap.target_mm
        for other in stack.layout.log_walls
        if other.start is start
        for column in (columns[other.id][0], columns[other.id][-1])
    ]
    return math.fsum(tops) / len(tops)


def steer_next_log(
    stack: Stack,
    *,
    wall: str,
    round_number: int,
    diameters_mm: Mapping[int, float],
    turned_mm: Mapping[int, float] | None = None,
    reach_mm: float | None = None,
    notch_limit: tuple[float, float] = NOTCH_LIMIT,
    units: CrewUnits = IN_MM,
) -> NextLog:
    """How a log is to be notched at each column so that its wall comes level, and what helps if it cannot.

    `stack` holds the heights below, measured or computed, and the plan's tops where there is a plan.
    `diameters_mm`: the log's diameter at each column it crosses, as it is to lie; `turned_mm`: the same
    turned end for end. `reach_mm`: a height of the crew's own to reach at every end; if not given, the plan's
    (see `height_to_reach_mm`), or without a plan the level line. The advice is in `units`. Raises
    SteeringError.
    """
    if reach_mm is not None and not math.isfinite(reach_mm):
        raise SteeringError(f"{reach_mm} is no height to reach")
    beds = _beds(stack, wall, round_number, reach_mm)
    gap = stack.layout.gap
    ends = _ends(beds, diameters_mm, gap, notch_limit)
    turned = _ends(beds, turned_mm, gap, notch_limit) if turned_mm is not None else None
    rounds_left = stack.layout.round_count - round_number
    remedy, chosen = _remedy(ends, turned, rounds_left)
    to_share = _rounds_to_share(chosen) if remedy in (Remedy.SHARE, Remedy.TURN) else None
    return NextLog(
        wall=wall,
        round=round_number,
        ends=ends,
        turned=turned,
        remedy=remedy,
        rounds_to_share=to_share,
        advice=advice_for(ends, remedy, chosen, gap=gap, rounds_left=rounds_left, units=units),
        basis=BASIS,
        uncertainty="heights reached carry the error_mm of their end (one standard deviation, from readings "
        "of heights and diameters taken as independent)",
        cautions=(CAUTION_CHECK, CAUTION_THIN) if any(end.is_blocked for end in ends) else (CAUTION_CHECK,),
    )


def _wall(stack: Stack, wall: str, round_number: int) -> LogWall:
    if not 1 <= round_number <= stack.layout.round_count:
        raise SteeringError(f"the cabin has no round {round_number}")
    for candidate in stack.layout.log_walls:
        if candidate.id == wall:
            return candidate
    raise SteeringError(f"the cabin has no wall {wall}")


def _beds(stack: Stack, wall: str, round_number: int, reach_mm: float | None) -> dict[int, _Bed]:
    layout = stack.layout
    columns = columns_of(layout)
    tops: dict[Spot, PiledTop] = {(top.wall, top.round, top.column): top for top in stack.tops}
    crossings = {crossing.id: crossing for crossing in crossings_of(layout)}
    is_low = _wall(stack, wall, round_number).start is Start.LOW
    line = None if stack.is_planned else level_line_mm(stack, wall=wall, round_number=round_number)
    beds = {}
    for column in columns[wall]:
        crossing = crossings[column.crossing]
        other = crossing.high_wall if is_low else crossing.low_wall
        below = round_number - 1 if is_low else round_number
        spot = (other, below, column_at(columns[other], crossing.id))
        here = tops[wall, round_number, column.column]
        beds[column.column] = _Bed(
            column=column.column,
            at_mm=column.at_mm,
            crossing=crossing.id,
            reach_mm=next(each for each in (reach_mm, line, here.reach_mm) if each is not None),
            planned_mm=here.planned_mm,
            own=tops[wall, round_number - 1, column.column],
            # Without half logs the first low logs lie on the deck: nothing there to notch over.
            crossing_top=tops[spot] if below >= 1 or layout.half_logs else None,
            flat=layout.sill_flat if is_low and round_number == 1 else None,
            sealer_mm=layout.sealer_mm,
            error_mm=math.hypot(
                tops[wall, round_number - 1, column.column].error_mm, stack.errors.round_mm()
            ),
        )
    return beds


def _ends(
    beds: Mapping[int, _Bed], diameters_mm: Mapping[int, float], gap: Gap, limit: tuple[float, float]
) -> tuple[EndSheet, ...]:
    if not diameters_mm:
        raise SteeringError("a log that crosses no other has no height to reach")
    for column, diameter in diameters_mm.items():
        if column not in beds:
            raise SteeringError(f"the wall has no column {column}")
        if not (math.isfinite(diameter) and diameter > 0):
            raise SteeringError(f"{diameter} is no diameter, at column {column}")
    return tuple(
        _end(beds[column], diameters_mm[column], gap=gap, limit=limit) for column in sorted(diameters_mm)
    )


def _end(bed: _Bed, diameter: float, *, gap: Gap, limit: tuple[float, float]) -> EndSheet:
    crossing = bed.crossing_top.top_mm if bed.crossing_top else None
    if bed.flat is not None:
        seat = seat_on_deck(
            diameter_mm=diameter,
            reach_mm=bed.reach_mm,
            crossing_top_mm=crossing,
            flat=bed.flat,
            sealer_mm=bed.sealer_mm,
            notch_limit=limit,
        )
    else:
        seat = seat_log(
            own_top_mm=bed.own.top_mm,
            diameter_mm=diameter,
            reach_mm=bed.reach_mm,
            crossing_top_mm=crossing,
            gap=gap,
            notch_limit=limit,
        )
    another = _another_diameter(bed, gap, limit)
    off_plan = seat.top_mm - (bed.reach_mm if bed.planned_mm is None else bed.planned_mm)
    return EndSheet(
        column=bed.column,
        at_mm=bed.at_mm,
        crossing=bed.crossing,
        planned_mm=bed.planned_mm,
        stands_off_mm=bed.own.stands_off_mm,
        reach_mm=bed.reach_mm,
        own_top_mm=bed.own.top_mm,
        crossing_top_mm=crossing,
        diameter_mm=diameter,
        gap_needed_mm=seat.gap_needed_mm,
        notch_needed_mm=seat.notch_needed_mm,
        is_within_band=seat.is_within_band,
        is_within_limit=seat.is_within_limit,
        is_blocked=seat.is_blocked,
        gap_mm=seat.gap_mm,
        notch_mm=seat.notch_mm,
        notch_share=None if seat.notch_mm is None else seat.notch_mm / diameter,
        top_mm=seat.top_mm,
        off_mm=seat.off_mm,
        off_plan_mm=off_plan,
        rounds_to_return=rounds_to_return(off_plan, gap=gap),
        diameter_from_mm=another[0] if another else None,
        diameter_to_mm=another[1] if another else None,
        error_mm=bed.error_mm,
    )


def _another_diameter(bed: _Bed, gap: Gap, limit: tuple[float, float]) -> tuple[float, float] | None:
    """Least and greatest diameter that reaches the height with a gap in the band and an allowed notch."""
    if bed.flat is not None:
        size = _diameter_on_flat(bed.reach_mm - bed.sealer_mm, bed.flat)
        return size, size
    rise = bed.reach_mm - bed.own.top_mm
    least, most = rise - gap.largest_mm, rise - gap.smallest_mm
    if bed.crossing_top is not None:
        # What stays above the crossing log is the same whatever log lies there, so its share fixes the log.
        stays = bed.reach_mm - bed.crossing_top.top_mm
        least, most = max(least, stays / (1 - limit[0])), min(most, stays / (1 - limit[1]))
    return (least, most) if 0 < least <= most else None


def _diameter_on_flat(rise_mm: float, flat: SillFlat) -> float:
    """The log that rises so high above the deck when it lies on its flat."""
    if flat.depth_mm is not None:
        return rise_mm + flat.depth_mm
    # The rise D/2 + sqrt(D^2/4 - b^2/4), solved for D.
    half = (flat.width_mm or 0.0) / 2
    return rise_mm + half * half / rise_mm if rise_mm > 0 else 0.0


def _reaches(ends: Sequence[EndSheet]) -> bool:
    """Whether the log comes to the heights it is to reach, to what heights are read to."""
    return not _is_blocked(ends) and _worst_mm(ends) <= ON_THE_LINE_MM


def _worst_mm(ends: Sequence[EndSheet]) -> float:
    return max(abs(end.off_mm) for end in ends)


def _is_blocked(ends: Sequence[EndSheet]) -> bool:
    return any(end.is_blocked for end in ends)


def _remedy(
    ends: tuple[EndSheet, ...], turned: tuple[EndSheet, ...] | None, rounds_left: int
) -> tuple[Remedy, tuple[EndSheet, ...]]:
    """What helps, and the ends as the log then lies."""
    if not _is_blocked(ends) and all(abs(end.off_plan_mm) <= ON_THE_LINE_MM for end in ends):
        return Remedy.NONE, ends
    if turned is not None and not _is_blocked(turned) and not _reaches(ends):
        better = _is_blocked(ends) or _worst_mm(turned) < _worst_mm(ends) - ON_THE_LINE_MM
        if better and (_reaches(turned) or _returns(turned, rounds_left)):
            return Remedy.TURN, turned
    if not _is_blocked(ends) and _returns(ends, rounds_left):
        return Remedy.SHARE, ends
    # The log does what its gap can do: it is the rest of the wall that must change.
    return (Remedy.PLAN_AGAIN if _reaches(ends) else Remedy.ANOTHER_LOG), ends


def _returns(ends: Sequence[EndSheet], rounds_left: int) -> bool:
    needed = _rounds_to_share(ends)
    return needed is not None and needed <= rounds_left


def _rounds_to_share(ends: Sequence[EndSheet]) -> int | None:
    """Later rounds that bring what is off back within the band; None: nothing is off, or it never is."""
    most = 0
    for end in ends:
        if abs(end.off_plan_mm) <= ON_THE_LINE_MM:
            continue
        if end.rounds_to_return is None:
            return None
        most = max(most, end.rounds_to_return)
    return most or None
