"""The judge: scores a plan straight from the definitions in docs/planner.md, in plain Python.

It shares no code with the search and is slow on purpose, so that one can check the other. Lengths in mm.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise

from planning.core.problem import WEIGHT_NAMES, Cabin, Log, Params, Piece, Plan, Problem, Wall, Weights

TERMS = tuple(name for name in WEIGHT_NAMES if name not in ("level_plate", "short_per_mm"))
SLACK_MM = 1e-6
STRAIGHT_BELOW = 1 / 30
"""Spiral grain flatter than this counts as straight (published log building standards, section 2.A)."""

Column = tuple[str, int]
"""(wall, n): n = 0 the wall's start corner, 1 its end corner, 2 and on the tees along it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """What one cabin's plan gives: diameters and tops by (wall, round, column), the base at round 0."""

    diameter_mm: dict[tuple[str, int, int], float]
    top_mm: dict[tuple[str, int, int], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """A notch of the upper wall's log over the crossing one; `share` of the upper log's diameter."""

    cabin: str
    wall: str
    round: int
    column: int
    over: str
    depth_mm: float
    diameter_mm: float

    @property
    def share(self) -> float:
        return self.depth_mm / self.diameter_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortage:
    """Places of one length that stay empty, and the least middle a log for them should have."""

    length_mm: float
    least_middle_mm: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """The verdict. Feasible: no error, no place empty, no notch beyond its limit."""

    objective: float
    feasible: bool
    complete: bool
    errors: list[str]
    terms: dict[str, float]
    metrics: dict[str, float]
    shortages: list[Shortage]
    heights: dict[str, Heights]
    notches: list[Notch]


@dataclass(slots=True, kw_only=True)
class _Tally:
    """What the judge adds up while it walks through a plan."""

    weights: Weights
    terms: dict[str, float] = field(default_factory=lambda: dict.fromkeys(TERMS, 0.0))
    errors: list[str] = field(default_factory=list)
    metal: int = 0
    empty: list[tuple[float, float]] = field(default_factory=list)
    plate_mm: list[float] = field(default_factory=list)
    levels_mm: list[float] = field(default_factory=list)
    even_levels_mm: list[float] = field(default_factory=list)
    mismatch_mm: list[float] = field(default_factory=list)
    spreads_mm: list[float] = field(default_factory=list)
    notches: list[Notch] = field(default_factory=list)
    notch_off: int = 0
    notch_beyond: int = 0
    cuts: dict[str, list[tuple[float, float]]] = field(default_factory=lambda: defaultdict(list))
    heights: dict[str, Heights] = field(default_factory=dict)

    def charge(self, term: str, amount: float) -> None:
        self.terms[term] += getattr(self.weights, term) * amount


def diameter_at(log: Log, from_butt_mm: float, *, station_inset_mm: float) -> float:
    """Diameter in mm at a point of the log: straight lines between stations, the outer ones run on."""
    points = sorted(
        [
            (station_inset_mm, log.butt_mm),
            (log.length_mm / 2.0, log.middle_mm),
            (log.length_mm - station_inset_mm, log.tip_mm),
            *log.stations,
        ]
    )
    i = 0
    while i < len(points) - 2 and from_butt_mm > points[i + 1][0]:
        i += 1
    (x0, d0), (x1, d1) = points[i], points[i + 1]
    return d0 + (d1 - d0) * (from_butt_mm - x0) / (x1 - x0)


def course_places(cabin: Cabin, wall: Wall, round_no: int, params: Params) -> list[tuple[float, float]]:
    """The places (from, to) of one course, in mm along the wall; an opening that splits it leaves a hole."""
    bottom = cabin.pitch_mm * (round_no - 1) + (cabin.pitch_mm / 2.0 if wall.start == "high" else 0.0)
    edges = [-wall.overhang_mm]
    for opening in sorted((o for o in cabin.openings if o.wall == wall.id), key=lambda o: o.offset_mm):
        overlap = min(bottom + cabin.pitch_mm, opening.head_mm) - max(bottom, opening.sill_mm)
        if overlap > params.split_overlap * cabin.pitch_mm:
            edges += [opening.offset_mm, opening.offset_mm + opening.width_mm]
    edges.append(wall.length_mm + wall.overhang_mm)
    return [(edges[i], edges[i + 1]) for i in range(0, len(edges), 2)]


def crossings(cabin: Cabin) -> list[tuple[Column, Column]]:
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


def columns_mm(cabin: Cabin, wall: Wall) -> list[float]:
    """Where along the wall other walls cross: its two ends, then its tees in the order given."""
    return [0.0, wall.length_mm, *(tee.at_mm for tee in cabin.tees if tee.wall == wall.id)]


def grain_severity(log: Log) -> float:
    """0 for straight grain; 1 for a spiral of 1:20 or of unknown slope, in proportion up to 2 for 1:10."""
    if log.twist is not None:
        return 0.0 if log.twist < STRAIGHT_BELOW else min(2.0, 20.0 * log.twist)
    return 0.0 if log.grain == "straight" else 1.0


def judge(problem: Problem, plan: Plan, *, weights: Weights | None = None) -> Report:
    """Score `plan`; `weights` replace the problem's own. A faulty plan is reported, never refused."""
    tally = _Tally(weights=weights or problem.params.weights)
    logs = {log.id: log for log in problem.logs}
    by_place: dict[tuple[str, str, int, int], Piece] = {}
    for piece in plan.pieces:
        if piece.place in by_place:
            tally.errors.append(f"place filled twice {piece.place}")
        if piece.log not in logs:
            tally.errors.append(f"unknown log {piece.log}")
            continue
        by_place[piece.place] = piece
    _judge_choices(problem, by_place, tally)
    known: set[tuple[str, str, int, int]] = set()
    for cabin in problem.cabins:
        known |= _judge_cabin(problem, cabin, by_place, logs, tally)
        known |= _judge_members(problem, cabin, by_place, logs, tally)
    tally.errors += [f"no such place {place}" for place in by_place if place not in known]
    wasted, used = _judge_logs(problem.params, logs, tally)
    return _report(tally, wasted, used)


def _judge_choices(problem: Problem, by_place: dict[tuple[str, str, int, int], Piece], tally: _Tally) -> None:
    pinned = {piece.place: piece for piece in problem.pinned}
    for place, piece in pinned.items():
        if by_place.get(place) != piece:
            tally.errors.append(f"pinned piece moved {place}")
    for place, piece in by_place.items():
        if piece.log in problem.excluded and place not in pinned:
            tally.errors.append(f"excluded log {piece.log}")


def _judge_cabin(
    problem: Problem,
    cabin: Cabin,
    by_place: dict[tuple[str, str, int, int], Piece],
    logs: dict[str, Log],
    tally: _Tally,
) -> set[tuple[str, str, int, int]]:
    params = problem.params
    diameter: dict[tuple[str, int, int], float] = {}
    middles: dict[int, list[float]] = {r: [] for r in range(1, cabin.rounds + 1)}
    known = set()
    for wall in cabin.walls:
        for r in range(1, cabin.rounds + 1):
            spans = course_places(cabin, wall, r, params)
            pieces = [by_place.get((cabin.id, wall.id, r, i)) for i in range(len(spans))]
            known |= {(cabin.id, wall.id, r, i) for i in range(len(spans))}
            _judge_course(problem, cabin, wall, r, spans, pieces, logs, diameter, middles[r], tally)
    for r in range(1, cabin.rounds):
        rise = sum(middles[r + 1]) / len(middles[r + 1]) - sum(middles[r]) / len(middles[r])
        tally.charge("big_low", max(0.0, rise))
    tops = tops_mm(cabin, diameter)
    tally.heights[cabin.id] = Heights(diameter_mm=diameter, top_mm=tops)
    _judge_levels(cabin, tops, tally)
    _judge_crossings(params, cabin, diameter, tops, tally)
    return known


def _judge_course(
    problem: Problem,
    cabin: Cabin,
    wall: Wall,
    round_no: int,
    spans: list[tuple[float, float]],
    pieces: list[Piece | None],
    logs: dict[str, Log],
    diameter: dict[tuple[str, int, int], float],
    middles: list[float],
    tally: _Tally,
) -> None:
    params = problem.params
    nominal = cabin.pitch_mm - cabin.gap_mm
    columns = columns_mm(cabin, wall)
    jambs: list[tuple[float, float]] = []
    for i, ((a, b), piece) in enumerate(zip(spans, pieces, strict=True)):
        inside = [x for x in columns if a <= x <= b]
        if piece is None:
            tally.charge("short", 1.0)
            tally.terms["short"] += tally.weights.short_per_mm * (b - a)
            tally.empty.append((b - a, nominal))
            middles.append(nominal)
            ends = (nominal, nominal)
            for n, x in enumerate(columns):
                if x in inside:
                    diameter[wall.id, round_no, n] = nominal
        else:
            log = logs[piece.log]
            middles.append(log.middle_mm)
            strict = round_no in (1, cabin.rounds)
            limit = params.crown_limit_sill_plate_mm if strict else params.crown_limit_other_mm
            _judge_piece(params, log, piece, a, b, inside, limit, tally)
            if cabin.rounds > 1:
                tally.charge("grain", grain_severity(log) * (round_no - 1) / (cabin.rounds - 1))
            for n, x in enumerate(columns):
                if x in inside:
                    diameter[wall.id, round_no, n] = _at(params, log, piece, a, b, x)
            ends = (_at(params, log, piece, a, b, a), _at(params, log, piece, a, b, b))
        jambs += [(a, ends[0])] if i else []
        jambs += [(b, ends[1])] if i < len(spans) - 1 else []
    first, last = diameter[wall.id, round_no, 0], diameter[wall.id, round_no, 1]
    for x, d in jambs:
        off = abs(d - (first + (last - first) * x / wall.length_mm))
        tally.charge("jamb", max(0.0, off - params.jamb_tol_mm))


def _in_log(piece: Piece, a: float, b: float, x: float) -> float:
    """Distance from the log's butt of the point `x` of a piece that lies from `a` to `b`."""
    return piece.from_butt_mm + (x - a if piece.butt_at == "start" else b - x)


def _at(params: Params, log: Log, piece: Piece, a: float, b: float, x: float) -> float:
    return diameter_at(log, _in_log(piece, a, b, x), station_inset_mm=params.station_inset_mm)


def _judge_piece(
    params: Params,
    log: Log,
    piece: Piece,
    a: float,
    b: float,
    crossed_at: list[float],
    crown_limit_mm: float,
    tally: _Tally,
) -> None:
    tally.cuts[log.id].append((piece.from_butt_mm, piece.from_butt_mm + b - a))
    bow = log.crown_mm * ((b - a) / log.length_mm) ** 2
    tally.charge("crown", max(0.0, bow - crown_limit_mm))
    if log.culled and params.cull_longest_mm is not None and b - a > params.cull_longest_mm + SLACK_MM:
        tally.errors.append(f"culled log {log.id} in a long place")
    spots = [_in_log(piece, a, b, x) for x in (a, b, *crossed_at)]
    for hazard in log.hazards:
        if min(abs(hazard.from_butt_mm - s) for s in spots) < params.hazard_clear_mm:
            if hazard.kind == "metal":
                tally.metal += 1
                tally.errors.append(f"metal in {log.id} at a notch or cut")
            else:
                tally.charge("knot", 1.0)


def tops_mm(cabin: Cabin, diameter: dict[tuple[str, int, int], float]) -> dict[tuple[str, int, int], float]:
    """Tops of every column after every round, from diameters; measured tops replace computed ones."""
    low = [wall for wall in cabin.walls if wall.start == "low"]
    first = [diameter[wall.id, 1, end] + cabin.gap_mm for wall in low for end in (0, 1)]
    base_high = 0.5 * sum(first) / len(first)
    tops: dict[tuple[str, int, int], float] = {}
    for wall in cabin.walls:
        for n in range(len(columns_mm(cabin, wall))):
            tops[wall.id, 0, n] = base_high if wall.start == "high" else 0.0
            for r in range(1, cabin.rounds + 1):
                measured = None
                if r <= cabin.as_built.round and n < 2 and wall.id in cabin.as_built.tops_mm:
                    measured = cabin.as_built.tops_mm[wall.id][r - 1][n]
                computed = tops[wall.id, r - 1, n] + diameter[wall.id, r, n] + cabin.gap_mm
                tops[wall.id, r, n] = computed if measured is None else measured
    return tops


def _judge_levels(cabin: Cabin, tops: dict[tuple[str, int, int], float], tally: _Tally) -> None:
    last = cabin.rounds
    for r in range(1, last + 1):
        for wall in cabin.walls:
            out = abs(tops[wall.id, r, 0] - tops[wall.id, r, 1])
            tally.levels_mm.append(out)
            if r % 2 == 0:
                tally.even_levels_mm.append(out)
            if r == last:
                tally.plate_mm.append(out)
                tally.terms["level"] += tally.weights.level_plate * out
            else:
                tally.charge("level", out * r / last)
    for start in ("low", "high"):
        final = [tops[w.id, last, end] for w in cabin.walls if w.start == start for end in (0, 1)]
        tally.spreads_mm.append(max(final) - min(final))
        tally.charge("plate_spread", max(final) - min(final))


def _judge_crossings(
    params: Params,
    cabin: Cabin,
    diameter: dict[tuple[str, int, int], float],
    tops: dict[tuple[str, int, int], float],
    tally: _Tally,
) -> None:
    gap = cabin.gap_mm
    for r in range(1, cabin.rounds + 1):
        rises = [diameter[wall.id, r, end] + gap for wall in cabin.walls for end in (0, 1)]
        half_rise = 0.5 * sum(rises) / len(rises)
        for (low, n), (high, m) in crossings(cabin):
            mismatch = abs(tops[high, r, m] - tops[low, r, n] - half_rise)
            tally.mismatch_mm.append(mismatch)
            tally.charge("corner", mismatch)
            cut = [(high, m, low, tops[low, r, n] - (tops[high, r - 1, m] + gap))]
            if r > 1:
                cut.append((low, n, high, tops[high, r - 1, m] - (tops[low, r - 1, n] + gap)))
            for wall, column, over, depth in cut:
                notch = Notch(
                    cabin=cabin.id,
                    wall=wall,
                    round=r,
                    column=column,
                    over=over,
                    depth_mm=depth,
                    diameter_mm=diameter[wall, r, column],
                )
                _judge_notch(params, notch, tally)


def _judge_notch(params: Params, notch: Notch, tally: _Tally) -> None:
    tally.notches.append(notch)
    depth, d = notch.depth_mm, notch.diameter_mm
    off = max(0.0, params.notch_good[0] * d - depth, depth - params.notch_good[1] * d)
    tally.charge("notch", off)
    tally.notch_off += off > SLACK_MM
    least, most = params.notch_limit
    if depth < least * d - SLACK_MM or depth > most * d + SLACK_MM:
        tally.notch_beyond += 1
        tally.charge("hard", 1.0)


def _judge_members(
    problem: Problem,
    cabin: Cabin,
    by_place: dict[tuple[str, str, int, int], Piece],
    logs: dict[str, Log],
    tally: _Tally,
) -> set[tuple[str, str, int, int]]:
    params, known = problem.params, set()
    for member in cabin.members:
        place = (cabin.id, f"member:{member.id}", 0, 0)
        known.add(place)
        piece = by_place.get(place)
        if piece is None:
            tally.charge("short", 1.0)
            tally.terms["short"] += tally.weights.short_per_mm * member.length_mm
            tally.empty.append((member.length_mm, member.least_middle_mm))
            continue
        log = logs[piece.log]
        b = member.length_mm
        _judge_piece(params, log, piece, 0.0, b, [], member.crown_limit_mm, tally)
        if log.crown_mm * (b / log.length_mm) ** 2 > member.crown_limit_mm + SLACK_MM:
            tally.errors.append(f"{log.id} is too crooked for member {member.id}")
        if _at(params, log, piece, 0.0, b, b / 2.0) < member.least_middle_mm - SLACK_MM:
            tally.errors.append(f"{log.id} is too thin for member {member.id}")
    return known


def _judge_logs(params: Params, logs: dict[str, Log], tally: _Tally) -> tuple[float, float]:
    wasted = used = 0.0
    trim = params.trim_each_end_mm
    for log_id, cuts in tally.cuts.items():
        log = logs[log_id]
        cuts.sort()
        if len(cuts) > params.max_pieces_per_log:
            tally.errors.append(f"too many pieces from {log_id}")
        if cuts[0][0] < trim - SLACK_MM or cuts[-1][1] > log.length_mm - trim + SLACK_MM:
            tally.errors.append(f"piece does not fit in {log_id}")
        for (_, end), (begin, _) in pairwise(cuts):
            if begin - end < 2.0 * trim + params.kerf_mm - SLACK_MM:
                tally.errors.append(f"pieces overlap in {log_id}")
        left = log.length_mm - sum(b - a for a, b in cuts)
        tally.charge("waste", left)
        tally.charge("culled", float(log.culled))
        wasted += left
        used += log.length_mm
    return wasted, used


def _shortages(empty: list[tuple[float, float]]) -> list[Shortage]:
    counts: dict[tuple[float, float], int] = defaultdict(int)
    for place in empty:
        counts[place] += 1
    return [
        Shortage(length_mm=length, least_middle_mm=middle, count=count)
        for (length, middle), count in sorted(counts.items(), reverse=True)
    ]


def _mean(values: list[float]) -> float:
    return sum(values) / len(values) if values else 0.0


def _report(tally: _Tally, wasted_mm: float, used_mm: float) -> Report:
    short = len(tally.empty)
    metrics = {
        "max_plate_out_of_level": max(tally.plate_mm, default=0.0),
        "mean_plate_out_of_level": _mean(tally.plate_mm),
        "mean_corner_mismatch": _mean(tally.mismatch_mm),
        "max_corner_mismatch": max(tally.mismatch_mm, default=0.0),
        "max_level_any": max(tally.levels_mm, default=0.0),
        "mean_level_pairs": _mean(tally.even_levels_mm),
        "plate_spread_max": max(tally.spreads_mm, default=0.0),
        "notches": float(len(tally.notches)),
        "notch_off": float(tally.notch_off),
        "notch_beyond": float(tally.notch_beyond),
        "metal": float(tally.metal),
        "short_places": float(short),
        "logs_used": float(len(tally.cuts)),
        "waste_mm": wasted_mm,
        "used_mm": used_mm,
        "waste_pct": 100.0 * wasted_mm / max(1.0, used_mm),
    }
    return Report(
        objective=sum(tally.terms.values()),
        feasible=not tally.errors and not tally.notch_beyond and not short,
        complete=not short,
        errors=tally.errors,
        terms=tally.terms,
        metrics=metrics,
        shortages=_shortages(tally.empty),
        heights=tally.heights,
        notches=tally.notches,
    )
