"""Places of a cabin's courses and half logs, and columns where walls cross: see docs/model/wall.md."""

from __future__ import annotations

from collections import defaultdict

from planning.core.problem import Half, HalfPlace, Params, ProblemCabin, ProblemOpening, ProblemWall

Column = tuple[str, int]
"""(wall, n): n = 0 the wall's start corner, 1 its end corner, 2 and on the tees along it."""


def nominal_span_mm(cabin: ProblemCabin, wall: ProblemWall, round_no: int) -> tuple[float, float]:
    """Bottom and top of a course by the pitch, in mm above the deck."""
    bottom = cabin.pitch_mm * (round_no - 1) + (cabin.pitch_mm / 2.0 if wall.start == "high" else 0.0)
    return bottom, bottom + cabin.pitch_mm


def course_places(
    cabin: ProblemCabin, wall: ProblemWall, round_no: int, params: Params
) -> list[tuple[float, float]]:
    """The places (from, to) of one course, in mm along the wall; an opening that splits it leaves a hole."""
    if wall.id in cabin.courses_mm:
        return list(cabin.courses_mm[wall.id][round_no - 1])
    bottom, top = nominal_span_mm(cabin, wall, round_no)
    edges = [-wall.overhangs_mm[0]]
    for opening in sorted((o for o in cabin.openings if o.wall == wall.id), key=lambda o: o.offset_mm):
        overlap = min(top, opening.head_mm) - max(bottom, opening.sill_mm)
        if overlap > params.split_overlap * cabin.pitch_mm:
            edges += [opening.offset_mm, opening.offset_mm + opening.width_mm]
    edges.append(wall.length_mm + wall.overhangs_mm[1])
    return [(edges[i], edges[i + 1]) for i in range(0, len(edges), 2)]


def cut_through(cabin: ProblemCabin, opening: ProblemOpening, params: Params) -> list[int]:
    """The rounds that have no wood in the middle of the opening."""
    (wall,) = (w for w in cabin.walls if w.id == opening.wall)
    middle = opening.offset_mm + opening.width_mm / 2.0
    return [
        r
        for r in range(1, cabin.rounds + 1)
        if not any(a <= middle <= b for a, b in course_places(cabin, wall, r, params))
    ]


def crossings(cabin: ProblemCabin) -> list[tuple[Column, Column]]:
    """Every crossing as (low column, high column): the corners, and the tees of partitions."""
    starts = {wall.id: wall.start for wall in cabin.walls}
    at: dict[int, list[Column]] = defaultdict(list)
    for wall in cabin.walls:
        for end, corner in enumerate(wall.corners):
            at[corner].append((wall.id, end))
    tees: dict[str, int] = defaultdict(int)
    for tee in cabin.tees:
        at[tee.corner].append((tee.wall, 2 + tees[tee.wall]))
        tees[tee.wall] += 1
    return [
        (
            next(c for c in pair if starts[c[0]] == "low"),
            next(c for c in pair if starts[c[0]] == "high"),
        )
        for pair in at.values()
    ]


def columns_mm(cabin: ProblemCabin, wall: ProblemWall) -> list[float]:
    """Where along the wall other walls cross: its two ends, then its tees in the order given."""
    return [0.0, wall.length_mm, *(tee.at_mm for tee in cabin.tees if tee.wall == wall.id)]


def half_key(cabin: ProblemCabin, half: Half) -> tuple[str, str, int, int]:
    """The place of a half log, as a plan's piece names it."""
    return (cabin.id, half.wall, half.round, half.piece)


def part_length_mm(entry: HalfPlace) -> float:
    """How long a log part the halves need: the longer of them."""
    return max(half.end_mm - half.start_mm for half in entry.halves)


def columns_of_half(cabin: ProblemCabin, half: Half) -> list[tuple[int, float]]:
    """The columns (number, mm along the wall) that lie over a half log."""
    (wall,) = (w for w in cabin.walls if w.id == half.wall)
    return [(n, x) for n, x in enumerate(columns_mm(cabin, wall)) if half.start_mm <= x <= half.end_mm]
