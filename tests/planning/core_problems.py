"""Small planning problems for the core's tests; each factory says only what matters to the test."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from planning.core.files import read_problem
from planning.core.problem import (
    Params,
    PlanPiece,
    ProblemCabin,
    ProblemLog,
    ProblemOpening,
    ProblemWall,
    WallPlan,
    WallProblem,
    Weights,
)

DATA = Path(__file__).parent / "data"


def shared_problem(name: str) -> WallProblem:
    return read_problem(json.loads((DATA / f"{name}.json").read_text()))


def shared_document(name: str) -> dict[str, Any]:
    return json.loads((DATA / f"{name}.json").read_text())


def some_weights(**changed: float) -> Weights:
    usual = {
        "level": 1.0, "level_plate": 4.0, "corner": 0.5, "plate_spread": 2.0, "big_low": 2.0, "crown": 0.5,
        "knot": 20.0, "notch": 1.0, "jamb": 0.3, "waste": 0.005, "culled": 100.0, "short": 2000.0,
        "short_per_mm": 0.5, "hard": 1000.0,
    }  # fmt: skip
    return Weights(**(usual | changed))


def some_params(*, weights: Weights | None = None, **changed: Any) -> Params:
    usual: dict[str, Any] = {
        "station_inset_mm": 305.0, "trim_each_end_mm": 25.0, "kerf_mm": 5.0, "hazard_clear_mm": 300.0,
        "max_pieces_per_log": 3, "split_overlap": 0.25, "crown_limit_sill_plate_mm": 12.0,
        "crown_limit_other_mm": 25.0, "jamb_tol_mm": 10.0,
        "notch_good": (0.3, 0.6), "notch_limit": (0.2, 0.7),
    }  # fmt: skip
    return Params(**(usual | changed), weights=weights or some_weights())


def a_log(log_id: str = "1", *, length_mm: float = 4000.0, middle_mm: float = 310.0, taper_mm: float = 20.0,
          **more: Any) -> ProblemLog:  # fmt: skip
    """A log whose ends differ from its middle by the taper."""
    usual = {"butt_mm": middle_mm + taper_mm, "middle_mm": middle_mm, "tip_mm": middle_mm - taper_mm}
    return ProblemLog(id=log_id, length_mm=length_mm, **(usual | more))


def a_cabin(*, rounds: int = 2, openings: tuple[ProblemOpening, ...] = (), **more: Any) -> ProblemCabin:
    """Four walls of three metres, A and C low, B and D high, gap 13, overhang 300."""
    walls = tuple(
        ProblemWall(
            id=name,
            length_mm=3000.0,
            overhangs_mm=(300.0, 300.0),
            start="low" if n % 2 == 0 else "high",
            corners=(n, (n + 1) % 4),
        )
        for n, name in enumerate("ABCD")
    )
    usual: dict[str, Any] = {"id": "K1", "gap_mm": 13.0, "pitch_mm": 323.0, "walls": walls}
    return ProblemCabin(rounds=rounds, openings=openings, **(usual | more))


def a_problem(
    *, logs: tuple[ProblemLog, ...] | None = None, cabin: ProblemCabin | None = None, **more: Any
) -> WallProblem:
    """One cabin of two rounds and ten logs, thick to thin."""
    some = tuple(a_log(f"{n}", middle_mm=330.0 - 4 * n, taper_mm=12.0 + n) for n in range(10))
    params = more.pop("params", None) or some_params()
    cabins = more.pop("cabins", None) or (cabin or a_cabin(),)
    return WallProblem(
        name="small", params=params, cabins=cabins, logs=some if logs is None else logs, **more
    )


def a_window(wall: str = "A", **more: Any) -> ProblemOpening:
    """A window that splits the second and third rounds of a wall."""
    usual = {"offset_mm": 1000.0, "width_mm": 900.0, "sill_mm": 330.0, "head_mm": 1000.0}
    return ProblemOpening(wall=wall, **(usual | more))


def a_piece(wall: str, round_no: int, log: str, *, piece: int = 0, from_butt_mm: float = 100.0,
            butt_at: Any = "start") -> PlanPiece:  # fmt: skip
    return PlanPiece(
        cabin="K1",
        wall=wall,
        round=round_no,
        piece=piece,
        log=log,
        from_butt_mm=from_butt_mm,
        butt_at=butt_at,
    )


def one_log_each(*, rounds: int = 2, turned: str = "") -> WallPlan:
    """Logs 0, 1, 2 ... in order of round and wall; walls named in `turned` have the butt at their end."""
    pieces = [
        a_piece(wall, r, f"{4 * (r - 1) + n}", butt_at="end" if wall in turned else "start")
        for r in range(1, rounds + 1)
        for n, wall in enumerate("ABCD")
    ]
    return WallPlan(problem="small", pieces=tuple(pieces))


def without(plan: WallPlan, wall: str, round_no: int) -> WallPlan:
    return replace(plan, pieces=tuple(p for p in plan.pieces if (p.wall, p.round) != (wall, round_no)))
