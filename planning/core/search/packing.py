"""Packs a problem into flat arrays for the kernels. Rounds count from 1, so index 0 is the deck.

The search's own reading of the wall model: nothing here is shared with the judge in `check.py`.
"""

from __future__ import annotations

import numpy as np

from planning.core.problem import Cabin, HalfPlace, Log, Opening, Problem, Wall
from planning.core.search.arrays import Data, Floats, Ints, State
from planning.core.search.kernels import (
    BETWEEN,
    CLEAR,
    FAR_MM,
    GOOD_LEAST,
    GOOD_MOST,
    JAMB_TOL,
    LIMIT_LEAST,
    LIMIT_MOST,
    MOST_PIECES,
    RULES,
    TRIM,
    W_ALTERNATE,
    W_BIG_LOW,
    W_CORNER,
    W_CROWN,
    W_CULLED,
    W_GRAIN,
    W_HARD,
    W_JAMB,
    W_KNOT,
    W_LONG,
    W_NOTCH,
    W_OPENING,
    W_SHORT,
    W_SHORT_MM,
    W_SPREAD,
    W_WASTE,
)
from planning.core.search.parts import (
    SLACK,
    base_of,
    below_and_above,
    flat_of,
    forbidden_spirals,
    pack_keep,
    pack_long,
    rows_at,
    spiral_of,
)


def wall_columns(cabin: Cabin, wall: Wall) -> list[float]:
    """Positions of the crossings along a wall: start, end, tees in the order given."""
    return [0.0, wall.length_mm] + [tee.at_mm for tee in cabin.tees if tee.wall == wall.id]


def wall_courses(cabin: Cabin, wall: Wall, split_overlap: float) -> list[list[tuple[float, float]]]:
    """The places (from, to) of each round of a wall, round 1 first."""
    if wall.id in cabin.courses_mm:
        return [list(course) for course in cabin.courses_mm[wall.id]]
    openings = sorted(
        (o.offset_mm, o.width_mm, o.sill_mm, o.head_mm) for o in cabin.openings if o.wall == wall.id
    )
    lift = 0.5 * cabin.pitch_mm if wall.start == "high" else 0.0
    courses = []
    for r in range(cabin.rounds):
        low = cabin.pitch_mm * r + lift
        high = low + cabin.pitch_mm
        left = -wall.overhangs_mm[0]
        spans = []
        for offset, width, sill, head in openings:
            if min(high, head) - max(low, sill) > split_overlap * cabin.pitch_mm:
                spans.append((left, offset))
                left = offset + width
        spans.append((left, wall.length_mm + wall.overhangs_mm[1]))
        courses.append(spans)
    return courses


class Places:
    """The places in kernel order, and their keys (cabin, wall, round, piece) as plan pieces have them."""

    def __init__(self, problem: Problem) -> None:
        self.keys: list[tuple[str, str, int, int]] = []
        self.rows: list[dict[str, float]] = []
        self.second: dict[int, tuple[str, str, int, int]] = {}
        """Of a place of two half logs, the key of the second; `keys` has the first."""
        self.columns: list[list[tuple[int, float, float]]] = []
        self.courses: list[tuple[int, int, int, int]] = []
        self.walls: list[dict[str, float]] = []
        self.column_rows: list[tuple[int, int]] = []
        self.bases: list[tuple[int, float, float]] = []  # cl_base, cl_start, cl_kerf
        self.flats: list[tuple[int, float]] = []
        self.half_columns: set[int] = set()
        self.gaps: list[list[float]] = []
        self.openings: list[list[Opening]] = []
        self.cut_rounds: list[list[tuple[int, int]]] = []
        self.crossings: list[tuple[int, int, int]] = []
        self.tops: list[dict[int, float]] = []
        for number, cabin in enumerate(problem.cabins):
            self._add_cabin(problem, number, cabin)

    def _add_cabin(self, problem: Problem, number: int, cabin: Cabin) -> None:
        at_corner: dict[int, dict[str, int]] = {}
        tee_corner = {w.id: [t.corner for t in cabin.tees if t.wall == w.id] for w in cabin.walls}
        first_column: dict[str, int] = {}
        for wall in cabin.walls:
            wall_no = len(self.walls)
            positions = wall_columns(cabin, wall)
            first = first_column[wall.id] = len(self.column_rows)
            for n, corner in enumerate([*wall.corners, *tee_corner[wall.id]]):
                at_corner.setdefault(corner, {})[wall.start] = first + n
                self.column_rows.append((wall_no, int(n < 2)))
                self.tops.append(rows_at(cabin, cabin.as_built.tops_mm, wall, n))
                self.bases.append(base_of(cabin, wall, n, positions[n]))
                self.flats.append(flat_of(cabin, wall))
                self.gaps.append(self._gaps(cabin, wall, n))
            self.walls.append(
                {
                    "cab": number,
                    "low": wall.start == "low",
                    "len": wall.length_mm,
                    "c0": first,
                    "c1": first + 1,
                }
            )
            courses = wall_courses(cabin, wall, problem.params.split_overlap)
            self.openings.append([o for o in cabin.openings if o.wall == wall.id])
            self.cut_rounds.append([below_and_above(courses, o) for o in self.openings[-1]])
            for r, spans in enumerate(courses, start=1):
                self.courses.append((len(self.keys), len(spans), wall_no, r))
                for i, (a, b) in enumerate(spans):
                    self._add_place(
                        problem, number, cabin, wall, wall_no, r, i == 0, i == len(spans) - 1, a, b
                    )
                    self.keys.append((cabin.id, wall.id, r, i))
                    self.columns.append(
                        [(first + n, x - a, b - a) for n, x in enumerate(positions) if a <= x <= b]
                    )
        self.crossings += [(pair["low"], pair["high"], number) for pair in at_corner.values()]
        for entry in cabin.half_places:
            self._add_halves(problem, number, cabin, entry, first_column)
        for member in cabin.members:
            self.rows.append(
                {
                    "len": member.length_mm,
                    "short": member.length_mm,
                    "cab": number,
                    "wall": -1,
                    "round": 0,
                    "course": -1,
                    "a": 0.0,
                    "first": 1,
                    "last": 1,
                    "crown": member.crown_limit_mm,
                    "forbid": 0,
                    "least": member.least_middle_mm,
                    "nominal": member.least_middle_mm,
                    "grain": 0.0,
                    "strict": 1,
                }
            )
            self.keys.append((cabin.id, f"member:{member.id}", 0, 0))
            self.columns.append([])

    def _add_halves(
        self, problem: Problem, number: int, cabin: Cabin, entry: HalfPlace, first_column: dict[str, int]
    ) -> None:
        """One place for the log part that gives the halves; their columns stand at round 0."""
        walls = {wall.id: wall for wall in cabin.walls}
        lengths = [half.end_mm - half.start_mm for half in entry.halves]
        keys = [(cabin.id, half.wall, half.round, half.piece) for half in entry.halves]
        columns = []
        for half, length in zip(entry.halves, lengths, strict=True):
            for n, x in enumerate(wall_columns(cabin, walls[half.wall])):
                if half.start_mm <= x <= half.end_mm:
                    column = first_column[half.wall] + n
                    columns.append((column, x - half.start_mm, length))
                    self.half_columns.add(column)
                    if self.bases[column][0] != 2:
                        self.bases[column] = (3, 0.0, entry.kerf_mm)
        if len(keys) > 1:
            self.second[len(self.keys)] = keys[1]
        params = problem.params
        forbidden = [
            forbidden_spirals(problem, cabin, w, 0, (half.start_mm, half.end_mm), wall_columns(cabin, w))
            for half in entry.halves
            for w in (walls[half.wall],)
        ]
        self.keys.append(keys[0])
        self.columns.append(columns)
        self.rows.append(
            {
                "len": max(lengths),
                "short": min(lengths),
                "cab": number,
                "wall": -1,
                "round": 0,
                "course": -1,
                "a": 0.0,
                "first": 1,
                "last": 1,
                "crown": params.crown_limit_sill_plate_mm,
                "forbid": forbidden[0] | forbidden[-1],
                "least": 0.0,
                "nominal": cabin.pitch_mm - cabin.gap_mm,
                "grain": 0.0,
                "strict": 0,
            }
        )

    def _gaps(self, cabin: Cabin, wall: Wall, column: int) -> list[float]:
        """What a top rises beside the diameter, per round from 0: the gap, and what steering mends of it."""
        tops = self.tops[-1]
        planned = rows_at(cabin, cabin.as_built.planned_mm, wall, column)
        gaps, off = [0.0], 0.0
        for r in range(1, cabin.rounds + 1):
            gap = cabin.gap_mm
            if r == 1 and wall.start == "low" and cabin.sill_flat is not None:
                gap = cabin.sill_flat.sealer_mm
            if r in tops:
                off = tops[r] - planned[r] if r in planned and cabin.gap_band_mm is not None else 0.0
            elif off != 0.0 and cabin.gap_band_mm is not None:
                least, most = cabin.gap_mm - cabin.gap_band_mm[0], cabin.gap_band_mm[1] - cabin.gap_mm
                mended = min(off, least) if off > 0.0 else -min(-off, most)
                gap, off = gap - mended, off - mended
            gaps.append(gap)
        return gaps

    def _add_place(
        self,
        problem: Problem,
        number: int,
        cabin: Cabin,
        wall: Wall,
        wall_no: int,
        r: int,
        is_first: bool,
        is_last: bool,
        a: float,
        b: float,
    ) -> None:
        params = problem.params
        at_start = is_first and a <= -wall.overhangs_mm[0] + SLACK
        at_end = is_last and b >= wall.length_mm + wall.overhangs_mm[1] - SLACK
        outer = r in (1, cabin.rounds)
        self.rows.append(
            {
                "len": b - a,
                "short": b - a,
                "cab": number,
                "wall": wall_no,
                "round": r,
                "course": len(self.courses) - 1,
                "a": a,
                "first": int(at_start),
                "last": int(at_end),
                "forbid": forbidden_spirals(problem, cabin, wall, r, (a, b), wall_columns(cabin, wall)),
                "crown": params.crown_limit_sill_plate_mm if outer else params.crown_limit_other_mm,
                "least": 0.0,
                "nominal": cabin.pitch_mm - cabin.gap_mm,
                "grain": (r - 1) / max(1, cabin.rounds - 1),
                "strict": 0,
            }
        )


def _rules(problem: Problem) -> Floats:
    p, w = problem.params, problem.params.weights
    rules = np.zeros(RULES)
    rules[W_CORNER], rules[W_SPREAD], rules[W_BIG_LOW] = w.corner, w.plate_spread, w.big_low
    rules[W_CROWN], rules[W_KNOT], rules[W_NOTCH], rules[W_JAMB] = w.crown, w.knot, w.notch, w.jamb
    rules[W_WASTE], rules[W_CULLED], rules[W_HARD], rules[W_GRAIN] = w.waste, w.culled, w.hard, w.grain
    rules[W_ALTERNATE], rules[W_OPENING], rules[W_LONG] = w.alternate, w.opening, w.long
    rules[W_SHORT], rules[W_SHORT_MM] = w.short, w.short_per_mm
    rules[GOOD_LEAST], rules[GOOD_MOST] = p.notch_good
    rules[LIMIT_LEAST], rules[LIMIT_MOST] = p.notch_limit
    rules[JAMB_TOL], rules[TRIM], rules[CLEAR] = p.jamb_tol_mm, p.trim_each_end_mm, p.hazard_clear_mm
    rules[BETWEEN] = 2.0 * p.trim_each_end_mm + p.kerf_mm
    rules[MOST_PIECES] = p.max_pieces_per_log
    return rules


def _stations(log: Log, inset: float) -> list[tuple[float, float]]:
    three = [(inset, log.butt_mm), (log.length_mm / 2.0, log.middle_mm), (log.length_mm - inset, log.tip_mm)]
    return sorted([*three, *log.stations])


def _twist(log: Log) -> float:
    """As the model's grain term: 0 below 1:30, else 20 x slope up to 2; a spiral not measured counts 1."""
    if log.twist is None:
        return float(log.grain != "straight")
    return min(2.0, 20.0 * log.twist) if log.twist >= 1 / 30 else 0.0


def _candidates(problem: Problem, places: Places) -> tuple[Ints, Ints, Ints, Ints]:
    """Class of each place, and per class the logs that may give it, thin to thick by middle."""
    params = problem.params
    classes: dict[tuple[float, float, float], int] = {}
    pl_class = np.zeros(len(places.rows), np.int64)
    for n, row in enumerate(places.rows):
        crown = row["crown"] if row["strict"] else FAR_MM
        pl_class[n] = classes.setdefault((row["len"], row["least"], crown), len(classes))
    order = sorted(range(len(problem.logs)), key=lambda i: (problem.logs[i].middle_mm, i))
    shape = (max(1, len(classes)), max(1, len(problem.logs)))
    cand, rank, counts = np.full(shape, -1), np.full(shape, -1), np.zeros(shape[0], np.int64)
    cull = params.cull_longest_mm if params.cull_longest_mm is not None else FAR_MM
    for (length, least, crown), c in classes.items():
        for i in order:
            log = problem.logs[i]
            fits = log.length_mm - 2.0 * params.trim_each_end_mm >= length - 1e-9
            bows = log.crown_mm * (length / log.length_mm) ** 2 > crown
            thin = max(d for _, d in _stations(log, params.station_inset_mm)) < least
            if (
                fits
                and not bows
                and not thin
                and log.id not in problem.excluded
                and not (log.culled and length > cull)
            ):
                cand[c, counts[c]] = i
                rank[c, i] = counts[c]
                counts[c] += 1
    return pl_class, cand.astype(np.int64), counts, rank.astype(np.int64)


def pack(problem: Problem) -> tuple[Data, Places]:
    """All arrays of the problem, and the places in the order the arrays have them."""
    places = Places(problem)
    rows, cabins, logs = places.rows, problem.cabins, problem.logs
    most = max(cabin.rounds for cabin in cabins)
    inset = problem.params.station_inset_mm
    stations = [_stations(log, inset) for log in logs]
    widest = max((len(s) for s in stations), default=3)
    hazards = max((len(log.hazards) for log in logs), default=1) or 1
    lg_x, lg_d = np.zeros((len(logs), widest)), np.zeros((len(logs), widest))
    lg_hx, lg_metal = np.zeros((len(logs), hazards)), np.zeros((len(logs), hazards), np.int64)
    for i, log in enumerate(logs):
        lg_x[i, : len(stations[i])] = [x for x, _ in stations[i]]
        lg_d[i, : len(stations[i])] = [d for _, d in stations[i]]
        lg_hx[i, : len(log.hazards)] = [h.from_butt_mm for h in log.hazards]
        lg_metal[i, : len(log.hazards)] = [h.kind == "metal" for h in log.hazards]
    has_top = np.zeros((len(places.column_rows), most + 1), np.int64)
    top = np.zeros(has_top.shape)
    for n, measured in enumerate(places.tops):
        for r, height in measured.items():
            has_top[n, r], top[n, r] = 1, height
    level, mid_n = np.zeros((len(cabins), most + 1)), np.zeros((len(cabins), most + 1))
    weights = problem.params.weights
    for n, cabin in enumerate(cabins):
        level[n, 1 : cabin.rounds + 1] = weights.level * np.arange(1, cabin.rounds + 1) / cabin.rounds
        level[n, cabin.rounds] = weights.level_plate
        level[n, max(1, cabin.rounds - 2) : cabin.rounds + 1] += weights.late_level
    for row in rows:
        mid_n[int(row["cab"]), int(row["round"])] += row["wall"] >= 0
    cl_cross = np.zeros(len(places.column_rows), np.int64)
    for n, (low, high, _) in enumerate(places.crossings):
        cl_cross[low] = cl_cross[high] = n
    gap = np.zeros(has_top.shape)
    for n, column in enumerate(places.gaps):
        gap[n, : len(column)] = column
    pl_class, cand, cand_n, cand_rank = _candidates(problem, places)
    keep_log, keep_lo, keep_flip, keep = pack_keep(problem, places.keys)
    could, need = pack_long(problem, [row["len"] for row in rows])
    openings = [o for wall in places.openings for o in wall]
    cut_rounds = [rounds for wall in places.cut_rounds for rounds in wall]

    def ints(values: object) -> Ints:
        return np.array(values, np.int64)

    def of(key: str) -> Ints:
        return ints([row[key] for row in rows])

    def floats(key: str) -> Floats:
        return np.array([row[key] for row in rows], np.float64)

    walls = places.walls
    low_ends = [sum(2.0 for w in walls if w["cab"] == n and w["low"]) for n in range(len(cabins))]
    data = Data(
        rules=_rules(problem),
        pl_len=floats("len"),
        pl_short=floats("short"),
        pl_cab=of("cab"),
        pl_wall=of("wall"),
        pl_round=of("round"),
        pl_course=of("course"),
        pl_a=floats("a"),
        pl_first=of("first"),
        pl_last=of("last"),
        pl_crown=floats("crown"),
        pl_least=floats("least"),
        pl_nominal=floats("nominal"),
        pl_grain=floats("grain"),
        pl_keep_log=keep_log,
        pl_keep_lo=keep_lo,
        pl_keep_flip=keep_flip,
        pl_keep=keep,
        pl_forbid=of("forbid"),
        pl_class=pl_class,
        pl_col=np.concatenate([[0], np.cumsum([len(c) for c in places.columns])]).astype(np.int64),
        pc_col=ints([c for columns in places.columns for c, _, _ in columns]),
        pc_off=np.array([x for columns in places.columns for _, x, _ in columns], np.float64),
        pc_len=np.array([length for columns in places.columns for _, _, length in columns], np.float64),
        co_first=ints([c[0] for c in places.courses]),
        co_n=ints([c[1] for c in places.courses]),
        co_wall=ints([c[2] for c in places.courses]),
        co_round=ints([c[3] for c in places.courses]),
        co_jamb=ints(
            [
                any(not row["first"] for row in rows[c[0] : c[0] + c[1]])
                or any(not row["last"] for row in rows[c[0] : c[0] + c[1]])
                for c in places.courses
            ]
        ),
        wa_cab=ints([w["cab"] for w in walls]),
        wa_low=ints([w["low"] for w in walls]),
        wa_len=np.array([w["len"] for w in walls], np.float64),
        wa_col=ints([[w["c0"], w["c1"]] for w in walls]),
        cl_wall=ints([w for w, _ in places.column_rows]),
        cl_cross=cl_cross,
        cl_end=ints([e for _, e in places.column_rows]),
        cl_base=ints([base for base, _, _ in places.bases]),
        cl_start=np.array([start for _, start, _ in places.bases], np.float64),
        cl_kerf=np.array([kerf for _, _, kerf in places.bases], np.float64),
        cl_flat=ints([kind for kind, _ in places.flats]),
        cl_flat_mm=np.array([size for _, size in places.flats], np.float64),
        gap=gap,
        cr_low=ints([c[0] for c in places.crossings]),
        cr_high=ints([c[1] for c in places.crossings]),
        cr_cab=ints([c[2] for c in places.crossings]),
        cr_half=ints([c[1] in places.half_columns for c in places.crossings]),
        wa_op=np.concatenate([[0], np.cumsum([len(wall) for wall in places.openings])]).astype(np.int64),
        op_from=np.array([o.offset_mm for o in openings], np.float64),
        op_to=np.array([o.offset_mm + o.width_mm for o in openings], np.float64),
        op_below=ints([below for below, _ in cut_rounds]),
        op_above=ints([above for _, above in cut_rounds]),
        op_sill=np.array([o.sill_mm for o in openings], np.float64),
        op_head=np.array([o.head_mm + o.space_mm for o in openings], np.float64),
        ca_rounds=ints([cabin.rounds for cabin in cabins]),
        ca_gap=np.array([cabin.gap_mm for cabin in cabins], np.float64),
        ca_cross=np.searchsorted([c[2] for c in places.crossings], np.arange(len(cabins) + 1)).astype(
            np.int64
        ),
        ca_wall=np.searchsorted([w["cab"] for w in walls], np.arange(len(cabins) + 1)).astype(np.int64),
        ca_low_ends=np.array(low_ends),
        ca_ends=np.array([2.0 * len(cabin.walls) for cabin in cabins]),
        ca_level=level,
        ca_mid_n=mid_n,
        has_top=has_top,
        top=top,
        lg_len=np.array([log.length_mm for log in logs], np.float64),
        lg_n=ints([len(s) for s in stations]),
        lg_x=lg_x,
        lg_d=lg_d,
        lg_mid=np.array([log.middle_mm for log in logs], np.float64),
        lg_crown=np.array([log.crown_mm for log in logs], np.float64),
        lg_culled=np.array([log.culled for log in logs], np.float64),
        lg_twist=np.array([_twist(log) for log in logs], np.float64),
        lg_spiral=ints([spiral_of(log, problem.params.grain_binds) for log in logs]),
        lg_could=could,
        lg_need=need,
        lg_hazards=ints([len(log.hazards) for log in logs]),
        lg_hx=lg_hx,
        lg_metal=lg_metal,
        cand=cand,
        cand_n=cand_n,
        cand_rank=cand_rank,
    )
    return data, places


def empty_state(data: Data) -> State:
    """All places empty; `kernels.rebuild` fills in the heights and costs."""
    places, columns = len(data.pl_len), len(data.cl_wall)
    cabins, rounds = data.ca_level.shape
    logs, pieces = len(data.lg_len), int(data.rules[MOST_PIECES])
    return State(
        p_log=np.full(places, -1, np.int64),
        p_lo=np.zeros(places),
        p_flip=np.zeros(places, np.int64),
        p_fixed=np.zeros(places, np.int64),
        p_cost=np.zeros(places),
        p_left=np.zeros(places),
        p_right=np.zeros(places),
        dia=np.zeros((columns, rounds)),
        tops=np.zeros((columns, rounds)),
        rise=np.zeros((cabins, rounds)),
        mids=np.zeros((cabins, rounds)),
        cross_cost=np.zeros((len(data.cr_low), rounds)),
        level_cost=np.zeros((len(data.wa_cab), rounds)),
        spread=np.zeros(cabins),
        open_cost=np.zeros(len(data.wa_cab)),
        jamb=np.zeros(len(data.co_first)),
        l_n=np.zeros(logs, np.int64),
        l_p=np.full((logs, pieces), -1, np.int64),
        l_sum=np.zeros(logs),
    )


def copy_state(state: State) -> State:
    """A state of its own with the same content."""
    return State._make(array.copy() for array in state)
