"""How openings fall among the logs of a plan: every course at both jambs, by the plan's own tops."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cabins.core.course_bands import ColumnTop, bands_of
from cabins.core.courses import is_cut_between
from cabins.core.layout_parts import Span
from cabins.core.openings import (
    CUT_SHARE,
    CourseBand,
    Hole,
    OpeningFit,
    Threshold,
    fit_opening,
    rounds_cut_through,
)
from planning.core.check import Report, diameter_at
from planning.core.heights import Heights
from planning.core.places import columns_mm, course_places
from planning.core.problem import (
    PlanPiece,
    ProblemCabin,
    ProblemLog,
    ProblemOpening,
    ProblemWall,
    WallPlan,
    WallProblem,
)


def pieces_of(plan: WallPlan, cabin: ProblemCabin) -> dict[tuple[str, int, int], PlanPiece]:
    return {
        (piece.wall, piece.round, piece.piece): piece
        for piece in plan.pieces
        if piece.cabin == cabin.id and piece.member is None
    }


def hole_of(opening: ProblemOpening) -> Hole:
    """The hole to leave, with its settling space."""
    return Hole(
        near_mm=opening.offset_mm,
        far_mm=opening.offset_mm + opening.width_mm,
        bottom_mm=opening.sill_mm,
        top_mm=opening.head_mm + opening.space_mm,
        threshold=Threshold(opening.threshold),
        flatten_mm=opening.flatten_mm,
    )


def cut_at(present: list[tuple[Span, ...]], opening: ProblemOpening) -> frozenset[int]:
    near, far = opening.offset_mm, opening.offset_mm + opening.width_mm
    return frozenset(
        number for number, spans in enumerate(present, start=1) if is_cut_between(spans, near, far)
    )


def jamb_bands(
    problem: WallProblem,
    cabin: ProblemCabin,
    wall: ProblemWall,
    heights: Heights,
    opening: ProblemOpening,
    *,
    pieces: Mapping[tuple[str, int, int], PlanPiece],
    logs: Mapping[str, ProblemLog],
) -> dict[int, tuple[CourseBand, CourseBand]]:
    """Every course of a wall at the two jambs of an opening, by round; 0 for a half log under the wall."""
    positions = sorted((x, n) for n, x in enumerate(columns_mm(cabin, wall)))
    tops = [
        [
            ColumnTop(
                at_mm=x,
                top_mm=heights.top_mm[wall.id, r, n],
                diameter_mm=heights.diameter_mm[wall.id, r, n] if r else 0.0,
            )
            for x, n in positions
        ]
        for r in range(cabin.rounds + 1)
    ]

    def planned_diameter(r: int, at_mm: float) -> float | None:
        return _diameter(problem, cabin, wall, r, at_mm, pieces, logs)

    bands = bands_of(
        tops,
        (opening.offset_mm, opening.offset_mm + opening.width_mm),
        on_half_log=_starts_on_half_log(cabin, wall),
        diameter_at=planned_diameter,
    )
    return {r: (near, far) for r, (near, far) in bands.items()}


def _starts_on_half_log(cabin: ProblemCabin, wall: ProblemWall) -> bool:
    """Whether a half log lies under the wall: one of the plan, or one that is meant."""
    placed = any(half.wall == wall.id and half.round == 0 for e in cabin.half_places for half in e.halves)
    return wall.start == "high" and (placed or wall.id not in cabin.start_heights_mm)


def _diameter(
    problem: WallProblem,
    cabin: ProblemCabin,
    wall: ProblemWall,
    r: int,
    at_mm: float,
    pieces: Mapping[tuple[str, int, int], PlanPiece],
    logs: Mapping[str, ProblemLog],
) -> float | None:
    """The diameter of what is planned at a position of the wall; None where nothing is."""
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
    opening: ProblemOpening
    fit: OpeningFit


def planned_openings(problem: WallProblem, plan: WallPlan, report: Report) -> list[PlannedOpening]:
    """How every opening of the problem falls among the plan's own tops, its courses cut as the problem has
    it."""
    logs = {log.id: log for log in problem.logs}
    found = []
    for cabin in problem.cabins:
        pieces, heights = pieces_of(plan, cabin), report.heights[cabin.id]
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
                hole_of(opening), jambs, through=cut_at(present, opening) | half, cut_share=share
            )
            found.append(
                PlannedOpening(cabin=cabin.id, wall=wall.id, number=number, opening=opening, fit=fit)
            )
    return found
