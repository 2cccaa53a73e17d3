"""What if: swap two logs, turn one, move one, pin one; and what that changes, without a search.

Every function takes a problem and a plan and gives a new plan; `compare` judges both. A wish that cannot be
cut from the logs raises `DoesNotFit`, whose words can be shown to a person.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from inventory.core.crew_units import Sentence
from planning.core.check import SLACK_MM, Report, judge
from planning.core.places import course_places, half_key, part_length_mm
from planning.core.problem import Params, PlanPiece, ProblemLog, WallPlan, WallProblem

Place = tuple[str, str, int, int]
"""(cabin, wall, round, piece); a member's place is (cabin, `member:ID`, 0, 0)."""


class DoesNotFit(ValueError):
    """The piece cannot be cut from that log beside what the log gives already."""


class NoSuchPlace(ValueError):
    """The plan has no log in the place named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a change does: differences are after minus before, so that more is worse."""

    objective: float
    objective_change: float
    term_changes: dict[str, float]
    feasible: bool
    errors: list[str]
    top_changes_mm: dict[tuple[str, str, int, int], float]
    """(cabin, wall, round, column): how much higher the top comes, where it changes at all."""
    notch_changes_mm: dict[tuple[str, str, int, int], float]
    report: Report


def compare(problem: WallProblem, before: WallPlan, after: WallPlan) -> Effect:
    """Judge both plans, only in the cabins where they differ, and give the differences."""
    moved = set(before.pieces) ^ set(after.pieces)
    changed = {piece.cabin for piece in moved}
    logs = {piece.log for piece in moved}
    # A cabin that shares a cut log with a changed one belongs to the question too: its waste is counted once.
    changed |= {piece.cabin for plan in (before, after) for piece in plan.pieces if piece.log in logs}
    part = replace(
        problem,
        cabins=tuple(cabin for cabin in problem.cabins if cabin.id in changed) or problem.cabins[:1],
        pinned=tuple(piece for piece in problem.pinned if piece.cabin in changed),
    )
    kept = {cabin.id for cabin in part.cabins}
    one, two = (
        judge(part, replace(plan, pieces=tuple(p for p in plan.pieces if p.cabin in kept)))
        for plan in (before, after)
    )
    return Effect(
        objective=two.objective,
        objective_change=two.objective - one.objective,
        term_changes={name: two.terms[name] - one.terms[name] for name in two.terms},
        feasible=two.feasible,
        errors=two.errors,
        top_changes_mm=_differences(_tops(one), _tops(two)),
        notch_changes_mm=_differences(_depths(one), _depths(two)),
        report=two,
    )


def swap_logs(problem: WallProblem, plan: WallPlan, *, one: Place, other: Place) -> WallPlan:
    """The logs of two places change places, each cut where the other was if it can be."""
    a, b = piece_in(plan, one), piece_in(plan, other)
    rest = [piece for piece in plan.pieces if piece not in (a, b)]
    lengths = place_lengths_mm(problem)
    first = _cut(problem, replace(a, log=b.log, from_butt_mm=b.from_butt_mm), lengths, rest)
    second = _cut(problem, replace(b, log=a.log, from_butt_mm=a.from_butt_mm), lengths, [*rest, first])
    return _with(plan, {a: first, b: second})


def turn_log(plan: WallPlan, *, place: Place) -> WallPlan:
    """The log of a place lies the other way round, cut at the same spot."""
    piece = piece_in(plan, place)
    return _with(plan, {piece: replace(piece, butt_at="end" if piece.butt_at == "start" else "start")})


def move_log(problem: WallProblem, plan: WallPlan, *, place: Place, log: str) -> WallPlan:
    """Another log, or another part of a log in use, fills the place."""
    piece = piece_in(plan, place)
    rest = [other for other in plan.pieces if other != piece]
    return _with(plan, {piece: _cut(problem, replace(piece, log=log), place_lengths_mm(problem), rest)})


def pin_piece(problem: WallProblem, plan: WallPlan, *, place: Place) -> WallProblem:
    """The problem with the plan's piece of that place held fast for every later search."""
    piece = piece_in(plan, place)
    others = tuple(pinned for pinned in problem.pinned if pinned.place != place)
    return replace(problem, pinned=(*others, piece))


def piece_in(plan: WallPlan, place: Place) -> PlanPiece:
    """The piece that fills a place; raises NoSuchPlace."""
    for piece in plan.pieces:
        if piece.place == place:
            return piece
    raise NoSuchPlace(f"no log lies in {' '.join(map(str, place))}")


def place_lengths_mm(problem: WallProblem) -> dict[Place, float]:
    """Length of every place of the problem."""
    lengths: dict[Place, float] = {}
    for cabin in problem.cabins:
        for wall in cabin.walls:
            for r in range(1, cabin.rounds + 1):
                for i, (a, b) in enumerate(course_places(cabin, wall, r, problem.params)):
                    lengths[cabin.id, wall.id, r, i] = b - a
        for entry in cabin.half_places:
            lengths |= {half_key(cabin, half): part_length_mm(entry) for half in entry.halves}
        for member in cabin.members:
            lengths[cabin.id, f"member:{member.id}", 0, 0] = member.length_mm
    return lengths


def free_stretches_mm(
    params: Params, log: ProblemLog, length_mm: float, cuts_mm: Iterable[tuple[float, float]]
) -> list[tuple[float, float]]:
    """Where a piece of that length may begin in the log, as (least, most) distances from the butt."""
    cuts = sorted(cuts_mm)
    if len(cuts) >= params.max_pieces_per_log:
        return []
    between = 2.0 * params.trim_each_end_mm + params.kerf_mm
    begins = [params.trim_each_end_mm, *(end + between for _, end in cuts)]
    ends = [*(begin - between for begin, _ in cuts), log.length_mm - params.trim_each_end_mm]
    spans = [(begin, end - length_mm) for begin, end in zip(begins, ends, strict=True)]
    return [(least, most) for least, most in spans if most >= least - SLACK_MM]


def _cut(
    problem: WallProblem, piece: PlanPiece, lengths: dict[Place, float], others: list[PlanPiece]
) -> PlanPiece:
    """The piece at the spot of its log nearest to the one it names at which it can be cut."""
    log = next((log for log in problem.logs if log.id == piece.log), None)
    if log is None:
        raise DoesNotFit(f"there is no log {piece.log}")
    cuts = [(p.from_butt_mm, p.from_butt_mm + lengths[p.place]) for p in others if p.log == log.id]
    spots = [
        min(max(piece.from_butt_mm, least), max(least, most))
        for least, most in free_stretches_mm(problem.params, log, lengths[piece.place], cuts)
    ]
    if not spots:
        length = lengths[piece.place]
        raise DoesNotFit(
            Sentence(
                "log {log} has no free {length:along} beside what it gives already", log=log.id, length=length
            )
        )
    return replace(piece, from_butt_mm=min(spots, key=lambda spot: abs(spot - piece.from_butt_mm)))


def _with(plan: WallPlan, changes: dict[PlanPiece, PlanPiece]) -> WallPlan:
    return replace(plan, pieces=tuple(changes.get(piece, piece) for piece in plan.pieces))


def _tops(report: Report) -> dict[tuple[str, str, int, int], float]:
    return {
        (cabin, wall, r, column): top
        for cabin, heights in report.heights.items()
        for (wall, r, column), top in heights.top_mm.items()
    }


def _depths(report: Report) -> dict[tuple[str, str, int, int], float]:
    return {(n.cabin, n.wall, n.round, n.column): n.depth_mm for n in report.notches}


def _differences(
    before: dict[tuple[str, str, int, int], float], after: dict[tuple[str, str, int, int], float]
) -> dict[tuple[str, str, int, int], float]:
    return {key: after[key] - top for key, top in before.items() if abs(after[key] - top) > SLACK_MM}
