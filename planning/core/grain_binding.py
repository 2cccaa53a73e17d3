"""Rules of spiral grain that bind: which logs may not lie where.

The rules' words and sources stand in cabins/core/grain.py. This is the judge's reading of them; the search
has its own in search/parts.py.
"""

from __future__ import annotations

import math

from planning.core.places import columns_mm, nominal_span_mm
from planning.core.problem import GrainBinds, Params, ProblemCabin, ProblemLog, ProblemWall


def grain_band(log: ProblemLog, binds: GrainBinds) -> str:
    """`straight`, `moderate` or `severe`; a spiral of unknown slope is severe."""
    if log.grain == "straight":
        return "straight"
    if log.twist is None:
        return "severe"
    run = 1.0 / log.twist if log.twist > 0.0 else math.inf
    if run > binds.straight_run:
        return "straight"
    return "severe" if run <= binds.moderate_run else "moderate"


def breaks_grain_rule(
    params: Params,
    cabin: ProblemCabin,
    wall: ProblemWall,
    round_no: int,
    span_mm: tuple[float, float],
    log: ProblemLog,
) -> bool:
    """Whether a binding rule keeps the log out of the place (round 0: a half log) from and to `span_mm`."""
    binds = params.grain_binds
    if binds is None or (band := grain_band(log, binds)) == "straight":
        return False
    left, rounds = log.grain == "left", cabin.rounds
    broken = {
        "twist_low": round_no > math.ceil(rounds / 2),
        "twist_two_full_notches": sum(span_mm[0] <= x <= span_mm[1] for x in columns_mm(cabin, wall)) < 2,
        "twist_opening_cut": _cut_share(cabin, wall, round_no, span_mm) > 2 / 3,
        "left_severe_half_log_only": left and band == "severe" and round_no > 1,
        "left_moderate_lowest_third": left and band == "moderate" and round_no > math.ceil(rounds / 3),
        "top_round_straight": round_no == rounds,
    }
    return any(broken[rule] for rule in binds.rules)


def _cut_share(cabin: ProblemCabin, wall: ProblemWall, round_no: int, span_mm: tuple[float, float]) -> float:
    """The largest nominal share of the log that an opening takes; places said outright have none."""
    if wall.id in cabin.courses_mm or round_no == 0:
        return 0.0
    bottom, top = nominal_span_mm(cabin, wall, round_no)
    shares = [
        (min(top, o.head_mm) - max(bottom, o.sill_mm)) / (top - bottom)
        for o in cabin.openings
        if o.wall == wall.id and o.offset_mm < span_mm[1] and o.offset_mm + o.width_mm > span_mm[0]
    ]
    return max([0.0, *shares])
