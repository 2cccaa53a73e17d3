"""The search's reading of the parts a problem may leave out: starts, flats, rules of grain, keep, long logs.

Nothing here is shared with the judge.
"""

from __future__ import annotations

import math

import numpy as np

from planning.core.problem import (
    SPARE_TIMES,
    GrainBinds,
    ProblemCabin,
    ProblemLog,
    ProblemOpening,
    ProblemWall,
    Rows,
    WallProblem,
)
from planning.core.search.arrays import Floats, Ints

SLACK = 1e-6
Spans = list[tuple[float, float]]


def rows_at(cabin: ProblemCabin, rows: dict[str, Rows], wall: ProblemWall, column: int) -> dict[int, float]:
    """The heights of one column that were said, by round."""
    found: dict[int, float] = {}
    for r, row in enumerate(rows.get(wall.id, ())[: cabin.as_built.round], start=1):
        top = row[column] if column < len(row) else None
        if top is not None:
            found[r] = top
    return found


def base_of(cabin: ProblemCabin, wall: ProblemWall, column: int, at_mm: float) -> tuple[int, float, float]:
    """base, start and kerf of a column before half logs are laid."""
    said = cabin.start_heights_mm.get(wall.id)
    if said is None:
        return (int(wall.start == "high"), 0.0, 0.0)
    if column < len(said):
        return (2, said[column], 0.0)
    share = at_mm / wall.length_mm
    return (2, (1.0 - share) * said[0] + share * said[1], 0.0)


def flat_of(cabin: ProblemCabin, wall: ProblemWall) -> tuple[int, float]:
    """flat and flat_mm of a wall's columns."""
    flat = cabin.sill_flat
    if flat is None or wall.start == "high":
        return (0, 0.0)
    if flat.depth_mm is not None:
        return (1, flat.depth_mm)
    return (2, flat.width_mm or 0.0)


def below_and_above(courses: list[Spans], opening: ProblemOpening) -> tuple[int, int]:
    """The rounds below and above an opening's hole; 0 where there is none, or no hole."""
    middle = opening.offset_mm + 0.5 * opening.width_mm
    holes = [
        r
        for r, spans in enumerate(courses, start=1)
        if all(middle < a or middle > b for a, b in spans)
    ]  # fmt: skip
    if not holes:
        return (0, 0)
    return (holes[0] - 1, holes[-1] + 1 if holes[-1] < len(courses) else 0)


def spiral_of(log: ProblemLog, binds: GrainBinds | None) -> int:
    """0 straight, 1 moderate right, 2 severe right, 3 moderate left, 4 severe left."""
    if binds is None or log.grain == "straight":
        return 0
    severe = log.twist is None
    if log.twist is not None:
        if log.twist <= 0.0 or 1.0 / log.twist > binds.straight_run:
            return 0
        severe = 1.0 / log.twist <= binds.moderate_run
    return (3 if log.grain == "left" else 1) + int(severe)


def forbidden_spirals(
    problem: WallProblem,
    cabin: ProblemCabin,
    wall: ProblemWall,
    r: int,
    span: tuple[float, float],
    columns: list[float],
) -> int:
    """Bits of the spirals that a binding rule keeps out of a place."""
    binds = problem.params.grain_binds
    if binds is None:
        return 0
    any_spiral, left_moderate, left_severe = 0b11110, 0b01000, 0b10000
    bits = 0
    held = sum(1 for x in columns if span[0] <= x <= span[1])
    if "twist_low" in binds.rules and 2 * r > cabin.rounds + cabin.rounds % 2:
        bits |= any_spiral
    if "twist_two_full_notches" in binds.rules and held < 2:
        bits |= any_spiral
    if "twist_opening_cut" in binds.rules and _cut_deep(cabin, wall, r, span):
        bits |= any_spiral
    if "left_severe_half_log_only" in binds.rules and r > 1:
        bits |= left_severe
    if "left_moderate_lowest_third" in binds.rules and r > math.ceil(cabin.rounds / 3):
        bits |= left_moderate
    if "top_round_straight" in binds.rules and r == cabin.rounds:
        bits |= any_spiral
    return bits


def _cut_deep(cabin: ProblemCabin, wall: ProblemWall, r: int, span: tuple[float, float]) -> bool:
    if wall.id in cabin.courses_mm or r == 0:
        return False
    low = cabin.pitch_mm * (r - 1) + (0.5 * cabin.pitch_mm if wall.start == "high" else 0.0)
    high = low + cabin.pitch_mm
    return any(
        o.wall == wall.id
        and o.offset_mm < span[1]
        and o.offset_mm + o.width_mm > span[0]
        and (min(high, o.head_mm) - max(low, o.sill_mm)) / (high - low) > 2 / 3
        for o in cabin.openings
    )


def pack_keep(problem: WallProblem, keys: list[tuple[str, str, int, int]]) -> dict[str, Ints | Floats]:
    """keep_log, keep_lo, keep_flip and keep of every place."""
    number = {log.id: n for n, log in enumerate(problem.logs) if log.id not in problem.excluded}
    place = {key: p for p, key in enumerate(keys)}
    log, lo = np.full(len(keys), -1, np.int64), np.zeros(len(keys))
    flip, price = np.zeros(len(keys), np.int64), np.zeros(len(keys))
    for kept in problem.keep:
        p, n = place.get(kept.piece.place), number.get(kept.piece.log)
        if p is None or n is None:
            continue
        log[p], lo[p], flip[p] = n, kept.piece.from_butt_mm, int(kept.piece.butt_at == "end")
        soon = 1.0 + 3.0 / (1.0 + kept.due_rounds)
        price[p] = problem.params.weights.keep * soon * (3.0 if kept.prepared else 1.0)
    return {"keep_log": log, "keep_lo": lo, "keep_flip": flip, "keep": price}


def pack_long(problem: WallProblem, lengths: list[float]) -> dict[str, Floats]:
    """`could` and `need` of every log, from the lengths of all places."""
    trims = 2.0 * problem.params.trim_each_end_mm
    usable = np.array([log.length_mm - trims for log in problem.logs])
    free = np.array([log.id not in problem.excluded for log in problem.logs], bool)
    places = np.array(sorted(lengths))
    could, need = np.zeros(len(usable)), np.zeros(len(usable))
    for n, length in enumerate(usable):
        fits = places[places <= length + SLACK]
        if not len(fits):
            continue
        could[n] = fits[-1]
        wanted = int(np.count_nonzero(places >= could[n] - SLACK))
        spare = sum(spare.count for spare in problem.spare if spare.length_mm >= could[n] - SLACK)
        giving = int(np.count_nonzero(free & (usable >= could[n] - SLACK)))
        price = problem.params.weights.long * (SPARE_TIMES if spare else 1.0)
        need[n] = price * min(1.0, (wanted + spare) / max(1, giving)) / 1000.0
    return {"could": could, "need": need}
