"""What one log comes to at one column of its wall: the height to reach, the gap, the notch and the top.

This is the one place where a height to reach and a notch still to be cut are reckoned; whoever shows one
calls it, by way of the wall stack.
"""

import math
from dataclasses import dataclass

from cabins.core.layout_parts import Gap, SillFlat
from cabins.core.next_log import ON_THE_LINE_MM
from cabins.core.notching import DUST_MM, NOTCH_LIMIT, notch_depth_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnSeat:
    """One column of a log. Heights in mm above the deck.

    `reach_mm`: the height to reach. `gap_needed_mm` reaches it; `gap_mm` is the nearest gap that the band and
    the notch's limits allow. It gives `top_mm`, the underside `underside_mm` and the notch `notch_mm` (None
    where nothing crosses below). `is_blocked`: no gap of the band gives an allowed notch.
    """

    reach_mm: float
    own_top_mm: float
    diameter_mm: float
    crossing_top_mm: float | None
    gap_needed_mm: float
    gap_mm: float
    notch_needed_mm: float | None
    notch_mm: float | None
    underside_mm: float
    top_mm: float
    is_within_band: bool
    is_within_limit: bool
    is_blocked: bool

    @property
    def off_mm(self) -> float:
        """How far above the height to reach the log comes to lie."""
        return self.top_mm - self.reach_mm


def height_to_reach_mm(*, planned_mm: float, stands_off_mm: float, gap: Gap) -> float:
    """The plan's own top, and what one round's gap cannot bring back of how far the wall stands off its plan.

    `stands_off_mm`: measured or expected minus planned top of the round below.
    """
    return planned_mm + left_after_rounds_mm(stands_off_mm, gap=gap, rounds=1)


def left_after_rounds_mm(stands_off_mm: float, *, gap: Gap, rounds: int) -> float:
    """What is left of a deviation after so many rounds in which the gap's band brings it back."""
    if stands_off_mm > 0:
        return max(0.0, stands_off_mm - rounds * (gap.target_mm - gap.smallest_mm))
    return min(0.0, stands_off_mm + rounds * (gap.largest_mm - gap.target_mm))


def rounds_to_return(stands_off_mm: float, *, gap: Gap) -> int | None:
    """Rounds until the gap's band has brought a deviation back to the plan; None where it never does."""
    reserve = gap.target_mm - gap.smallest_mm if stands_off_mm > 0 else gap.largest_mm - gap.target_mm
    if abs(stands_off_mm) <= DUST_MM:
        return 0
    return math.ceil(abs(stands_off_mm) / reserve - DUST_MM) if reserve > 0 else None


def is_beyond_band(stands_off_mm: float, *, gap: Gap, rounds_left: int) -> bool:
    """Whether the gaps of the rounds left cannot bring a deviation back to the plan: then logs must move.

    A deviation within what heights are read to is none.
    """
    if abs(stands_off_mm) <= ON_THE_LINE_MM:
        return False
    needed = rounds_to_return(stands_off_mm, gap=gap)
    return needed is None or needed > rounds_left


def seat_log(
    *,
    own_top_mm: float,
    diameter_mm: float,
    reach_mm: float,
    crossing_top_mm: float | None,
    gap: Gap,
    notch_limit: tuple[float, float] = NOTCH_LIMIT,
) -> ColumnSeat:
    """How a log lies above the log below it and over the crossing one, as near to `reach_mm` as may be."""
    needed = reach_mm - own_top_mm - diameter_mm
    least, most = -math.inf, math.inf
    if crossing_top_mm is not None:
        least = crossing_top_mm - own_top_mm - notch_limit[1] * diameter_mm
        most = crossing_top_mm - own_top_mm - notch_limit[0] * diameter_mm
    # The limit last: a gap out of its band is bad chinking, a notch too deep a weak wall.
    chosen = _clamped(_clamped(needed, gap.smallest_mm, gap.largest_mm), least, most)
    # A height that can be reached is reached to the last bit.
    top = reach_mm if chosen == needed else own_top_mm + chosen + diameter_mm
    return ColumnSeat(
        reach_mm=reach_mm,
        own_top_mm=own_top_mm,
        diameter_mm=diameter_mm,
        crossing_top_mm=crossing_top_mm,
        gap_needed_mm=needed,
        gap_mm=chosen,
        notch_needed_mm=_notch(crossing_top_mm, reach_mm - diameter_mm),
        notch_mm=_notch(crossing_top_mm, top - diameter_mm),
        underside_mm=top - diameter_mm,
        top_mm=top,
        is_within_band=_lies_within(needed, gap.smallest_mm, gap.largest_mm),
        is_within_limit=_lies_within(needed, least, most),
        is_blocked=not _lies_within(chosen, gap.smallest_mm, gap.largest_mm),
    )


def seat_on_deck(
    *,
    diameter_mm: float,
    reach_mm: float | None,
    crossing_top_mm: float | None,
    flat: SillFlat,
    sealer_mm: float,
    notch_limit: tuple[float, float] = NOTCH_LIMIT,
) -> ColumnSeat:
    """How a first log lies on the deck on its flat; nothing steers its top but another log.

    `reach_mm`: the plan's top; None without a plan, and then it is what the log comes to. Where half logs
    lie there already (`crossing_top_mm`), it is notched over them.
    """
    top = sealer_mm - flat.depth_in_mm(diameter_mm) + diameter_mm
    # From the top, as every notch is reckoned: no two sheets may differ by the last bit.
    underside = top - diameter_mm
    notch = _notch(crossing_top_mm, underside)
    share = (0.0 if notch is None else notch) / diameter_mm
    is_allowed = notch is None or _lies_within(share, *notch_limit)
    return ColumnSeat(
        reach_mm=top if reach_mm is None else reach_mm,
        own_top_mm=0.0,
        diameter_mm=diameter_mm,
        crossing_top_mm=crossing_top_mm,
        gap_needed_mm=0.0,
        gap_mm=0.0,
        notch_needed_mm=notch,
        notch_mm=notch,
        underside_mm=underside,
        top_mm=top,
        is_within_band=True,
        is_within_limit=is_allowed,
        is_blocked=not is_allowed,
    )


def _notch(crossing_top_mm: float | None, underside_mm: float) -> float | None:
    if crossing_top_mm is None:
        return None
    return notch_depth_mm(crossing_top_mm=crossing_top_mm, underside_mm=underside_mm)


def _clamped(value: float, least: float, most: float) -> float:
    return min(max(value, least), most)


def _lies_within(value: float, least: float, most: float) -> bool:
    return least - DUST_MM <= value <= most + DUST_MM
