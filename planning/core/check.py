"""The judge: scores a plan straight from the definitions in docs/planner.md, in plain Python.

It shares no code with the search and is slow on purpose, so that one can check the other. Lengths in mm.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise

from planning.core.grain_binding import breaks_grain_rule
from planning.core.heights import Heights, heights_of, rise_mm
from planning.core.places import (
    columns_mm,
    columns_of_half,
    course_places,
    crossings,
    cut_through,
    half_key,
    part_length_mm,
)
from planning.core.problem import (
    SPARE_TIMES,
    WEIGHT_NAMES,
    HalfPlace,
    Params,
    PlanPiece,
    ProblemCabin,
    ProblemLog,
    ProblemWall,
    WallPlan,
    WallProblem,
    Weights,
)

TERMS = tuple(name for name in WEIGHT_NAMES if name not in ("level_plate", "short_per_mm"))
SLACK_MM = 1e-6
LATE_ROUNDS = 3
"""How many rounds at the top `late_level` weighs, the plate's among them."""
STRAIGHT_BELOW = 1 / 30
"""Spiral grain flatter than this counts as straight (published log building standards, section 2.A)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedNotch:
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
class SpareLeft:
    """Logs to spare, each long enough for a piece of `length_mm`: how many were counted, and are left."""

    length_mm: float
    counted: int
    left: int


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
    spare: list[SpareLeft]
    heights: dict[str, Heights]
    notches: list[JudgedNotch]


@dataclass(slots=True, kw_only=True)
class _Tally:
    """What the judge adds up while it walks through a plan."""

    weights: Weights
    terms: dict[str, float] = field(default_factory=lambda: dict.fromkeys(TERMS, 0.0))
    errors: list[str] = field(default_factory=list)
    metal: int = 0
    grain_broken: int = 0
    keep_entries: int = 0
    kept: int = 0
    empty: list[tuple[float, float]] = field(default_factory=list)
    plate_mm: list[float] = field(default_factory=list)
    levels_mm: list[float] = field(default_factory=list)
    even_levels_mm: list[float] = field(default_factory=list)
    mismatch_mm: list[float] = field(default_factory=list)
    spreads_mm: list[float] = field(default_factory=list)
    notches: list[JudgedNotch] = field(default_factory=list)
    notch_off: int = 0
    notch_beyond: int = 0
    cuts: dict[str, list[tuple[float, float]]] = field(default_factory=lambda: defaultdict(list))
    heights: dict[str, Heights] = field(default_factory=dict)
    lengths_mm: list[float] = field(default_factory=list)

    def charge(self, term: str, amount: float) -> None:
        self.terms[term] += getattr(self.weights, term) * amount

    def leave_empty(self, length_mm: float, nominal_mm: float) -> None:
        self.charge("short", 1.0)
        self.terms["short"] += self.weights.short_per_mm * length_mm
        self.empty.append((length_mm, nominal_mm))


def diameter_at(log: ProblemLog, from_butt_mm: float, *, station_inset_mm: float) -> float:
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


def grain_severity(log: ProblemLog) -> float:
    """0 for straight grain; 1 for a spiral of 1:20 or of unknown slope, in proportion up to 2 for 1:10."""
    if log.twist is not None:
        return 0.0 if log.twist < STRAIGHT_BELOW else min(2.0, 20.0 * log.twist)
    return 0.0 if log.grain == "straight" else 1.0


def judge(problem: WallProblem, plan: WallPlan, *, weights: Weights | None = None) -> Report:
    """Score `plan`; `weights` replace the problem's own. A faulty plan is reported, never refused."""
    tally = _Tally(weights=weights or problem.params.weights)
    logs = {log.id: log for log in problem.logs}
    by_place: dict[tuple[str, str, int, int], PlanPiece] = {}
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
    _judge_keep(problem, by_place, known, tally)
    wasted, used = _judge_logs(problem, logs, tally)
    return _report(tally, wasted, used, _spare_left(problem, tally))


def _judge_choices(
    problem: WallProblem, by_place: dict[tuple[str, str, int, int], PlanPiece], tally: _Tally
) -> None:
    pinned = {piece.place: piece for piece in problem.pinned}
    for place, piece in pinned.items():
        if by_place.get(place) != piece:
            tally.errors.append(f"pinned piece moved {place}")
    for place, piece in by_place.items():
        if piece.log in problem.excluded and place not in pinned:
            tally.errors.append(f"excluded log {piece.log}")


def _judge_cabin(
    problem: WallProblem,
    cabin: ProblemCabin,
    by_place: dict[tuple[str, str, int, int], PlanPiece],
    logs: dict[str, ProblemLog],
    tally: _Tally,
) -> set[tuple[str, str, int, int]]:
    params = problem.params
    diameter: dict[tuple[str, int, int], float] = {}
    middles: dict[int, list[float]] = {r: [] for r in range(1, cabin.rounds + 1)}
    known = set()
    for wall in cabin.walls:
        below_ends = (0, 0)
        for r in range(1, cabin.rounds + 1):
            spans = course_places(cabin, wall, r, params)
            pieces = [by_place.get((cabin.id, wall.id, r, i)) for i in range(len(spans))]
            known |= {(cabin.id, wall.id, r, i) for i in range(len(spans))}
            _judge_course(problem, cabin, wall, r, spans, pieces, logs, diameter, middles[r], tally)
            below = [by_place.get((cabin.id, wall.id, r - 1, i)) for i in below_ends]
            ends = [pieces[0], pieces[-1]]
            below_ends = (0, len(spans) - 1)
            if r > 1:
                tally.charge("alternate", _same_way(ends, below))
    for entry in cabin.half_places:
        known |= _judge_halves(problem, cabin, entry, by_place, logs, diameter, tally)
    for r in range(1, cabin.rounds):
        rise = sum(middles[r + 1]) / len(middles[r + 1]) - sum(middles[r]) / len(middles[r])
        tally.charge("big_low", max(0.0, rise))
    heights = heights_of(cabin, diameter)
    tally.heights[cabin.id] = heights
    _judge_levels(cabin, heights.top_mm, tally)
    _judge_crossings(params, cabin, heights, tally)
    _judge_openings(params, cabin, heights, tally)
    return known


def _same_way(ends: list[PlanPiece | None], below: list[PlanPiece | None]) -> float:
    """Half for each end of the wall at which butt lies over butt, or tip over tip."""
    return sum(
        0.5
        for upper, lower in zip(ends, below, strict=True)
        if upper is not None and lower is not None and upper.butt_at == lower.butt_at
    )


def _judge_course(
    problem: WallProblem,
    cabin: ProblemCabin,
    wall: ProblemWall,
    round_no: int,
    spans: list[tuple[float, float]],
    pieces: list[PlanPiece | None],
    logs: dict[str, ProblemLog],
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
        tally.lengths_mm.append(b - a)
        if piece is None:
            tally.leave_empty(b - a, nominal)
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
            _judge_piece(params, log, piece, b - a, [_in_log(piece, a, b, x) for x in inside], limit, tally)
            if breaks_grain_rule(params, cabin, wall, round_no, (a, b), log):
                tally.grain_broken += 1
                tally.charge("hard", 1.0)
            if cabin.rounds > 1:
                tally.charge("grain", grain_severity(log) * (round_no - 1) / (cabin.rounds - 1))
            for n, x in enumerate(columns):
                if x in inside:
                    diameter[wall.id, round_no, n] = _at(params, log, piece, a, b, x)
            ends = (_at(params, log, piece, a, b, a), _at(params, log, piece, a, b, b))
        jambs += [(a, ends[0])] if i or a > -wall.overhangs_mm[0] + SLACK_MM else []
        at_end = i == len(spans) - 1 and b >= wall.length_mm + wall.overhangs_mm[1] - SLACK_MM
        jambs += [] if at_end else [(b, ends[1])]
    first, last = diameter[wall.id, round_no, 0], diameter[wall.id, round_no, 1]
    for x, d in jambs:
        off = abs(d - (first + (last - first) * x / wall.length_mm))
        tally.charge("jamb", max(0.0, off - params.jamb_tol_mm))


def _in_log(piece: PlanPiece, a: float, b: float, x: float) -> float:
    """Distance from the log's butt of the point `x` of a piece that lies from `a` to `b`."""
    return piece.from_butt_mm + (x - a if piece.butt_at == "start" else b - x)


def _at(params: Params, log: ProblemLog, piece: PlanPiece, a: float, b: float, x: float) -> float:
    return diameter_at(log, _in_log(piece, a, b, x), station_inset_mm=params.station_inset_mm)


def _judge_piece(
    params: Params,
    log: ProblemLog,
    piece: PlanPiece,
    length_mm: float,
    crossed_at: list[float],
    crown_limit_mm: float,
    tally: _Tally,
) -> None:
    """Cuts, crown, cull and hazards of one part of a log; `crossed_at` are its notches, from the butt."""
    tally.cuts[log.id].append((piece.from_butt_mm, piece.from_butt_mm + length_mm))
    bow = log.crown_mm * (length_mm / log.length_mm) ** 2
    tally.charge("crown", max(0.0, bow - crown_limit_mm))
    if log.culled and params.cull_longest_mm is not None and length_mm > params.cull_longest_mm + SLACK_MM:
        tally.errors.append(f"culled log {log.id} in a long place")
    spots = [piece.from_butt_mm, piece.from_butt_mm + length_mm, *crossed_at]
    for hazard in log.hazards:
        if min(abs(hazard.from_butt_mm - s) for s in spots) < params.hazard_clear_mm:
            if hazard.kind == "metal":
                tally.metal += 1
                tally.errors.append(f"metal in {log.id} at a notch or cut")
            else:
                tally.charge("knot", 1.0)


def _judge_halves(
    problem: WallProblem,
    cabin: ProblemCabin,
    entry: HalfPlace,
    by_place: dict[tuple[str, str, int, int], PlanPiece],
    logs: dict[str, ProblemLog],
    diameter: dict[tuple[str, int, int], float],
    tally: _Tally,
) -> set[tuple[str, str, int, int]]:
    """One log part ripped into one or two halves; cuts, crown, hazards and grain count once."""
    params, nominal = problem.params, cabin.pitch_mm - cabin.gap_mm
    keys = [half_key(cabin, half) for half in entry.halves]
    pieces = [by_place.get(key) for key in keys]
    length = part_length_mm(entry)
    tally.lengths_mm.append(length)
    cuts = {None if p is None else (p.log, p.from_butt_mm, p.butt_at) for p in pieces}
    if len(cuts) > 1:
        tally.errors.append(f"the halves {keys[0]} and {keys[-1]} are not of one log part")
    part = pieces[0]
    if part is None:
        tally.leave_empty(length, nominal)
    spots: list[float] = []
    broken = False
    for half, piece in zip(entry.halves, pieces, strict=True):
        a, b = half.start_mm, half.end_mm
        for n, x in columns_of_half(cabin, half):
            diameter[half.wall, 0, n] = (
                nominal if piece is None else _at(params, logs[piece.log], piece, a, b, x)
            )
        if piece is not None:
            spots += [_in_log(piece, a, b, x) for _, x in columns_of_half(cabin, half)]
            spots.append(piece.from_butt_mm + b - a)
            (wall,) = (w for w in cabin.walls if w.id == half.wall)
            broken = broken or breaks_grain_rule(params, cabin, wall, 0, (a, b), logs[piece.log])
    if part is not None:
        _judge_piece(params, logs[part.log], part, length, spots, params.crown_limit_sill_plate_mm, tally)
        if broken:
            tally.grain_broken += 1
            tally.charge("hard", 1.0)
    return set(keys)


def _judge_keep(
    problem: WallProblem,
    by_place: dict[tuple[str, str, int, int], PlanPiece],
    known: set[tuple[str, str, int, int]],
    tally: _Tally,
) -> None:
    """What leaves the plan in force. A log or a place that is gone cannot be kept and costs nothing."""
    usable = {log.id for log in problem.logs} - problem.excluded
    second = {
        half_key(cabin, half) for cabin in problem.cabins for e in cabin.half_places for half in e.halves[1:]
    }
    for kept in problem.keep:
        old = kept.piece
        if old.place not in known or old.place in second or old.log not in usable:
            continue
        tally.keep_entries += 1
        price = (1.0 + 3.0 / (1.0 + kept.due_rounds)) * (3.0 if kept.prepared else 1.0)
        now = by_place.get(old.place)
        if now is None or now.log != old.log:
            tally.charge("keep", price)
        elif now.butt_at != old.butt_at:
            tally.charge("keep", 0.5 * price)
        else:
            tally.kept += 1
            if abs(now.from_butt_mm - old.from_butt_mm) > SLACK_MM:
                tally.charge("keep", 0.25 * price)


def _judge_openings(params: Params, cabin: ProblemCabin, heights: Heights, tally: _Tally) -> None:
    """How far the logs below and above each hole are off its sill and head: mean of both jambs, in mm."""
    for opening in cabin.openings:
        rounds = cut_through(cabin, opening, params)
        (wall,) = (w for w in cabin.walls if w.id == opening.wall)
        jambs = (opening.offset_mm, opening.offset_mm + opening.width_mm)
        edges = []
        if rounds and rounds[0] > 1:
            edges.append((heights.top_mm, rounds[0] - 1, opening.sill_mm))
        if rounds and rounds[-1] < cabin.rounds:
            edges.append((_undersides(heights), rounds[-1] + 1, opening.head_mm + opening.space_mm))
        for of, r, wanted in edges:
            first, last = of[wall.id, r, 0], of[wall.id, r, 1]
            off = [abs(first + (last - first) * x / wall.length_mm - wanted) for x in jambs]
            tally.charge("opening", sum(off) / 2.0)


def _undersides(heights: Heights) -> dict[tuple[str, int, int], float]:
    """Where undersides lie once the logs lie: measured tops less the diameter, too."""
    return {spot: heights.top_mm[spot] - d for spot, d in heights.diameter_mm.items()}


def _judge_levels(cabin: ProblemCabin, tops: dict[tuple[str, int, int], float], tally: _Tally) -> None:
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
            if r > last - LATE_ROUNDS:
                tally.charge("late_level", out)
    for start in ("low", "high"):
        final = [tops[w.id, last, end] for w in cabin.walls if w.start == start for end in (0, 1)]
        tally.spreads_mm.append(max(final) - min(final))
        tally.charge("plate_spread", max(final) - min(final))


def _judge_crossings(
    params: Params,
    cabin: ProblemCabin,
    heights: Heights,
    tally: _Tally,
) -> None:
    diameter, tops, underside = heights.diameter_mm, heights.top_mm, heights.underside_mm
    halves = {
        (half.wall, n)
        for entry in cabin.half_places
        for half in entry.halves
        for n, _ in columns_of_half(cabin, half)
    }
    for r in range(1, cabin.rounds + 1):
        rises = [rise_mm(cabin, w, r, diameter[w.id, r, end]) for w in cabin.walls for end in (0, 1)]
        half_rise = 0.5 * sum(rises) / len(rises)
        for (low, n), (high, m) in crossings(cabin):
            mismatch = abs(tops[high, r, m] - tops[low, r, n] - half_rise)
            tally.mismatch_mm.append(mismatch)
            tally.charge("corner", mismatch)
            cut = [(high, m, low, tops[low, r, n] - underside[high, r, m])]
            if r > 1 or (high, m) in halves:
                cut.append((low, n, high, tops[high, r - 1, m] - underside[low, r, n]))
            for wall, column, over, depth in cut:
                notch = JudgedNotch(
                    cabin=cabin.id,
                    wall=wall,
                    round=r,
                    column=column,
                    over=over,
                    depth_mm=depth,
                    diameter_mm=diameter[wall, r, column],
                )
                _judge_notch(params, notch, tally)


def _judge_notch(params: Params, notch: JudgedNotch, tally: _Tally) -> None:
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
    problem: WallProblem,
    cabin: ProblemCabin,
    by_place: dict[tuple[str, str, int, int], PlanPiece],
    logs: dict[str, ProblemLog],
    tally: _Tally,
) -> set[tuple[str, str, int, int]]:
    params, known = problem.params, set()
    for member in cabin.members:
        place = (cabin.id, f"member:{member.id}", 0, 0)
        known.add(place)
        piece = by_place.get(place)
        tally.lengths_mm.append(member.length_mm)
        if piece is None:
            tally.leave_empty(member.length_mm, member.least_middle_mm)
            continue
        log = logs[piece.log]
        b = member.length_mm
        _judge_piece(params, log, piece, b, [], member.crown_limit_mm, tally)
        if log.crown_mm * (b / log.length_mm) ** 2 > member.crown_limit_mm + SLACK_MM:
            tally.errors.append(f"{log.id} is too crooked for member {member.id}")
        if _at(params, log, piece, 0.0, b, b / 2.0) < member.least_middle_mm - SLACK_MM:
            tally.errors.append(f"{log.id} is too thin for member {member.id}")
    return known


def _judge_logs(problem: WallProblem, logs: dict[str, ProblemLog], tally: _Tally) -> tuple[float, float]:
    params = problem.params
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
        tally.charge("long", _long_lost(problem, log, max(b - a for a, b in cuts), tally.lengths_mm))
        wasted += left
        used += log.length_mm
    return wasted, used


def _long_lost(problem: WallProblem, log: ProblemLog, longest_mm: float, lengths_mm: list[float]) -> float:
    """Metres between the longest place a log can fill and the longest it fills, by how much it is needed.

    Needed: places, members and spares of that length or longer, over the logs that can give it, at most 1;
    with spares among them three times that.
    """
    trims = 2.0 * problem.params.trim_each_end_mm
    could = max((n for n in lengths_mm if n <= log.length_mm - trims + SLACK_MM), default=0.0)
    if could <= longest_mm + SLACK_MM:
        return 0.0
    needed = sum(n >= could - SLACK_MM for n in lengths_mm)
    spare = sum(s.count for s in problem.spare if s.length_mm >= could - SLACK_MM)
    giving = sum(
        other.length_mm - trims >= could - SLACK_MM
        for other in problem.logs
        if other.id not in problem.excluded
    )
    times = SPARE_TIMES if spare else 1.0
    return times * min(1.0, (needed + spare) / max(1, giving)) * (could - longest_mm) / 1000.0


def _spare_left(problem: WallProblem, tally: _Tally) -> list[SpareLeft]:
    """What is left of the spare counted: whole logs, the longest for the longest, whatever their middle."""
    trims = 2.0 * problem.params.trim_each_end_mm
    left = sorted(
        log.length_mm - trims
        for log in problem.logs
        if not (log.id in tally.cuts or log.id in problem.excluded or log.culled or log.is_sawn)
    )
    rows = []
    for spare in sorted(problem.spare, key=lambda spare: -spare.length_mm):
        found = 0
        while found < spare.count and left and left[-1] >= spare.length_mm - SLACK_MM:
            left.pop()
            found += 1
        rows.append(SpareLeft(length_mm=spare.length_mm, counted=spare.count, left=found))
    return rows


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


def _report(tally: _Tally, wasted_mm: float, used_mm: float, spare: list[SpareLeft]) -> Report:
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
        "grain_broken": float(tally.grain_broken),
        "keep_entries": float(tally.keep_entries),
        "kept": float(tally.kept),
        "short_places": float(short),
        "logs_used": float(len(tally.cuts)),
        "waste_mm": wasted_mm,
        "used_mm": used_mm,
        "waste_pct": 100.0 * wasted_mm / max(1.0, used_mm),
    }
    return Report(
        objective=sum(tally.terms.values()),
        feasible=not (tally.errors or tally.notch_beyond or tally.grain_broken or short),
        complete=not short,
        errors=tally.errors,
        terms=tally.terms,
        metrics=metrics,
        shortages=_shortages(tally.empty),
        spare=spare,
        heights=tally.heights,
        notches=tally.notches,
    )
