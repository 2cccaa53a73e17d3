"""The judge's heights: tops and undersides of every log, as docs/model/wall.md has them; all in mm.

Keys are (wall, round, column) with the columns of `places.columns_mm`. Shares no code with the search.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from planning.core.places import columns_mm, columns_of_half
from planning.core.problem import ProblemCabin, ProblemSillFlat, ProblemWall

Spot = tuple[str, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """What one cabin's plan gives: diameters, tops (the base at round 0) and undersides.

    `planned_mm` are the tops the plan means to have: without what steering still carries of a height that was
    measured off its plan.
    """

    diameter_mm: dict[Spot, float]
    top_mm: dict[Spot, float]
    underside_mm: dict[Spot, float]
    planned_mm: dict[Spot, float]


def flat_depth_mm(flat: ProblemSillFlat, diameter_mm: float) -> float:
    """How deep the flat is cut that lies on the deck; a flat wider than the log takes half of it."""
    if flat.depth_mm is not None:
        return flat.depth_mm
    half, half_width = diameter_mm / 2.0, (flat.width_mm or 0.0) / 2.0
    return half - math.sqrt(max(0.0, half**2 - half_width**2))


def rise_mm(cabin: ProblemCabin, wall: ProblemWall, round_no: int, diameter_mm: float) -> float:
    """How much higher a log of this diameter brings its wall with the gap at its target."""
    flat = cabin.sill_flat
    if flat is not None and wall.start == "low" and round_no == 1:
        return diameter_mm - flat_depth_mm(flat, diameter_mm) + flat.sealer_mm
    return diameter_mm + cabin.gap_mm


def half_heights_mm(cabin: ProblemCabin, diameter_mm: dict[Spot, float]) -> dict[tuple[str, int], float]:
    """Height of the half logs at every column they cover: half the diameter there less half the kerf."""
    return {
        (half.wall, n): (diameter_mm[half.wall, 0, n] - entry.kerf_mm) / 2.0
        for entry in cabin.half_places
        for half in entry.halves
        for n, _ in columns_of_half(cabin, half)
    }


def steered_mm(cabin: ProblemCabin, off_mm: float) -> float:
    """What is left of a wall's height off its plan after one more round, steered within the gap's band."""
    if cabin.gap_band_mm is None:
        return off_mm
    smallest, largest = cabin.gap_band_mm
    if off_mm > 0.0:
        return max(0.0, off_mm - (cabin.gap_mm - smallest))
    return min(0.0, off_mm + (largest - cabin.gap_mm))


def heights_of(cabin: ProblemCabin, diameter_mm: dict[Spot, float]) -> Heights:
    """Tops and undersides of every column after every round, from the diameters there."""
    starts = _starts_mm(cabin, diameter_mm)
    tops: dict[Spot, float] = {}
    undersides: dict[Spot, float] = {}
    meant: dict[Spot, float] = {}
    for wall in cabin.walls:
        for n in range(len(columns_mm(cabin, wall))):
            tops[wall.id, 0, n] = meant[wall.id, 0, n] = starts[wall.id, n]
            off = 0.0
            for r in range(1, cabin.rounds + 1):
                d = diameter_mm[wall.id, r, n]
                top = tops[wall.id, r - 1, n] + rise_mm(cabin, wall, r, d)
                undersides[wall.id, r, n] = top - d
                measured = _row_at(cabin.as_built.tops_mm, cabin.as_built.round, wall, r, n)
                if measured is not None:
                    planned = _row_at(cabin.as_built.planned_mm, cabin.as_built.round, wall, r, n)
                    steers = planned is not None and cabin.gap_band_mm is not None
                    off = measured - planned if planned is not None and steers else 0.0
                    top = measured
                else:
                    left = steered_mm(cabin, off)
                    top += left - off
                    undersides[wall.id, r, n] += left - off
                    off = left
                tops[wall.id, r, n], meant[wall.id, r, n] = top, top - off
    return Heights(diameter_mm=diameter_mm, top_mm=tops, underside_mm=undersides, planned_mm=meant)


def _row_at(
    rows: dict[str, tuple[tuple[float | None, ...], ...]], rounds: int, wall: ProblemWall, r: int, n: int
) -> float | None:
    if r > rounds or wall.id not in rows or n >= len(rows[wall.id][r - 1]):
        return None
    return rows[wall.id][r - 1][n]


def _starts_mm(cabin: ProblemCabin, diameter_mm: dict[Spot, float]) -> dict[tuple[str, int], float]:
    """Tops of round 0: said outright, else the half log's, else the deck or half the low walls' mean rise."""
    low = [wall for wall in cabin.walls if wall.start == "low"]
    first = [rise_mm(cabin, wall, 1, diameter_mm[wall.id, 1, end]) for wall in low for end in (0, 1)]
    base = {"low": 0.0, "high": 0.5 * sum(first) / len(first)}
    halves = half_heights_mm(cabin, diameter_mm)
    starts: dict[tuple[str, int], float] = {}
    for wall in cabin.walls:
        said = cabin.start_heights_mm.get(wall.id)
        for n, x in enumerate(columns_mm(cabin, wall)):
            if said is None:
                starts[wall.id, n] = halves.get((wall.id, n), base[wall.start])
            elif n < len(said):
                starts[wall.id, n] = said[n]
            else:
                starts[wall.id, n] = said[0] + (said[1] - said[0]) * x / wall.length_mm
    return starts
