"""The smallest problem that calls every kernel, to have them all loaded before a clock runs."""

from __future__ import annotations

from planning.core.problem import Params, ProblemCabin, ProblemLog, ProblemWall, WallProblem, Weights


def smallest_problem() -> WallProblem:
    """One round of four walls and a log for each: enough to call every kernel."""
    weights = Weights(
        level=1.0,
        level_plate=4.0,
        corner=0.5,
        plate_spread=2.0,
        big_low=2.0,
        crown=0.5,
        knot=20.0,
        notch=1.0,
        jamb=0.3,
        waste=0.005,
        culled=100.0,
        short=2000.0,
        short_per_mm=0.5,
        hard=1000.0,
    )
    params = Params(
        station_inset_mm=305.0,
        trim_each_end_mm=25.0,
        kerf_mm=5.0,
        hazard_clear_mm=300.0,
        max_pieces_per_log=3,
        split_overlap=0.25,
        crown_limit_sill_plate_mm=12.0,
        crown_limit_other_mm=25.0,
        jamb_tol_mm=10.0,
        notch_good=(0.3, 0.6),
        notch_limit=(0.2, 0.7),
        weights=weights,
    )
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
    logs = tuple(
        ProblemLog(id=f"{n}", length_mm=4000.0, butt_mm=330.0 + n, middle_mm=310.0 + n, tip_mm=290.0 + n)
        for n in range(5)
    )
    cabin = ProblemCabin(id="K1", rounds=1, gap_mm=13.0, pitch_mm=323.0, walls=walls)
    return WallProblem(name="warm", params=params, cabins=(cabin,), logs=logs)
