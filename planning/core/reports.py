"""What is kept of a plan's verdict: the judge's report and how sure its plates are, as plain JSON values."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from planning.core.check import Report
from planning.core.problem import WallPlan, WallProblem


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
        "spare": [asdict(row) for row in report.spare],
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


def sure_rows(
    problem: WallProblem, plan: WallPlan, errors: dict[str, float] | None = None
) -> list[dict[str, Any]]:
    """Expected error at each cabin's plate: not steered, and steered where the gap has a band to steer in.

    `errors`: the fields of MeasuringErrors, as the crew reads and cuts; None: as usual.
    """
    # Only here: it loads numpy, which a web process does without until it is asked.
    from planning.core.plate_error import Estimate, MeasuringErrors, has_band

    crew = MeasuringErrors(**(errors or {}))
    estimates = {
        cabin.id: Estimate(problem, plan, cabin=cabin.id, errors=crew, seed=1) for cabin in problem.cabins
    }
    return [
        {"cabin": cabin.id, "steered": steered} | asdict(estimates[cabin.id].plate_error(steered=steered))
        for cabin in problem.cabins
        for steered in ((False, True) if has_band(cabin) else (False,))
    ]
