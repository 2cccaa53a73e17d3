"""Plans and cuts courses in turn, until the courses fall as the plan's own logs have them.

A plan needs to know its places, and which courses an opening cuts through follows from the plan's heights. So
a plan is made with the courses expected, they are cut anew by its tops, and it is planned again from there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Protocol

from cabins.core.course_bands import ColumnTop, band_at, not_below
from cabins.core.courses import is_cut_between, spans_of
from cabins.core.layout_parts import Span
from cabins.core.openings import CUT_SHARE, Band, Hole, OpeningFit, Threshold, fit_opening, rounds_cut_through
from planning.core.check import Report, diameter_at
from planning.core.heights import Heights
from planning.core.places import columns_mm, course_places
from planning.core.problem import Cabin, Log, Opening, Piece, Plan, Problem, Wall

# Turns of planning at most, and the share of the budget that each takes: the first one most of it.
TURN_SHARES = (0.55, 0.2, 0.1, 0.1, 0.05)

Rounds = tuple[tuple[Span, ...], ...]
Courses = dict[str, Rounds]


class Made(Protocol):
    """What one search brings: a plan, the judge's report on it, and what was spent."""

    @property
    def plan(self) -> Plan: ...
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

    problem: Problem
    plan: Plan
    report: Report
    turns: int
    agree: bool
    moves: int
    seconds: float
    searched: bool


def is_cut_by_heights(problem: Problem) -> bool:
    """Whether a cabin of the problem says how much an opening may take of a log: then courses are cut
    anew."""
    return any(cabin.cut_share is not None and cabin.openings for cabin in problem.cabins)


def take_turns(
    problem: Problem,
    make: Callable[[Problem, Plan | None, int], Made],
    *,
    start: Plan | None = None,
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


def write_courses(problem: Problem) -> dict[str, dict[str, list[list[list[float]]]]]:
    """The courses of the problem's cabins as the problem file has them, by cabin."""
    return {
        cabin.id: {
            wall: [[list(span) for span in spans] for spans in rounds]
            for wall, rounds in cabin.courses_mm.items()
        }
        for cabin in problem.cabins
        if cabin.courses_mm
    }


def cut_by_plan(problem: Problem, plan: Plan, report: Report) -> Problem:
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
                    problem, cabin, report.heights[cabin.id], pieces=_pieces_of(plan, cabin), logs=logs
                ),
            )
            for cabin in problem.cabins
        ),
    )


def _pieces_of(plan: Plan, cabin: Cabin) -> dict[tuple[str, int, int], Piece]:
    return {
        (piece.wall, piece.round, piece.piece): piece
        for piece in plan.pieces
        if piece.cabin == cabin.id and piece.member is None
    }


def cut_courses(
    problem: Problem,
    cabin: Cabin,
    heights: Heights,
    *,
    pieces: Mapping[tuple[str, int, int], Piece],
    logs: Mapping[str, Log],
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
            held = None if is_new else _cut_at(present, opening)
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


def hole_of(opening: Opening) -> Hole:
    """The hole to leave, with its settling space."""
    return Hole(
        near_mm=opening.offset_mm,
        far_mm=opening.offset_mm + opening.width_mm,
        bottom_mm=opening.sill_mm,
        top_mm=opening.head_mm + opening.space_mm,
        threshold=Threshold(opening.threshold),
        flatten_mm=opening.flatten_mm,
    )


def _cut_at(present: list[tuple[Span, ...]], opening: Opening) -> frozenset[int]:
    near, far = opening.offset_mm, opening.offset_mm + opening.width_mm
    return frozenset(
        number for number, spans in enumerate(present, start=1) if is_cut_between(spans, near, far)
    )


def jamb_bands(
    problem: Problem,
    cabin: Cabin,
    wall: Wall,
    heights: Heights,
    opening: Opening,
    *,
    pieces: Mapping[tuple[str, int, int], Piece],
    logs: Mapping[str, Log],
) -> dict[int, tuple[Band, Band]]:
    """Every course of a wall at the two jambs of an opening, by round; 0 for a half log under the wall."""
    positions = sorted((x, n) for n, x in enumerate(columns_mm(cabin, wall)))
    ends = (opening.offset_mm, opening.offset_mm + opening.width_mm)
    found: dict[int, tuple[Band, Band]] = {}
    for r in range(0 if _starts_on_half_log(cabin, wall) else 1, cabin.rounds + 1):
        tops = [
            ColumnTop(
                at_mm=x,
                top_mm=heights.top_mm[wall.id, r, n],
                # What a high wall starts on lies on the deck.
                diameter_mm=heights.diameter_mm[wall.id, r, n] if r else heights.top_mm[wall.id, 0, n],
            )
            for x, n in positions
        ]
        floor = min(heights.top_mm[wall.id, 0, n] for _, n in positions) if r == 1 else None
        near, far = (
            not_below(
                band_at(tops, x, diameter_mm=_diameter(problem, cabin, wall, r, x, pieces, logs)), floor
            )
            for x in ends
        )
        found[r] = (near, far)
    return found


def _starts_on_half_log(cabin: Cabin, wall: Wall) -> bool:
    """Whether a half log lies under the wall: one of the plan, or one that is meant."""
    placed = any(half.wall == wall.id and half.round == 0 for e in cabin.half_places for half in e.halves)
    return wall.start == "high" and (placed or wall.id not in cabin.start_heights_mm)


def _diameter(
    problem: Problem,
    cabin: Cabin,
    wall: Wall,
    r: int,
    at_mm: float,
    pieces: Mapping[tuple[str, int, int], Piece],
    logs: Mapping[str, Log],
) -> float | None:
    """The diameter of what is planned at a position of the wall; None where nothing is."""
    if r == 0:
        return None
    for n, (start, end) in enumerate(course_places(cabin, wall, r, problem.params)):
        piece = pieces.get((wall.id, r, n))
        if piece is None or not start <= at_mm <= end or piece.log not in logs:
            continue
        along = at_mm - start if piece.butt_at == "start" else end - at_mm
        inset = problem.params.station_inset_mm
        return diameter_at(logs[piece.log], piece.from_butt_mm + along, station_inset_mm=inset)
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedOpening:
    """How one opening of a cabin falls in a plan."""

    cabin: str
    wall: str
    number: int
    opening: Opening
    fit: OpeningFit


def planned_openings(problem: Problem, plan: Plan, report: Report) -> list[PlannedOpening]:
    """How every opening of the problem falls among the plan's own tops, its courses cut as the problem has
    it."""
    logs = {log.id: log for log in problem.logs}
    found = []
    for cabin in problem.cabins:
        pieces, heights = _pieces_of(plan, cabin), report.heights[cabin.id]
        walls = {wall.id: wall for wall in cabin.walls}
        for number, opening in enumerate(cabin.openings):
            wall = walls[opening.wall]
            present = [
                tuple(course_places(cabin, wall, r, problem.params)) for r in range(1, cabin.rounds + 1)
            ]
            jambs = jamb_bands(problem, cabin, wall, heights, opening, pieces=pieces, logs=logs)
            share = cabin.cut_share if cabin.cut_share is not None else CUT_SHARE
            half = rounds_cut_through(hole_of(opening), jambs, cut_share=share) & {0}
            fit = fit_opening(
                hole_of(opening), jambs, through=_cut_at(present, opening) | half, cut_share=share
            )
            found.append(
                PlannedOpening(cabin=cabin.id, wall=wall.id, number=number, opening=opening, fit=fit)
            )
    return found


def share_of_budget(
    turn: int, *, moves: int | None, seconds: float | None
) -> tuple[int | None, float | None]:
    """Moves and seconds of one turn of a search with this budget for all turns."""
    part = TURN_SHARES[turn]
    return (
        None if moves is None else max(1, round(moves * part)),
        None if seconds is None else seconds * part,
    )
