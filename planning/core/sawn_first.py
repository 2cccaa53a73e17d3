"""Lays sawn pieces that a plan left over where they fit, in place of logs that are not cut yet."""

from __future__ import annotations

from dataclasses import replace

from cabins.set_logs.fitting import SAW_SLACK_MM
from planning.core.check import Report, judge
from planning.core.problem import PlanPiece, ProblemLog, WallPlan, WallProblem
from planning.core.sawing import HAIR_MM
from planning.core.what_if import place_lengths_mm


def lay_sawn_pieces(problem: WallProblem, plan: WallPlan) -> WallPlan:
    """The plan with every sawn piece in use that a place of its length could take from an uncut log.

    Each goes where the plan is best with it, either way round. It is never laid where a rule forbids it, and
    never in the place of another sawn or pinned piece; then it stays left over.
    """
    used = {piece.log for piece in plan.pieces}
    left = [
        log for log in problem.logs if log.is_sawn and log.id not in used and log.id not in problem.excluded
    ]
    for log in sorted(left, key=lambda one: -one.length_mm):
        plan = _laid(problem, plan, log) or plan
    return plan


def _laid(problem: WallProblem, plan: WallPlan, log: ProblemLog) -> WallPlan | None:
    lengths = place_lengths_mm(problem)
    gives = log.length_mm - 2.0 * (problem.params.trim_each_end_mm + HAIR_MM)
    sawn = {one.id for one in problem.logs if one.is_sawn}
    pinned = {piece.place for piece in problem.pinned}
    best: tuple[float, WallPlan] | None = None
    for piece in plan.pieces:
        fits = -HAIR_MM <= gives - lengths[piece.place] <= SAW_SLACK_MM
        is_half = piece.member is None and not _is_whole(problem, piece)
        if not fits or is_half or piece.place in pinned or piece.log in sawn:
            continue
        before = _judged(problem, plan, piece.cabin)
        for butt_at in ("start", "end"):
            here = replace(
                piece,
                log=log.id,
                from_butt_mm=problem.params.trim_each_end_mm + HAIR_MM,
                butt_at="end" if butt_at == "end" else "start",
            )
            changed = replace(plan, pieces=tuple(here if one == piece else one for one in plan.pieces))
            after = _judged(problem, changed, piece.cabin)
            by = after.objective - before.objective
            if _breaks_no_more(before, after) and (best is None or by < best[0]):
                best = (by, changed)
    return None if best is None else best[1]


def _is_whole(problem: WallProblem, piece: PlanPiece) -> bool:
    (cabin,) = (one for one in problem.cabins if one.id == piece.cabin)
    return 1 <= piece.round <= cabin.rounds


def _judged(problem: WallProblem, plan: WallPlan, cabin: str) -> Report:
    """The plan judged in one cabin."""
    part = replace(
        problem,
        cabins=tuple(one for one in problem.cabins if one.id == cabin),
        pinned=tuple(one for one in problem.pinned if one.cabin == cabin),
        keep=tuple(one for one in problem.keep if one.piece.cabin == cabin),
    )
    return judge(part, replace(plan, pieces=tuple(one for one in plan.pieces if one.cabin == cabin)))


def _breaks_no_more(before: Report, after: Report) -> bool:
    broken = ("notch_beyond", "grain_broken")
    return len(after.errors) <= len(before.errors) and all(
        after.metrics[name] <= before.metrics[name] for name in broken
    )
