"""Why a log lies where it lies: the terms its placement costs, and the best other log and its price."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace

from planning.core.check import Report, judge
from planning.core.problem import PlanPiece, ProblemCabin, WallPlan, WallProblem
from planning.core.what_if import (
    DoesNotFit,
    Effect,
    Place,
    compare,
    free_stretches_mm,
    move_log,
    piece_in,
    place_lengths_mm,
    swap_logs,
    turn_log,
)

NEAREST_LOGS = 12
"""Logs nearest in middle that are tried in earnest, free ones and ones placed elsewhere each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """What one placement costs by term, in points of the objective; terms that cost nothing are left out.

    Crown, knots, grain, waste and cull are the piece's own. Level, corner and notch are those of its wall's
    round at the crossings it carries; the round's level is shared by the pieces that carry its two ends.
    """

    place: Place
    log: str
    terms: dict[str, float]
    out_of_level_mm: float
    worst_notch_share: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """Another log for a place: free, or swapped with the place it lies in; what the plan would then cost."""

    place: Place
    log: str
    swapped_with: Place | None
    turned: bool
    plan: WallPlan
    effect: Effect


def explain(problem: WallProblem, plan: WallPlan) -> list[Reason]:
    """A reason for every piece of the plan, in its order."""
    return _reasons(problem, plan, list(plan.pieces))


def reason_of(problem: WallProblem, plan: WallPlan, *, place: Place) -> Reason:
    """The reason for the piece in one place; raises NoSuchPlace."""
    return _reasons(problem, plan, [piece_in(plan, place)])[0]


def _reasons(problem: WallProblem, plan: WallPlan, asked: list[PlanPiece]) -> list[Reason]:
    report = judge(problem, plan)
    pieces_of: dict[str, list[PlanPiece]] = defaultdict(list)
    for piece in plan.pieces:
        pieces_of[piece.log].append(piece)
    lengths = place_lengths_mm(problem)
    cabins = {cabin.id: cabin for cabin in problem.cabins}
    return [_reason(problem, cabins[p.cabin], report, p, pieces_of[p.log], lengths) for p in asked]


def _reason(
    problem: WallProblem,
    cabin: ProblemCabin,
    report: Report,
    piece: PlanPiece,
    same_log: list[PlanPiece],
    lengths: dict[Place, float],
) -> Reason:
    weights = problem.params.weights
    log = next(log for log in problem.logs if log.id == piece.log)
    total = sum(lengths[p.place] for p in same_log)
    share = lengths[piece.place] / total
    terms = {
        "waste": weights.waste * (log.length_mm - total) * share,
        "culled": weights.culled * float(log.culled) * share,
    }
    terms |= _own_terms(problem, cabin, piece)
    columns, out, worst = set(), 0.0, None
    if piece.member is None:
        tops = report.heights[cabin.id].top_mm
        columns = {n for n in (0, 1) if _carries(problem, cabin, piece, n)}
        out = abs(tops[piece.wall, piece.round, 0] - tops[piece.wall, piece.round, 1])
        last = piece.round == cabin.rounds
        weight = weights.level_plate if last else weights.level * piece.round / cabin.rounds
        terms["level"] = weight * out * len(columns) / 2.0
        mine = [
            notch
            for notch in report.notches
            if (notch.cabin, notch.wall, notch.round) == (cabin.id, piece.wall, piece.round)
            and (notch.column in columns or notch.column > 1)
        ]
        good = problem.params.notch_good
        off = [max(0.0, good[0] - notch.share, notch.share - good[1]) * notch.diameter_mm for notch in mine]
        terms["notch"] = weights.notch * sum(off)
        middle = sum(good) / 2.0
        worst = max((notch.share for notch in mine), key=lambda s: abs(s - middle), default=None)
    return Reason(
        place=piece.place,
        log=piece.log,
        terms={name: cost for name, cost in terms.items() if cost > 0.0},
        out_of_level_mm=out,
        worst_notch_share=worst,
    )


def _carries(problem: WallProblem, cabin: ProblemCabin, piece: PlanPiece, end: int) -> bool:
    """Whether the piece is the one over the wall's start (0) or end (1) corner."""
    if end == 0:
        return piece.piece == 0
    last = max(
        key[3] for key in place_lengths_mm(replace(problem, cabins=(cabin,))) if key[1:3] == piece.place[1:3]
    )
    return piece.piece == last


def _own_terms(problem: WallProblem, cabin: ProblemCabin, piece: PlanPiece) -> dict[str, float]:
    """Crown, knots and grain of one piece: what the judge charges for it when it lies in the cabin alone."""
    alone = replace(problem, cabins=(cabin,), pinned=(), excluded=frozenset())
    report = judge(alone, WallPlan(problem=problem.name, pieces=(piece,)))
    return {name: report.terms[name] for name in ("crown", "knot", "grain")}


def best_alternative(problem: WallProblem, plan: WallPlan, *, place: Place) -> Alternative | None:
    """The other log that would cost least in this place: a free one, or one swapped with where it lies.

    Both ways round are tried for each; None when no other log can give the place without a fault.
    """
    here = piece_in(plan, place)
    best: Alternative | None = None
    for log, swapped in _wishes(problem, plan, here):
        try:
            if swapped is None:
                straight = move_log(problem, plan, place=place, log=log)
            else:
                straight = swap_logs(problem, plan, one=place, other=swapped)
        except DoesNotFit:
            continue
        for turned in (False, True):
            changed = turn_log(straight, place=place) if turned else straight
            effect = compare(problem, plan, changed)
            if effect.errors or (
                best is not None and effect.objective_change >= best.effect.objective_change
            ):
                continue
            best = Alternative(
                place=place, log=log, swapped_with=swapped, turned=turned, plan=changed, effect=effect
            )
    return best


def _wishes(problem: WallProblem, plan: WallPlan, here: PlanPiece) -> list[tuple[str, Place | None]]:
    """The logs worth trying, nearest in middle first: free ones, and placed ones with their places."""
    logs = {log.id: log for log in problem.logs}
    lengths = place_lengths_mm(problem)
    want = logs[here.log].middle_mm
    pinned = {piece.place for piece in problem.pinned}
    cuts: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for piece in plan.pieces:
        cuts[piece.log].append((piece.from_butt_mm, piece.from_butt_mm + lengths[piece.place]))

    def distance(log_id: str) -> float:
        return abs(logs[log_id].middle_mm - want)

    length = lengths[here.place]
    free = [
        log.id
        for log in problem.logs
        if log.id != here.log
        and log.id not in problem.excluded
        and free_stretches_mm(problem.params, log, length, cuts[log.id])
    ]
    placed = [
        piece
        for piece in plan.pieces
        if piece.log != here.log and piece.place not in pinned and logs[piece.log].length_mm >= length
    ]
    wishes: list[tuple[str, Place | None]] = [
        (log_id, None) for log_id in sorted(free, key=distance)[:NEAREST_LOGS]
    ]
    near = sorted(placed, key=lambda piece: distance(piece.log))[:NEAREST_LOGS]
    return wishes + [(other.log, other.place) for other in near]
