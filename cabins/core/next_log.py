"""The setting sheet's steering part for one log, as values: what each end needs, and what helps."""

from dataclasses import dataclass
from enum import StrEnum

from inventory.core.basis import Basis

# An end is on the level line when it lies within this of it: what heights are read to.
ON_THE_LINE_MM = 3.0


class Remedy(StrEnum):
    """What helps where the log does not reach its height as it lies."""

    NONE = "none"
    TURN = "turn"
    SHARE = "share"
    ANOTHER_LOG = "another_log"
    PLAN_AGAIN = "plan_again"


@dataclass(frozen=True, slots=True, kw_only=True)
class EndSheet:
    """One column of the next log. Heights in mm above the deck.

    `reach_mm` is the height to reach: the plan's own top `planned_mm`, and what one round cannot bring back
    of `stands_off_mm`, by which the wall below stands off its plan. Both are None without a plan; then the
    level line is to be reached. `gap_needed_mm` and `notch_needed_mm` would reach it; `is_within_band` and
    `is_within_limit` say whether they may. `gap_mm` and `notch_mm` are the nearest that may, and give
    `top_mm`, which lies `off_mm` above the height to reach and `off_plan_mm` above the plan's top (the level
    line); the gaps of `rounds_to_return` later rounds bring that back, None where they never do. Notches are
    None where nothing crosses below. `is_blocked`: no gap of the band gives an allowed notch.
    `diameter_from_mm`, `diameter_to_mm`: what another log must measure here; None where no log would do.
    `error_mm`: expected error (one standard deviation) of `top_mm`.
    """

    column: int
    at_mm: float
    crossing: str
    planned_mm: float | None
    stands_off_mm: float | None
    reach_mm: float
    own_top_mm: float
    crossing_top_mm: float | None
    diameter_mm: float
    gap_needed_mm: float
    notch_needed_mm: float | None
    is_within_band: bool
    is_within_limit: bool
    is_blocked: bool
    gap_mm: float
    notch_mm: float | None
    notch_share: float | None
    top_mm: float
    off_mm: float
    off_plan_mm: float
    rounds_to_return: int | None
    diameter_from_mm: float | None
    diameter_to_mm: float | None
    error_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NextLog:
    """How the next log reaches its height, as it lies and, where that was asked, turned end for end.

    `rounds_to_share`: over how many later rounds what is off can be made good within the gap's band; None
    where nothing is off or it cannot be shared. `cautions` are for whoever cuts.
    """

    wall: str
    round: int
    ends: tuple[EndSheet, ...]
    turned: tuple[EndSheet, ...] | None
    remedy: Remedy
    rounds_to_share: int | None
    advice: tuple[str, ...]
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]
