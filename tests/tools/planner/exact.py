"""Proves the optimum of a two-round cabin of four walls by branch and bound over the logs.

An independent check on the search: heights stay real numbers (whole millimetres cut off valid plans, and then
a false optimum is proven). A *choice* is a log, a way round and a stretch of the log within which diameters
change along a straight line and knots neither come nor go. Branching is over the choices of the low walls,
then of the high walls, with bounds by intervals; what is left is settled by a linear program over where each
log is cut. The program is solved by scipy, which only those need who run this proof.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product
from typing import Any

import numpy as np
import numpy.typing as npt

from planning.core.check import diameter_at
from planning.core.places import course_places
from planning.core.problem import NEWER_WEIGHTS, ProblemCabin, ProblemLog, ProblemWall, WallProblem

Floats = npt.NDArray[np.float64]


class NotSuited(ValueError):
    """The proof is for one cabin of two rounds, four walls, no openings, and one piece from each log."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """The proven optimum, how many choices of eight logs the bounds left, and how many there were in all."""

    optimum: float
    programs: int
    pairs_of_walls: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A log in a wall one way round, cut between `least` and `most` from its butt; d = at + slope x place."""

    log: int
    least: float
    most: float
    at: tuple[float, float]
    slope: tuple[float, float]
    middle: float
    cost: float

    def span(self, end: int) -> tuple[float, float]:
        """Least and greatest diameter at an end of the wall."""
        ends = [self.at[end] + self.slope[end] * x for x in (self.least, self.most)]
        return min(ends), max(ends)

    def tilt(self) -> tuple[float, float]:
        """Least and greatest difference between the diameters at the wall's start and end."""
        tilts = [
            self.at[0] - self.at[1] + (self.slope[0] - self.slope[1]) * x for x in (self.least, self.most)
        ]
        return min(tilts), max(tilts)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pair:
    """All ways to fill two walls: choices per (wall, round), bounds on diameters, and the least they cost."""

    choice: npt.NDArray[np.int64]  # n x 2 walls x 2 rounds
    logs: npt.NDArray[np.uint64]  # n: the logs used, as bits
    low: Floats  # n x 2 walls x 2 rounds x 2 ends: least diameter
    high: Floats
    middles: Floats  # n x 2 rounds: sum of middles
    cost: Floats


def prove_two_rounds(problem: WallProblem, *, upper: float) -> Proof:
    """The least objective of any complete plan without hard notches; `upper` is one that a plan reaches."""
    cabin = _suited(problem)
    walls = {s: [n for n, w in enumerate(cabin.walls) if w.start == s] for s in ("low", "high")}
    choices = [_choices(problem, cabin, wall) for wall in cabin.walls]
    cut = upper + 1e-6
    low, high = (_pair(problem, [choices[n] for n in walls[start]], cut) for start in ("low", "high"))
    corners = _corners(cabin, walls)
    left = _join(problem, cabin, low, high, corners, cut)
    best = np.inf
    for i, j in left:
        eight = {
            (start, w, r): choices[walls[start][w]][pair.choice[n, w, r]]
            for start, pair, n in (("low", low, i), ("high", high, j))
            for w, r in product(range(2), range(2))
        }
        best = min(best, _program(problem, cabin, eight, corners))
    return Proof(optimum=float(best), programs=len(left), pairs_of_walls=len(low.cost) * len(high.cost))


def _suited(problem: WallProblem) -> ProblemCabin:
    if len(problem.cabins) != 1 or problem.pinned or problem.excluded or len(problem.logs) > 60:
        raise NotSuited("one cabin, nothing pinned or excluded, at most 60 logs")
    (cabin,) = problem.cabins
    starts = sorted(wall.start for wall in cabin.walls)
    plain = not cabin.openings and not cabin.tees and not cabin.members and not cabin.as_built.round
    plain = plain and not cabin.courses_mm and not cabin.start_heights_mm and not cabin.half_places
    plain = plain and cabin.sill_flat is None and problem.params.grain_binds is None
    if cabin.rounds != 2 or starts != ["high", "high", "low", "low"] or not plain:
        raise NotSuited(
            "two rounds of two low and two high walls from the deck, without openings, tees, members, "
            "measured tops, places said outright or rules of grain that bind"
        )
    shortest = min(wall.length_mm + sum(wall.overhangs_mm) for wall in cabin.walls)
    if max(log.length_mm for log in problem.logs) >= 2.0 * shortest or any(
        getattr(problem.params.weights, name) for name in NEWER_WEIGHTS
    ):
        raise NotSuited(
            "no log long enough for two pieces, and no charge of " + ", ".join(sorted(NEWER_WEIGHTS))
        )
    return cabin


def _choices(problem: WallProblem, cabin: ProblemCabin, wall: ProblemWall) -> list[Choice]:
    params, weights = problem.params, problem.params.weights
    ((a, b),) = course_places(cabin, wall, 1, params)
    length, found = b - a, []
    for n, log in enumerate(problem.logs):
        most = log.length_mm - params.trim_each_end_mm - length
        if most < params.trim_each_end_mm:
            continue
        if params.cull_longest_mm is not None and log.culled and length > params.cull_longest_mm:
            continue
        bow = log.crown_mm * (length / log.length_mm) ** 2
        cost = weights.crown * max(0.0, bow - params.crown_limit_sill_plate_mm)
        cost += weights.waste * (log.length_mm - length) + weights.culled * float(log.culled)
        for turned in (False, True):
            at = [(b - x if turned else x - a) for x in (0.0, wall.length_mm)]
            spots = [0.0, length, *at]
            for least, upto in pairwise(_breaks(problem, log, spots, most)):
                knots = _knots(problem, log, spots, (least + upto) / 2.0)
                if knots is None:
                    continue
                d = [
                    [diameter_at(log, x + s, station_inset_mm=params.station_inset_mm) for x in (least, upto)]
                    for s in at
                ]
                run = upto - least
                slope = [(end - begin) / run if run > 0.0 else 0.0 for begin, end in d]
                found.append(
                    Choice(
                        log=n,
                        least=least,
                        most=upto,
                        at=(d[0][0] - slope[0] * least, d[1][0] - slope[1] * least),
                        slope=(slope[0], slope[1]),
                        middle=log.middle_mm,
                        cost=cost + weights.knot * knots,
                    )
                )
    return found


def _breaks(problem: WallProblem, log: ProblemLog, spots: list[float], most: float) -> list[float]:
    """Where along its possible cuts a log's diameters bend or a hazard comes near or goes."""
    least, clear = problem.params.trim_each_end_mm, problem.params.hazard_clear_mm
    bends = [log.length_mm / 2.0, *(x for x, _ in log.stations)]
    if log.stations:
        bends += [problem.params.station_inset_mm, log.length_mm - problem.params.station_inset_mm]
    bends += [h.from_butt_mm + side for h in log.hazards for side in (-clear, clear)]
    inner = {bend - spot for bend in bends for spot in spots}
    return sorted({least, most, *(x for x in inner if least < x < most)}) if most > least else [least, most]


def _knots(problem: WallProblem, log: ProblemLog, spots: list[float], cut: float) -> int | None:
    """Knots near a notch or cut when the log is cut there; None when metal is."""
    near = [
        h
        for h in log.hazards
        if min(abs(h.from_butt_mm - cut - s) for s in spots) < problem.params.hazard_clear_mm
    ]
    return None if any(h.kind == "metal" for h in near) else len(near)


def _least_abs(low: Floats, high: Floats) -> Floats:
    """Least |x| of x within [low, high]."""
    return np.maximum(0.0, np.maximum(low, -high))


def _pair(problem: WallProblem, walls: list[list[Choice]], cut: float) -> _Pair:
    weights = problem.params.weights
    stacks = []
    for choices in walls:
        one, two = (grid.ravel() for grid in np.indices((len(choices), len(choices))))
        log = np.array([c.log for c in choices], np.int64)
        keep = log[one] != log[two]
        one, two = one[keep], two[keep]
        tilt = np.array([c.tilt() for c in choices]).reshape(-1, 2)
        cost = np.array([c.cost for c in choices])
        total = cost[one] + cost[two] + 0.5 * weights.level * _least_abs(tilt[one, 0], tilt[one, 1])
        total += weights.level_plate * _least_abs(tilt[one, 0] + tilt[two, 0], tilt[one, 1] + tilt[two, 1])
        span = np.array([[c.span(0), c.span(1)] for c in choices]).reshape(-1, 2, 2)
        bits = np.left_shift(np.uint64(1), log.astype(np.uint64))
        middle = np.array([c.middle for c in choices])
        stacks.append((one, two, total, span, bits[one] | bits[two], middle))
    i, j = (grid.ravel() for grid in np.indices((len(stacks[0][0]), len(stacks[1][0]))))
    keep = (stacks[0][4][i] & stacks[1][4][j]) == 0
    keep &= stacks[0][2][i] + stacks[1][2][j] <= cut
    i, j = i[keep], j[keep]
    choice = np.stack(
        [np.stack([s[0][n], s[1][n]], axis=1) for s, n in zip(stacks, (i, j), strict=True)], axis=1
    )
    spans = np.stack([stacks[w][3][choice[:, w]] for w in (0, 1)], axis=1)
    low, high = spans[..., 0], spans[..., 1]
    tops = low.sum(axis=2).reshape(len(i), 4), high.sum(axis=2).reshape(len(i), 4)
    cost = stacks[0][2][i] + stacks[1][2][j]
    cost = cost + weights.plate_spread * np.maximum(0.0, tops[0].max(axis=1) - tops[1].min(axis=1))
    middles = stacks[0][5][choice[:, 0]] + stacks[1][5][choice[:, 1]]
    order = np.argsort(cost, kind="stable")
    order = order[cost[order] <= cut]
    logs = stacks[0][4][i] | stacks[1][4][j]
    return _Pair(
        choice=choice[order],
        logs=logs[order],
        low=low[order],
        high=high[order],
        middles=middles[order],
        cost=cost[order],
    )


def _corners(cabin: ProblemCabin, walls: dict[str, list[int]]) -> list[tuple[int, int, int, int]]:
    """Each corner as (low wall, its end, high wall, its end), walls numbered within their pair."""
    found = []
    for w, n in enumerate(walls["low"]):
        for e, corner in enumerate(cabin.walls[n].corners):
            for v, m in enumerate(walls["high"]):
                if corner in cabin.walls[m].corners:
                    found.append((w, e, v, cabin.walls[m].corners.index(corner)))
    return found


def _join(
    problem: WallProblem,
    cabin: ProblemCabin,
    low: _Pair,
    high: _Pair,
    corners: list[tuple[int, int, int, int]],
    cut: float,
) -> list[tuple[int, int]]:
    """Pairs of low and high walls that use no log twice and whose bound does not pass the cut."""
    weights, g = problem.params.weights, cabin.gap_mm
    s0, s1 = problem.params.notch_good
    left = []
    for i in range(len(low.cost)):
        upto = int(np.searchsorted(high.cost, cut - low.cost[i], side="right"))
        js = np.flatnonzero((high.logs[:upto] & low.logs[i]) == 0)
        rise = (low.middles[i, 1] + high.middles[js, 1] - low.middles[i, 0] - high.middles[js, 0]) / 4.0
        bound = low.cost[i] + high.cost[js] + weights.big_low * np.maximum(0.0, rise)
        js, bound = js[bound <= cut], bound[bound <= cut]
        if not len(js):
            continue
        ll, lh, hl, hh = low.low[i], low.high[i], high.low[js], high.high[js]
        base = [0.5 * (d[:, 0].mean() + g) for d in (ll, lh)]
        half = [
            0.25 * (d[:, r].mean() + e[:, :, r].mean(axis=(1, 2)) + 2 * g)
            for r in (0, 1)
            for d, e in ((ll, hl), (lh, hh))
        ]
        for w, e, v, f in corners:
            t0 = t1 = 0.0
            h0, h1 = np.full(len(js), base[0]), np.full(len(js), base[1])
            for r in (0, 1):
                before = (t0, t1, h0, h1)
                dl, dh = (ll[w, r, e], lh[w, r, e]), (hl[:, v, r, f], hh[:, v, r, f])
                t0, t1, h0, h1 = t0 + dl[0] + g, t1 + dl[1] + g, h0 + dh[0] + g, h1 + dh[1] + g
                bound = bound + weights.corner * _least_abs(h0 - t1 - half[2 * r + 1], h1 - t0 - half[2 * r])
                n0, n1 = t0 - before[3] - g, t1 - before[2] - g
                bound = bound + weights.notch * np.maximum(0.0, np.maximum(s0 * dh[0] - n1, n0 - s1 * dh[1]))
                if r:
                    n0, n1 = before[2] - before[1] - g, before[3] - before[0] - g
                    bound = bound + weights.notch * np.maximum(
                        0.0, np.maximum(s0 * dl[0] - n1, n0 - s1 * dl[1])
                    )
        left += [(i, int(j)) for j in js[bound <= cut]]
    return left


class _Rows:
    """A linear program under construction: expressions are (coefficients by variable, constant)."""

    def __init__(self, variables: int) -> None:
        self.bounds: list[tuple[float | None, float | None]] = [(None, None)] * variables
        self.price = [0.0] * variables
        self.less: list[tuple[dict[int, float], float]] = []

    def charge_above(
        self, price: float, *amounts: tuple[dict[int, float], float], floor: float | None = 0.0
    ) -> None:
        """Pay `price` for the greatest of the amounts (and of `floor`)."""
        self.bounds.append((floor, None))
        self.price.append(price)
        n = len(self.price) - 1
        for terms, constant in amounts:
            self.less.append((terms | {n: -1.0}, -constant))


def _plus(*parts: tuple[float, tuple[dict[int, float], float]]) -> tuple[dict[int, float], float]:
    terms: dict[int, float] = {}
    constant = 0.0
    for factor, (part, add) in parts:
        constant += factor * add
        for n, coefficient in part.items():
            terms[n] = terms.get(n, 0.0) + factor * coefficient
    return terms, constant


def _program(
    problem: WallProblem,
    cabin: ProblemCabin,
    eight: dict[tuple[str, int, int], Choice],
    corners: list[tuple[int, int, int, int]],
) -> float:
    """The least objective with these logs this way round, over where each is cut."""
    from scipy.optimize import linprog  # type: ignore[import-untyped]

    params, weights, g = problem.params, problem.params.weights, cabin.gap_mm
    keys = list(eight)
    rows = _Rows(len(keys))
    d: dict[tuple[str, int, int, int], Any] = {}
    for n, key in enumerate(keys):
        choice = eight[key]
        rows.bounds[n] = (choice.least, choice.most)
        for e in (0, 1):
            d[(*key, e)] = ({n: choice.slope[e]}, choice.at[e])
    unit: tuple[dict[int, float], float] = ({}, 1.0)
    lows = [(w, e) for w in (0, 1) for e in (0, 1)]
    base = _plus(*((0.125, d["low", w, 0, e]) for w, e in lows), (0.5 * g, unit))
    top: dict[tuple[str, int, int, int], Any] = {}
    for start, (w, e) in product(("low", "high"), lows):
        top[start, w, -1, e] = base if start == "high" else ({}, 0.0)
        for r in (0, 1):
            top[start, w, r, e] = _plus((1.0, top[start, w, r - 1, e]), (1.0, d[start, w, r, e]), (g, unit))
    for (start, w), r in product(product(("low", "high"), (0, 1)), (0, 1)):
        out = _plus((1.0, top[start, w, r, 0]), (-1.0, top[start, w, r, 1]))
        rows.charge_above(weights.level_plate if r else 0.5 * weights.level, out, _plus((-1.0, out)))
    for start in ("low", "high"):
        rows.charge_above(weights.plate_spread, *(top[start, w, 1, e] for w, e in lows), floor=None)
        rows.charge_above(
            weights.plate_spread, *(_plus((-1.0, top[start, w, 1, e])) for w, e in lows), floor=None
        )
    for r in (0, 1):
        ends = [d[start, w, r, e] for start in ("low", "high") for w, e in lows]
        half = _plus(*((1.0 / 16.0, end) for end in ends), (0.5 * g, unit))
        for w, e, v, f in corners:
            off = _plus((1.0, top["high", v, r, f]), (-1.0, top["low", w, r, e]), (-1.0, half))
            rows.charge_above(weights.corner, off, _plus((-1.0, off)))
            cuts = [(top["low", w, r, e], top["high", v, r - 1, f], d["high", v, r, f])]
            if r:
                cuts.append((top["high", v, 0, f], top["low", w, 0, e], d["low", w, 1, e]))
            for over, own, log in cuts:
                depth = _plus((1.0, over), (-1.0, own), (-g, unit))
                good, limit = params.notch_good, params.notch_limit
                thin, deep = _plus((good[0], log), (-1.0, depth)), _plus((1.0, depth), (-good[1], log))
                rows.charge_above(weights.notch, thin, deep)
                for terms, constant in (
                    _plus((limit[0], log), (-1.0, depth)),
                    _plus((1.0, depth), (-limit[1], log)),
                ):
                    rows.less.append((terms, -constant))
    matrix = np.zeros((len(rows.less), len(rows.price)))
    for n, (terms, _) in enumerate(rows.less):
        for column, coefficient in terms.items():
            matrix[n, column] = coefficient
    solved = linprog(rows.price, A_ub=matrix, b_ub=[bound for _, bound in rows.less], bounds=rows.bounds)
    if not solved.success:
        return float("inf")
    thicker = (
        sum(eight[s, w, 1].middle - eight[s, w, 0].middle for s in ("low", "high") for w in (0, 1)) / 4.0
    )
    own = sum(choice.cost for choice in eight.values())
    return float(solved.fun + own + weights.big_low * max(0.0, thicker))
