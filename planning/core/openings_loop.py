"""Plans and cuts courses in turn, until the courses fall as the plan's own logs have them.

A plan needs to know its places, and which courses an opening cuts through follows from the plan's heights. So
a plan is made with the courses expected, they are cut anew by its tops, and it is planned again from there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Protocol

from cabins.core.courses import spans_of
from cabins.core.layout_parts import Span
from cabins.core.openings import rounds_cut_through
from planning.core.check import Report
from planning.core.heights import Heights
from planning.core.places import course_places
from planning.core.planned_openings import cut_at, hole_of, jamb_bands, pieces_of
from planning.core.problem import PlanPiece, ProblemCabin, ProblemLog, WallPlan, WallProblem

# Turns of planning at most, and the share of the budget that each takes: the first one most of it.
TURN_SHARES = (0.55, 0.2, 0.1, 0.1, 0.05)

Rounds = tuple[tuple[Span, ...], ...]
Courses = dict[str, Rounds]


class Made(Protocol):
    """What one search brings: a plan, the judge's report on it, and what was spent."""

    @property
    def plan(self) -> WallPlan: ...
    @property
    def report(self) -> Report: ...
    @property
    def moves(self) -> int: ...
    @property
    def seconds(self) -> float: ...
    @property
    def searched(self) -> bool: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Turns:
    """A plan, and the problem with its courses as they were cut for it.

    `turns`: how often it was planned; `agree`: whether the courses are cut as the plan's own heights have
    them.
    """

    problem: WallProblem
    plan: WallPlan
    report: Report
    turns: int
    agree: bool
    moves: int
    seconds: float
    searched: bool


def is_cut_by_heights(problem: WallProblem) -> bool:
    """Whether a cabin of the problem says how much an opening may take of a log: then courses are cut
    anew."""
    return any(cabin.cut_share is not None and cabin.openings for cabin in problem.cabins)


def take_turns(
    problem: WallProblem,
    make: Callable[[WallProblem, WallPlan | None, int], Made],
    *,
    start: WallPlan | None = None,
    stop: Callable[[], bool] | None = None,
) -> Turns:
    """Plan, cut the courses by the plan's own tops and plan again from there, until both agree.

    `make(problem, start, turn)` makes one plan; turns count from 0. Courses with a pinned piece stay. Ends
    after len(TURN_SHARES) turns, or when told to `stop`.
    """
    most = len(TURN_SHARES) if is_cut_by_heights(problem) else 1
    moves, seconds = 0, 0.0
    for turn in range(most):
        made = make(problem, start, turn)
        moves, seconds = moves + made.moves, seconds + made.seconds
        cut = cut_by_plan(problem, made.plan, made.report)
        agree = cut == problem
        if agree or turn == most - 1 or (stop is not None and stop()):
            break
        problem, start = cut, made.plan
    return Turns(
        problem=problem,
        plan=made.plan,
        report=made.report,
        turns=turn + 1,
        agree=agree,
        moves=moves,
        seconds=seconds,
        searched=made.searched,
    )


def write_courses(problem: WallProblem) -> dict[str, dict[str, list[list[list[float]]]]]:
    """The courses of the problem's cabins as the problem file has them, by cabin."""
    return {
        cabin.id: {
            wall: [[list(span) for span in spans] for spans in rounds]
            for wall, rounds in cabin.courses_mm.items()
        }
        for cabin in problem.cabins
        if cabin.courses_mm
    }


def cut_by_plan(problem: WallProblem, plan: WallPlan, report: Report) -> WallProblem:
    """The problem with its courses as the plan's own tops have them cut; the same problem where they
    agree."""
    logs = {log.id: log for log in problem.logs}
    return replace(
        problem,
        cabins=tuple(
            cabin
            if cabin.cut_share is None
            else replace(
                cabin,
                courses_mm=cut_courses(
                    problem, cabin, report.heights[cabin.id], pieces=pieces_of(plan, cabin), logs=logs
                ),
            )
            for cabin in problem.cabins
        ),
    )


def cut_courses(
    problem: WallProblem,
    cabin: ProblemCabin,
    heights: Heights,
    *,
    pieces: Mapping[tuple[str, int, int], PlanPiece],
    logs: Mapping[str, ProblemLog],
    is_new: bool = False,
) -> Courses:
    """The courses of a cabin cut among these heights; `is_new`: not held to how they are cut so far."""
    pinned = {(piece.wall, piece.round) for piece in problem.pinned if piece.cabin == cabin.id}
    courses: Courses = {}
    for wall in cabin.walls:
        present = [tuple(course_places(cabin, wall, r, problem.params)) for r in range(1, cabin.rounds + 1)]
        cuts: list[list[Span]] = [[] for _ in present]
        whole = (-wall.overhangs_mm[0], wall.length_mm + wall.overhangs_mm[1])
        for opening in cabin.openings:
            if opening.wall != wall.id:
                continue
            jambs = jamb_bands(problem, cabin, wall, heights, opening, pieces=pieces, logs=logs)
            held = None if is_new else cut_at(present, opening)
            through = rounds_cut_through(
                hole_of(opening), jambs, cut_share=cabin.cut_share or 0.0, present=held
            )
            for number in through - {0}:
                cuts[number - 1].append((opening.offset_mm, opening.offset_mm + opening.width_mm))
        courses[wall.id] = tuple(
            present[r - 1] if (wall.id, r) in pinned else spans_of([whole], cuts[r - 1])
            for r in range(1, cabin.rounds + 1)
        )
    return courses


def share_of_budget(
    turn: int, *, moves: int | None, seconds: float | None
) -> tuple[int | None, float | None]:
    """Moves and seconds of one turn of a search with this budget for all turns."""
    part = TURN_SHARES[turn]
    return (
        None if moves is None else max(1, round(moves * part)),
        None if seconds is None else seconds * part,
    )
