"""Notches: how deep each log is cut over the one it crosses, and how that stands against what is allowed."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from cabins.core.layout_parts import Layout
from cabins.core.places import Spot, column_at, columns_of, crossings_of

NOTCH_GOOD = (0.3, 0.6)
NOTCH_LIMIT = (0.2, 0.7)
# A share that is off by less than this is on the line: float dust is no fault of the crew.
DUST_MM = 1e-6


class NotchState(StrEnum):
    """How a notch's share of its log stands: good, off what is good, or beyond what is allowed."""

    GOOD = "good"
    OFF = "off"
    BEYOND = "beyond"


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """The notch of one log over the crossing one, cut in its underside. `share` of the log's diameter."""

    crossing: str
    wall: str
    round: int
    column: int
    at_mm: float
    over_wall: str
    over_round: int
    diameter_mm: float
    depth_mm: float
    share: float
    state: NotchState


def notch_depth_mm(*, crossing_top_mm: float, underside_mm: float) -> float:
    """Depth to cut into the underside of a log so that it comes to lie with its underside at `underside_mm`.

    Heights in mm above the deck at the corner's centre. Negative: the crossing log is too low to notch over.
    """
    return crossing_top_mm - underside_mm


def notch_state(
    *,
    depth_mm: float,
    diameter_mm: float,
    notch_good: tuple[float, float] = NOTCH_GOOD,
    notch_limit: tuple[float, float] = NOTCH_LIMIT,
) -> NotchState:
    """How a notch in a log of `diameter_mm` stands against the shares that are good or allowed."""

    def lies_within(band: tuple[float, float]) -> bool:
        return band[0] * diameter_mm - DUST_MM <= depth_mm <= band[1] * diameter_mm + DUST_MM

    if lies_within(notch_good):
        return NotchState.GOOD
    return NotchState.OFF if lies_within(notch_limit) else NotchState.BEYOND


def notches_of(
    layout: Layout,
    *,
    heights_mm: Mapping[Spot, float],
    diameters_mm: Mapping[Spot, float],
    notch_good: tuple[float, float] = NOTCH_GOOD,
    notch_limit: tuple[float, float] = NOTCH_LIMIT,
) -> tuple[Notch, ...]:
    """Every notch of the wall, round by round: high over low of the same round, low over high of the last.

    The first low logs lie on the deck; they have a notch only where half logs lie across under them.
    """
    columns = columns_of(layout)
    notches = []
    for number in range(1, layout.round_count + 1):
        for crossing in crossings_of(layout):
            low = (crossing.low_wall, column_at(columns[crossing.low_wall], crossing.id))
            high = (crossing.high_wall, column_at(columns[crossing.high_wall], crossing.id))
            pairs = [(high, low, number)]
            if number > 1 or layout.half_logs:
                pairs.append((low, high, number - 1))
            for (wall, column), (over, over_column), over_round in pairs:
                diameter = diameters_mm[wall, number, column]
                depth = notch_depth_mm(
                    crossing_top_mm=heights_mm[over, over_round, over_column],
                    underside_mm=heights_mm[wall, number, column] - diameter,
                )
                notches.append(
                    Notch(
                        crossing=crossing.id,
                        wall=wall,
                        round=number,
                        column=column,
                        at_mm=columns[wall][column].at_mm,
                        over_wall=over,
                        over_round=over_round,
                        diameter_mm=diameter,
                        depth_mm=depth,
                        share=depth / diameter,
                        state=notch_state(
                            depth_mm=depth,
                            diameter_mm=diameter,
                            notch_good=notch_good,
                            notch_limit=notch_limit,
                        ),
                    )
                )
    return tuple(notches)
