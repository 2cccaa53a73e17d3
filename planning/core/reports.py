"""What is kept of a plan's verdict: the judge's report and how sure its plates are, as plain JSON values."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from planning.core.check import Report
from planning.core.problem import Plan, Problem

STEERING_BAND_MM = 10.0


def report_document(report: Report) -> dict[str, Any]:
    """The judge's verdict as plain JSON values; heights as {cabin: {wall: [[start, end, ...] per round]}}.

    `planned` are heights without what steering still carries of a measured one: the next problem takes them
    as `as_built.planned`.
    """
    return {
        "objective": report.objective,
        "feasible": report.feasible,
        "complete": report.complete,
        "errors": report.errors,
        "terms": report.terms,
        "metrics": report.metrics,
        "shortages": [asdict(shortage) for shortage in report.shortages],
        "heights": {cabin: _tops(heights.top_mm) for cabin, heights in report.heights.items()},
        "planned": {cabin: _tops(heights.planned_mm) for cabin, heights in report.heights.items()},
        "notches": [asdict(notch) | {"share": notch.share} for notch in report.notches],
    }


def _tops(tops_mm: dict[tuple[str, int, int], float]) -> dict[str, list[list[float]]]:
    walls: dict[str, list[list[float]]] = {}
    for (wall, round_no, column), top in sorted(tops_mm.items()):
        rounds = walls.setdefault(wall, [])
        if round_no == len(rounds):
            rounds.append([])
        rounds[round_no].insert(column, top)
    return walls


def sure_rows(problem: Problem, plan: Plan, errors: dict[str, float] | None = None) -> list[dict[str, Any]]:
    """Expected error at each cabin's plate: as planned or planned again each round, steered or not.

    `errors`: the fields of MeasuringErrors, as the crew reads and cuts; None: as usual.
    """
    # Only here: it loads numpy, which a web process does without until it is asked.
    from planning.core.sure import MeasuringErrors, PlateError, plate_error

    crew = MeasuringErrors(**(errors or {}))

    def sure(cabin: str, replanned: bool, band: float | None) -> PlateError:
        return plate_error(problem, plan, cabin=cabin, replanned=replanned, band_mm=band, errors=crew, seed=1)

    return [
        {"cabin": cabin.id, "replanned": replanned, "steered": band is not None}
        | asdict(sure(cabin.id, replanned, band))
        for cabin in problem.cabins
        for replanned in (False, True)
        for band in (None, STEERING_BAND_MM)
    ]
