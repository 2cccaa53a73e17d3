"""Layouts drawn for the tests: a plain rectangle, an L, a cabin with a log partition."""

from typing import Any

from cabins.core.layout import Layout, read_layout
from cabins.core.stack import Spot

NO_RUN_ONS = {"runs_on_start": False, "runs_on_end": False}
NO_OWN_OVERHANGS = {"overhang_start_mm": None, "overhang_end_mm": None}
EVEN = {"A": (300, 300), "B": (300, 300), "C": (300, 300), "D": (300, 300)}


def a_rectangle(**changes: Any) -> dict[str, Any]:
    """A rectangle 4.7 m by 3.5 m, eight rounds of 371 mm, a door and a window."""
    return {
        "corners": [
            {"id": "SW", "x_mm": 0, "y_mm": 0},
            {"id": "SE", "x_mm": 4700, "y_mm": 0},
            {"id": "NE", "x_mm": 4700, "y_mm": 3500},
            {"id": "NW", "x_mm": 0, "y_mm": 3500},
        ],
        "walls": [
            {"id": "A", "from": "SW", "to": "SE", "start": "low"} | NO_OWN_OVERHANGS | NO_RUN_ONS,
            {"id": "B", "from": "SE", "to": "NE", "start": "high"} | NO_OWN_OVERHANGS | NO_RUN_ONS,
            {"id": "C", "from": "NE", "to": "NW", "start": "low"} | NO_OWN_OVERHANGS | NO_RUN_ONS,
            {"id": "D", "from": "NW", "to": "SW", "start": "high"} | NO_OWN_OVERHANGS | NO_RUN_ONS,
        ],
        "partitions": [],
        "high_start": "half_log",
        "overhang_mm": 380,
        "notch": "saddle",
        "gap": {"smallest_mm": 6, "target_mm": 13, "largest_mm": 25},
        "log_middle_mm": 358,
        "wall_height_mm": 2900,
        "rounds": None,
        "openings": [an_opening(), an_opening(id="W1", kind="window", wall="C", sill_mm=900, head_mm=2050)],
        "members": [],
        "roof_line": None,
        "sill_flat": None,
        "sealer_mm": 0,
        "half_logs": False,
        "rip_kerf_mm": 5,
        "deck_raise_mm": None,
        "top": "as_it_falls",
    } | changes


def an_opening(**changes: Any) -> dict[str, Any]:
    """A door in wall A that starts one round up."""
    return {
        "id": "door",
        "kind": "door",
        "wall": "A",
        "offset_mm": 1760,
        "width_mm": 950,
        "sill_mm": 333,
        "head_mm": 2150,
    } | changes


def a_member(**changes: Any) -> dict[str, Any]:
    """One ridge of 7.2 m."""
    return {
        "id": "ridge",
        "kind": "ridge",
        "length_mm": 7200,
        "least_middle_mm": 260,
        "crown_limit_mm": 25,
        "count": 1,
    } | changes


def a_partition(**changes: Any) -> dict[str, Any]:
    """A log partition across the rectangle, from wall A to wall C."""
    return {
        "id": "P",
        "from": {"wall": "A", "at_mm": 3200},
        "to": {"wall": "C", "at_mm": 1500},
        "start": "high",
        **NO_OWN_OVERHANGS,
    } | changes


def an_l_shape(**changes: Any) -> dict[str, Any]:
    """An L of six walls: 8 m by 6 m with a corner of 3 m by 2.5 m left out."""
    points = [(0, 0), (8000, 0), (8000, 3500), (5000, 3500), (5000, 6000), (0, 6000)]
    names = "abcdef"
    return (
        a_rectangle(
            corners=[{"id": name, "x_mm": x, "y_mm": y} for name, (x, y) in zip(names, points, strict=True)],
            walls=[
                {
                    "id": name.upper(),
                    "from": name,
                    "to": names[(number + 1) % 6],
                    "start": "low" if number % 2 == 0 else "high",
                }
                for number, name in enumerate(names)
            ],
            openings=[],
        )
        | changes
    )


def a_cabin(*, rounds: int = 2, gap_mm: float = 10, partition: bool = False) -> Layout:
    """The rectangle without openings: A and C low, B and D high; corners SW, SE, NE, NW.

    The gap may be 5 mm smaller and 10 mm larger than `gap_mm`.
    """
    return read_layout(
        a_rectangle(
            rounds=rounds,
            openings=[],
            log_middle_mm=300,
            gap={"smallest_mm": gap_mm - 5, "target_mm": gap_mm, "largest_mm": gap_mm + 10},
            partitions=[a_partition()] if partition else [],
        )
    )


def laid(rounds: list[dict[str, tuple[float, ...]]]) -> dict[Spot, float]:
    """Diameters round by round, as start to end of each wall."""
    return {
        (wall, number, column): diameter
        for number, row in enumerate(rounds, 1)
        for wall, diameters in row.items()
        for column, diameter in enumerate(diameters)
    }
