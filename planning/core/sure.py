"""How sure: what measuring errors make of a plan by the time the plate is laid (Monte Carlo).

Diameters were read with an error at every station, tops are read with an error after every round, and every
notch is cut with one. Heights here are true ones: the log lies where its true diameter puts it. *Steered*:
before the final cut the crew reads both ends of the log in place, takes half of what the wall is off its line
(off level, in the last round) out of the one notch and leaves half more in the other, as far as the gap's
band and the notch limit allow. *Replanned*: after every round the rest is planned again from the tops read,
so only what came after the last reading is left; steering then waits for the last round.

Caution: an expected error is no promise; level and plumb are checked on the wall before the roof goes on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from inventory.core.crew_errors import USUAL_ERRORS
from planning.core.check import judge
from planning.core.places import course_places
from planning.core.problem import AsBuilt, Cabin, Log, Piece, Plan, Problem

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuringErrors:
    """Standard errors of reading a diameter and a top, and of cutting a notch: those of `CrewErrors`."""

    diameter_mm: float = USUAL_ERRORS.diameter_mm
    top_mm: float = USUAL_ERRORS.height_mm
    cut_mm: float = USUAL_ERRORS.cut_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateError:
    """Worst wall out of level at the plate, over the samples; steering figures are 0 when not steered."""

    mean_mm: float
    p90_mm: float
    steering_mean_mm: float
    """Mean difference of the gap from its target, over the ends steered."""
    ends_outside: float
    """Share of the ends steered that wanted more than the band or the notch limit allows."""
    walls_inside: float
    """Share of the walls of which no end did."""


class _Ends(NamedTuple):
    """Per (wall, round, end) of one cabin: the log and stations its diameter comes from, and its notch."""

    log: npt.NDArray[np.int64]
    station: npt.NDArray[np.int64]
    part: Floats
    read: Floats
    tilt: Floats  # wall x round: planned start minus end, mm
    least: Floats  # lowest change of the gap that the notch limit allows
    most: Floats


def plate_error(
    problem: Problem,
    plan: Plan,
    *,
    cabin: str,
    errors: MeasuringErrors | None = None,
    replanned: bool = False,
    band_mm: float | None = None,
    samples: int = 1000,
    seed: int = 0,
) -> PlateError:
    """Expected error at the plate of one cabin; `band_mm` (say 10) steers, None does not."""
    errors = errors or MeasuringErrors()
    house = next(c for c in problem.cabins if c.id == cabin)
    rng = np.random.default_rng(seed)
    ends = _ends(problem, house, plan)
    walls, rounds = len(house.walls), house.rounds
    first = min(house.as_built.round, rounds)
    true_error = _diameter_errors(problem, ends, errors, samples, rng)
    off = rng.normal(0.0, errors.top_mm, (samples, walls, 2)) if first else np.zeros((samples, walls, 2))
    shifts, outside = [], []
    for r in range(first, rounds):
        if replanned and r > 0:
            # The new plan starts from tops as read: it knows everything below but the reading's own error.
            off = rng.normal(0.0, errors.top_mm, (samples, walls, 2))
        before = off
        off = before + true_error[:, :, r]
        if band_mm is not None and (not replanned or r == rounds - 1):
            seen = _seen(before, off, errors, rng)
            if r == rounds - 1:
                seen[:, :, 0] += ends.tilt[:, r]
            shift, beyond = _steer(seen, ends, r, band_mm)
            off = off + shift
            shifts.append(np.abs(shift))
            outside.append(beyond)
        # The last cut misses what was asked, steered or not.
        off = off + rng.normal(0.0, errors.cut_mm, off.shape)
    worst = np.abs(off[:, :, 0] - off[:, :, 1] + ends.tilt[:, -1]).max(axis=1)
    return _summary(worst, shifts, outside)


def replanned_by_search(
    problem: Problem,
    plan: Plan,
    *,
    errors: MeasuringErrors | None = None,
    band_mm: float | None = None,
    moves: int = 150_000,
    samples: int = 20,
    seed: int = 0,
) -> PlateError:
    """As `plate_error(replanned=True)` for a problem of one cabin, with a real search after every round."""
    errors = errors or MeasuringErrors()
    rng = np.random.default_rng(seed)
    worst, shifts, outside = [], [], []
    for n in range(samples):
        off_line, shift, beyond = _build_once(problem, plan, errors, band_mm, moves, rng, seed + n)
        worst.append(off_line)
        shifts.append(shift)
        outside.append(beyond)
    steered = band_mm is not None
    return _summary(np.array(worst), shifts if steered else [], outside if steered else [])


def _build_once(
    problem: Problem,
    plan: Plan,
    errors: MeasuringErrors,
    band_mm: float | None,
    moves: int,
    rng: np.random.Generator,
    seed: int,
) -> tuple[float, Floats, npt.NDArray[np.bool_]]:
    """Build the cabin once with logs that differ from their chart; the worst wall at the plate, in mm."""
    from planning.core.search import make_plan

    (house,) = problem.cabins
    as_read = problem
    truth = replace(problem, logs=tuple(_true_log(log, errors, rng) for log in problem.logs), pinned=())
    read_tops: dict[str, list[tuple[float, float]]] = {wall.id: [] for wall in house.walls}
    true_tops: dict[str, list[tuple[float, float]]] = {wall.id: [] for wall in house.walls}
    steered = (np.zeros(0), np.zeros(0, np.bool_))
    for r in range(1, house.rounds + 1):
        built = AsBuilt(round=r - 1, tops_mm={wall: tuple(rows) for wall, rows in true_tops.items()})
        really = judge(replace(truth, cabins=(replace(house, as_built=built),)), plan).heights[house.id]
        tops = np.array([[really.top_mm[w.id, r, e] for e in (0, 1)] for w in house.walls])
        if band_mm is not None and r == house.rounds:
            ends = _ends(as_read, as_read.cabins[0], plan)
            before = np.array([[really.top_mm[w.id, r - 1, e] for e in (0, 1)] for w in house.walls])
            lines = before + ends.read[:, r - 1] + house.gap_mm
            seen = lines + _seen(np.zeros((1, *tops.shape)), (tops - lines)[None], errors, rng)[0]
            shift, beyond = _steer(seen[None], ends, r - 1, band_mm)
            tops = tops + shift[0]
            steered = (np.abs(shift[0]), beyond[0])
        tops = tops + rng.normal(0.0, errors.cut_mm, tops.shape)
        for n, wall in enumerate(house.walls):
            true_tops[wall.id].append((float(tops[n, 0]), float(tops[n, 1])))
            start, end = tops[n] + rng.normal(0.0, errors.top_mm, 2)
            read_tops[wall.id].append((float(start), float(end)))
        if r < house.rounds:
            read = AsBuilt(round=r, tops_mm={wall: tuple(rows) for wall, rows in read_tops.items()})
            laid = tuple(p for p in plan.pieces if p.member is None and p.round <= r)
            as_read = replace(problem, cabins=(replace(house, as_built=read),), pinned=laid)
            plan = make_plan(as_read, moves=moves, seed=seed, start=plan).plan
    return float(np.abs(tops[:, 0] - tops[:, 1]).max()), *steered


def _true_log(log: Log, errors: MeasuringErrors, rng: np.random.Generator) -> Log:
    butt, middle, tip = rng.normal(0.0, errors.diameter_mm, 3)
    return replace(
        log,
        butt_mm=log.butt_mm + butt,
        middle_mm=log.middle_mm + middle,
        tip_mm=log.tip_mm + tip,
        stations=tuple((x, d + rng.normal(0.0, errors.diameter_mm)) for x, d in log.stations),
    )


def _ends(problem: Problem, house: Cabin, plan: Plan) -> _Ends:
    """Where the diameter at every end comes from, and how far its notch lets the gap change."""
    inset = problem.params.station_inset_mm
    number = {log.id: n for n, log in enumerate(problem.logs)}
    by_place = {piece.place: piece for piece in plan.pieces}
    report = judge(problem, plan)
    heights = report.heights[house.id]
    shape = (len(house.walls), house.rounds, 2)
    ends = _Ends(
        log=np.full(shape, -1, np.int64),
        station=np.zeros(shape, np.int64),
        part=np.zeros(shape),
        read=np.zeros(shape),
        tilt=np.zeros(shape[:2]),
        least=np.full(shape, -np.inf),
        most=np.full(shape, np.inf),
    )
    for w, wall in enumerate(house.walls):
        for r in range(1, house.rounds + 1):
            spans = course_places(house, wall, r, problem.params)
            ends.tilt[w, r - 1] = heights.top_mm[wall.id, r, 0] - heights.top_mm[wall.id, r, 1]
            for e, (i, x) in enumerate(((0, 0.0), (len(spans) - 1, wall.length_mm))):
                ends.read[w, r - 1, e] = heights.diameter_mm[wall.id, r, e]
                piece = by_place.get((house.id, wall.id, r, i))
                if piece is not None:
                    log = problem.logs[number[piece.log]]
                    station, part = _between_stations(log, _spot(piece, *spans[i], x), inset)
                    ends.log[w, r - 1, e] = number[piece.log]
                    ends.station[w, r - 1, e], ends.part[w, r - 1, e] = station, part
    row = {wall.id: w for w, wall in enumerate(house.walls)}
    lowest, highest = problem.params.notch_limit
    for notch in report.notches:
        if notch.cabin == house.id and notch.column < 2:
            at = (row[notch.wall], notch.round - 1, notch.column)
            # A wider gap makes the notch shallower by as much, a tighter one deeper.
            ends.least[at] = min(0.0, notch.depth_mm - highest * notch.diameter_mm)
            ends.most[at] = max(0.0, notch.depth_mm - lowest * notch.diameter_mm)
    return ends


def _spot(piece: Piece, a: float, b: float, x: float) -> float:
    return piece.from_butt_mm + (x - a if piece.butt_at == "start" else b - x)


def _between_stations(log: Log, x: float, inset: float) -> tuple[int, float]:
    """Which two stations (butt, middle, tip, then further ones, by position) and how far between them."""
    at = sorted([inset, log.length_mm / 2.0, log.length_mm - inset, *(s for s, _ in log.stations)])
    i = 0
    while i < len(at) - 2 and x > at[i + 1]:
        i += 1
    return i, (x - at[i]) / (at[i + 1] - at[i])


def _diameter_errors(
    problem: Problem, ends: _Ends, errors: MeasuringErrors, samples: int, rng: np.random.Generator
) -> Floats:
    """True minus read diameter at every end: samples x walls x rounds x 2."""
    most = max((len(log.stations) for log in problem.logs), default=0) + 3
    stations = rng.normal(0.0, errors.diameter_mm, (samples, len(problem.logs) + 1, most))
    stations[:, -1] = 0.0  # the place of an empty end
    near, far = stations[:, ends.log, ends.station], stations[:, ends.log, ends.station + 1]
    return np.asarray(near * (1.0 - ends.part) + far * ends.part)


def _seen(before: Floats, off: Floats, errors: MeasuringErrors, rng: np.random.Generator) -> Floats:
    """What the crew makes of two readings: the log in place, and the chart on the top read before."""
    in_place = off + rng.normal(0.0, errors.top_mm, off.shape)
    by_chart = before + rng.normal(0.0, errors.top_mm, off.shape)
    one, other = errors.top_mm**2, errors.top_mm**2 + errors.diameter_mm**2
    weight = other / (one + other) if one + other > 0.0 else 1.0
    return np.asarray(weight * in_place + (1.0 - weight) * by_chart)


def _steer(seen: Floats, ends: _Ends, r: int, band_mm: float) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Change of the gap at both ends of every wall (samples x walls x 2), and which wanted more."""
    half = 0.5 * (seen[:, :, 0] - seen[:, :, 1])
    wanted = np.stack([-half, half], axis=2)
    least = np.maximum(ends.least[:, r], -band_mm)
    most = np.minimum(ends.most[:, r], band_mm)
    shift = np.clip(wanted, least, most)
    return shift, np.asarray(np.abs(shift - wanted) > 1e-9)


def _summary(worst: Floats, shifts: list[Floats], outside: list[npt.NDArray[np.bool_]]) -> PlateError:
    if not shifts:
        return PlateError(
            mean_mm=float(worst.mean()),
            p90_mm=float(np.percentile(worst, 90)),
            steering_mean_mm=0.0,
            ends_outside=0.0,
            walls_inside=1.0,
        )
    beyond = np.stack(outside)
    # Rounds first, ends last: a wall is inside when none of its ends in any round was outside.
    per_wall = beyond.any(axis=-1) if beyond.ndim == 3 else beyond.any(axis=(0, -1))
    return PlateError(
        mean_mm=float(worst.mean()),
        p90_mm=float(np.percentile(worst, 90)),
        steering_mean_mm=float(np.stack(shifts).mean()),
        ends_outside=float(beyond.mean()),
        walls_inside=float(1.0 - per_wall.mean()),
    )
