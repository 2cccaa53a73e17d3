"""What a crew would do without the search: *paper* and *careful builder*, to hold the search against.

Paper takes the biggest middle first, alternates butts and never looks at a level. The careful builder works
round by round: from the thickest free logs he takes, for the round before him, the best logs and ways round
given the heights so far, and does not think of the rounds above.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

from planning.core.check import judge
from planning.core.places import course_places
from planning.core.problem import PlanPiece, ProblemCabin, ProblemLog, WallPlan, WallProblem
from planning.core.search import make_plan

MOVES_PER_PLACE = 30_000
"""On a round's four to ten places, annealing this long finds the round's optimum in nearly every run."""
SPARE_LOGS = (3, 6, 12)
"""Beside one log for each place of the round, so many more lie ready; the best of the three plans counts."""


def paper_plan(problem: WallProblem) -> WallPlan:
    """Biggest middle first, alternate butts, the first log that fits; offcuts serve again."""
    params = problem.params
    stack = sorted(
        (log for log in problem.logs if log.id not in problem.excluded), key=lambda log: -log.middle_mm
    )
    next_mm = {log.id: params.trim_each_end_mm for log in stack}
    given: dict[str, int] = defaultdict(int)
    pieces: list[PlanPiece] = []
    most_rounds = max(cabin.rounds for cabin in problem.cabins)
    for r in range(1, most_rounds + 1):
        for cabin in problem.cabins:
            for n, wall in enumerate(cabin.walls if r <= cabin.rounds else ()):
                for i, (a, b) in enumerate(course_places(cabin, wall, r, params)):
                    for log in stack:
                        fits = next_mm[log.id] + b - a <= log.length_mm - params.trim_each_end_mm
                        if fits and given[log.id] < params.max_pieces_per_log:
                            break
                    else:
                        continue
                    pieces.append(
                        PlanPiece(
                            cabin=cabin.id,
                            wall=wall.id,
                            round=r,
                            piece=i,
                            log=log.id,
                            from_butt_mm=next_mm[log.id],
                            butt_at="start" if (r + n) % 2 else "end",
                        )
                    )
                    next_mm[log.id] += b - a + 2.0 * params.trim_each_end_mm + params.kerf_mm
                    given[log.id] += 1
    return WallPlan(problem=problem.name, pieces=tuple(pieces))


def careful_plan(problem: WallProblem, *, seed: int = 0, moves_per_place: int = MOVES_PER_PLACE) -> WallPlan:
    """Round by round, each cabin in turn, the best of the thickest free logs for the round at hand."""
    plans = [_careful(problem, spare, seed, moves_per_place) for spare in SPARE_LOGS]
    return min(plans, key=lambda plan: judge(problem, plan).objective)


def _careful(problem: WallProblem, spare: int, seed: int, moves_per_place: int) -> WallPlan:
    laid: dict[str, tuple[PlanPiece, ...]] = {cabin.id: () for cabin in problem.cabins}
    for r in range(1, max(cabin.rounds for cabin in problem.cabins) + 1):
        for cabin in problem.cabins:
            if r <= cabin.rounds:
                taken = {piece.log for other, pieces in laid.items() if other != cabin.id for piece in pieces}
                rounds = _up_to_round(problem, cabin, r, laid[cabin.id], taken, spare)
                places = sum(len(course_places(cabin, wall, r, problem.params)) for wall in cabin.walls)
                found = make_plan(rounds, moves=places * moves_per_place, seed=seed)
                laid[cabin.id] = found.plan.pieces
    return WallPlan(problem=problem.name, pieces=tuple(piece for pieces in laid.values() for piece in pieces))


def _up_to_round(
    problem: WallProblem,
    cabin: ProblemCabin,
    round_no: int,
    laid: tuple[PlanPiece, ...],
    taken: set[str],
    spare: int,
) -> WallProblem:
    """The problem as the builder sees it at this round: what is below lies fast, above there is nothing."""
    params, last = problem.params, round_no == cabin.rounds
    weights = replace(
        params.weights,
        level_plate=params.weights.level_plate if last else params.weights.level * round_no / cabin.rounds,
        plate_spread=params.weights.plate_spread if last else 0.0,
    )
    outer = last or round_no == 1
    crown = params.crown_limit_sill_plate_mm if outer else params.crown_limit_other_mm
    lengths = [b - a for wall in cabin.walls for a, b in course_places(cabin, wall, round_no, params)]
    mine = {piece.log for piece in laid}
    free = [log for log in problem.logs if log.id not in taken | mine | problem.excluded]
    full = [wall.length_mm + sum(wall.overhangs_mm) for other in problem.cabins for wall in other.walls]
    ready = _lie_ready(free, lengths, full, 2.0 * params.trim_each_end_mm, spare)
    return replace(
        problem,
        params=replace(params, weights=weights, crown_limit_sill_plate_mm=crown),
        cabins=(replace(cabin, rounds=round_no, members=()),),
        logs=tuple(log for log in problem.logs if log.id in mine | ready),
        pinned=laid,
        excluded=frozenset(),
    )


def _lie_ready(
    free: list[ProblemLog], lengths_mm: list[float], full_mm: list[float], trims_mm: float, spare: int
) -> set[str]:
    """The thickest free logs for each length needed; logs long enough for a longer wall come last."""
    ready: set[str] = set()
    for length in set(lengths_mm):
        fitting = sorted(
            (log for log in free if log.length_mm - trims_mm >= length), key=lambda log: -log.middle_mm
        )
        longer = min((full for full in full_mm if full > length), default=float("inf"))
        snug = [log for log in fitting if log.length_mm - trims_mm < longer]
        wanted = lengths_mm.count(length) + spare
        ready |= {log.id for log in [*snug, *(log for log in fitting if log not in snug)][:wanted]}
    return ready
