"""Packs a problem into flat arrays for the kernels. Rounds count from 1, so index 0 is the deck.

The search's own reading of the wall model: nothing here is shared with the judge in `check.py`.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from planning.core.problem import (
    HalfPlace,
    ProblemCabin,
    ProblemLog,
    ProblemOpening,
    ProblemWall,
    WallProblem,
)
from planning.core.search import arrays
from planning.core.search.arrays import Data, Floats, Ints, Records, State, table
from planning.core.search.kernels import FAR_MM
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


def wall_columns(cabin: ProblemCabin, wall: ProblemWall) -> list[float]:
    """Positions of the crossings along a wall: start, end, tees in the order given."""
    return [0.0, wall.length_mm] + [tee.at_mm for tee in cabin.tees if tee.wall == wall.id]


def wall_courses(
    cabin: ProblemCabin, wall: ProblemWall, split_overlap: float
) -> list[list[tuple[float, float]]]:
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


class PackedPlaces:
    """The places in kernel order, and their keys (cabin, wall, round, piece) as plan pieces have them."""

    def __init__(self, problem: WallProblem) -> None:
        self.keys: list[tuple[str, str, int, int]] = []
        self.rows: list[dict[str, float]] = []
        self.second: dict[int, tuple[str, str, int, int]] = {}
        """Of a place of two half logs, the key of the second; `keys` has the first."""
        self.columns: list[list[tuple[int, float, float]]] = []
        self.courses: list[tuple[int, int, int, int]] = []
        self.walls: list[dict[str, float]] = []
        self.column_rows: list[tuple[int, int]] = []
        self.bases: list[tuple[int, float, float]] = []  # base, start, kerf of a column
        self.flats: list[tuple[int, float]] = []
        self.half_columns: set[int] = set()
        self.gaps: list[list[float]] = []
        self.openings: list[list[ProblemOpening]] = []
        self.cut_rounds: list[list[tuple[int, int]]] = []
        self.crossings: list[tuple[int, int, int]] = []
        self.tops: list[dict[int, float]] = []
        for number, cabin in enumerate(problem.cabins):
            self._add_cabin(problem, number, cabin)

    def _add_cabin(self, problem: WallProblem, number: int, cabin: ProblemCabin) -> None:
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
                    "start": first,
                    "end": first + 1,
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
                    "height": 0.0,
                    "strict": 1,
                }
            )
            self.keys.append((cabin.id, f"member:{member.id}", 0, 0))
            self.columns.append([])

    def _add_halves(
        self,
        problem: WallProblem,
        number: int,
        cabin: ProblemCabin,
        entry: HalfPlace,
        first_column: dict[str, int],
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
                "height": 0.0,
                "strict": 0,
            }
        )

    def _gaps(self, cabin: ProblemCabin, wall: ProblemWall, column: int) -> list[float]:
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
        problem: WallProblem,
        number: int,
        cabin: ProblemCabin,
        wall: ProblemWall,
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
                "height": r - 0.5 * (cabin.rounds + 1),
                "strict": 0,
            }
        )


def _rules(problem: WallProblem) -> Records:
    p, w = problem.params, problem.params.weights
    return table(
        arrays.Rules,
        1,
        **{name: getattr(w, name) for name in arrays.Rules.__annotations__ if hasattr(w, name)},
        spread=w.plate_spread,
        short_mm=w.short_per_mm,
        good_least=p.notch_good[0],
        good_most=p.notch_good[1],
        limit_least=p.notch_limit[0],
        limit_most=p.notch_limit[1],
        jamb_tol=p.jamb_tol_mm,
        trim=p.trim_each_end_mm,
        between=2.0 * p.trim_each_end_mm + p.kerf_mm,
        clear=p.hazard_clear_mm,
        most_pieces=p.max_pieces_per_log,
    )


def _stations(log: ProblemLog, inset: float) -> list[tuple[float, float]]:
    three = [(inset, log.butt_mm), (log.length_mm / 2.0, log.middle_mm), (log.length_mm - inset, log.tip_mm)]
    return sorted([*three, *log.stations])


def _twist(log: ProblemLog) -> float:
    """As the model's grain term: 0 below 1:30, else 20 x slope up to 2; a spiral not measured counts 1."""
    if log.twist is None:
        return float(log.grain != "straight")
    return min(2.0, 20.0 * log.twist) if log.twist >= 1 / 30 else 0.0


def _candidates(problem: WallProblem, places: PackedPlaces) -> tuple[Ints, Ints, Records]:
    """Kind of each place, how many logs may give it, and per kind these logs, thin to thick by middle."""
    params = problem.params
    kinds: dict[tuple[float, float, float], int] = {}
    kind = np.zeros(len(places.rows), np.int64)
    for n, row in enumerate(places.rows):
        crown = row["crown"] if row["strict"] else FAR_MM
        kind[n] = kinds.setdefault((row["len"], row["least"], crown), len(kinds))
    order = sorted(range(len(problem.logs)), key=lambda i: (problem.logs[i].middle_mm, i))
    cand = table(arrays.Candidate, (max(1, len(kinds)), max(1, len(problem.logs))), log=-1, rank=-1)
    counts = np.zeros(len(cand), np.int64)
    cull = params.cull_longest_mm if params.cull_longest_mm is not None else FAR_MM
    for (length, least, crown), c in kinds.items():
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
                cand["log"][c, counts[c]] = i
                cand["rank"][c, i] = counts[c]
                counts[c] += 1
    return kind, counts[kind], cand


def _begin_end(name: str, counts: list[int]) -> dict[str, Ints]:
    """Where each of several runs that lie one behind the other begins and ends."""
    ends = np.cumsum([0, *counts])
    return {name: ends[:-1], f"{name}_end": ends[1:]}


def _pack_places(problem: WallProblem, places: PackedPlaces) -> tuple[Records, Records, Records]:
    """The places, their columns, and the logs that may give them."""
    kind, logs, cand = _candidates(problem, places)
    pl = table(
        arrays.SearchPlace,
        len(places.rows),
        **pack_keep(problem, places.keys),
        **_begin_end("cols", [len(columns) for columns in places.columns]),
        kind=kind,
        logs=logs,
    )
    for p, row in enumerate(places.rows):
        for name in row.keys() - {"strict"}:
            pl[name][p] = row[name]
    lengths = np.sort(pl["len"])
    pl["alike"] = np.searchsorted(lengths, pl["len"], "left")
    pl["alike_end"] = np.searchsorted(lengths, pl["len"], "right")
    crossed = [column for columns in places.columns for column in columns]
    pc = table(arrays.PlaceColumn, len(crossed))
    pc[:] = crossed
    return pl, pc, cand


def _pack_walls(places: PackedPlaces) -> tuple[Records, Records, Records]:
    """Courses, walls and openings."""
    rows, walls = places.rows, places.walls
    co = table(arrays.Course, len(places.courses))
    for n, (first, pieces, wall, r) in enumerate(places.courses):
        course = rows[first : first + pieces]
        jamb = not all(row["first"] for row in course) or not all(row["last"] for row in course)
        co[n] = (first, pieces, wall, r, jamb)
    wa = table(
        arrays.SearchWall,
        len(walls),
        **{name: [wall[name] for wall in walls] for name in ("cab", "low", "len", "start", "end")},
        **_begin_end("ops", [len(wall) for wall in places.openings]),
    )
    openings = [o for wall in places.openings for o in wall]
    cut_rounds = [rounds for wall in places.cut_rounds for rounds in wall]
    op = table(
        arrays.SearchOpening,
        len(openings),
        start=[o.offset_mm for o in openings],
        end=[o.offset_mm + o.width_mm for o in openings],
        below=[below for below, _ in cut_rounds],
        above=[above for _, above in cut_rounds],
        sill=[o.sill_mm for o in openings],
        head=[o.head_mm + o.space_mm for o in openings],
    )
    return co, wa, op


def _pack_columns(places: PackedPlaces, rounds: int) -> tuple[Records, Records, Floats, Records]:
    """Columns, crossings, and per column and round the gap and the measured top."""
    columns = len(places.column_rows)
    cr = table(
        arrays.SearchCrossing,
        len(places.crossings),
        low=[c[0] for c in places.crossings],
        high=[c[1] for c in places.crossings],
        cab=[c[2] for c in places.crossings],
        half=[c[1] in places.half_columns for c in places.crossings],
    )
    cl = table(arrays.SearchColumn, columns)
    for n, row in enumerate(zip(places.column_rows, places.bases, places.flats, strict=True)):
        (wall, end), base, flat = row
        cl[n] = (wall, 0, end, *base, *flat)
    for side in ("low", "high"):
        cl["cross"][cr[side]] = np.arange(len(cr))
    gap, top = np.zeros((columns, rounds)), table(arrays.SearchTop, (columns, rounds))
    for n in range(columns):
        gap[n, : len(places.gaps[n])] = places.gaps[n]
        for r, height in places.tops[n].items():
            top[n, r] = (1, height)
    return cl, cr, gap, top


def _pack_cabins(problem: WallProblem, places: PackedPlaces, rounds: int) -> tuple[Records, Records]:
    """Cabins, and per cabin and round the weight of out of level and the pieces."""
    cabins, weights = problem.cabins, problem.params.weights
    count = range(len(cabins))
    low_ends = [sum(2.0 for w in places.walls if w["cab"] == n and w["low"]) for n in count]
    ca = table(
        arrays.SearchCabin,
        len(cabins),
        rounds=[cabin.rounds for cabin in cabins],
        gap=[cabin.gap_mm for cabin in cabins],
        **_begin_end("crosses", [sum(c[2] == n for c in places.crossings) for n in count]),
        **_begin_end("walls", [len(cabin.walls) for cabin in cabins]),
        low_ends=low_ends,
        ends=[2.0 * len(cabin.walls) for cabin in cabins],
    )
    ro = table(arrays.Round, (len(cabins), rounds))
    for level, cabin in zip(ro["level"], cabins, strict=True):
        level[1 : cabin.rounds + 1] = weights.level * np.arange(1, cabin.rounds + 1) / cabin.rounds
        level[cabin.rounds] = weights.level_plate
        level[max(1, cabin.rounds - 2) : cabin.rounds + 1] += weights.late_level
    for row in places.rows:
        ro["pieces"][int(row["cab"]), int(row["round"])] += row["wall"] >= 0
    return ca, ro


def _pack_logs(problem: WallProblem, lengths: list[float]) -> tuple[Records, Records, Records]:
    """Logs, their stations and their hazards."""
    logs, params = problem.logs, problem.params
    stations = [_stations(log, params.station_inset_mm) for log in logs]
    lg = table(
        arrays.SearchLog,
        len(logs),
        len=[log.length_mm for log in logs],
        stations=[len(s) for s in stations],
        mid=[log.middle_mm for log in logs],
        crown=[log.crown_mm for log in logs],
        culled=[log.culled for log in logs],
        twist=[_twist(log) for log in logs],
        spiral=[spiral_of(log, params.grain_binds) for log in logs],
        hazards=[len(log.hazards) for log in logs],
        **pack_long(problem, lengths),
    )
    st = table(arrays.SearchStation, (len(logs), max(lg["stations"], default=3)))
    hz = table(arrays.SearchHazard, (len(logs), max(1, max(lg["hazards"], default=1))))
    for i, log in enumerate(logs):
        for j, (here, there) in enumerate(pairwise([*stations[i], stations[i][-1]])):
            slope = (there[1] - here[1]) / (there[0] - here[0]) if there[0] > here[0] else 0.0
            st[i, j] = (*here, slope)
        for j, hazard in enumerate(log.hazards):
            hz[i, j] = (hazard.from_butt_mm, hazard.kind == "metal")
    return lg, st, hz


def pack(problem: WallProblem) -> tuple[Data, PackedPlaces]:
    """All arrays of the problem, and the places in the order the arrays have them."""
    places = PackedPlaces(problem)
    rounds = 1 + max(cabin.rounds for cabin in problem.cabins)
    pl, pc, cand = _pack_places(problem, places)
    co, wa, op = _pack_walls(places)
    cl, cr, gap, top = _pack_columns(places, rounds)
    ca, ro = _pack_cabins(problem, places, rounds)
    lg, st, hz = _pack_logs(problem, [row["len"] for row in places.rows])
    data = Data(
        rules=_rules(problem)[0],
        pl=pl,
        pc=pc,
        co=co,
        wa=wa,
        cl=cl,
        cr=cr,
        op=op,
        ca=ca,
        ro=ro,
        lg=lg,
        st=st,
        hz=hz,
        gap=gap,
        top=top,
        cand=cand,
        alike=np.argsort(pl["len"], kind="stable"),
    )
    return data, places


def empty_state(data: Data) -> State:
    """All places empty; `kernels.rebuild` fills in the heights and costs."""
    cabins, rounds = data.ro.shape
    logs, columns = len(data.lg), len(data.cl)
    return State(
        p=table(arrays.Laid, len(data.pl), log=-1),
        lg=table(arrays.Given, logs),
        lg_p=np.full((logs, int(data.rules["most_pieces"])), -1, np.int64),
        dia=np.zeros((columns, rounds)),
        tops=np.zeros((columns, rounds)),
        rise=np.zeros((cabins, rounds)),
        mids=np.zeros((cabins, rounds)),
        cross_cost=np.zeros((len(data.cr), rounds)),
        level_cost=np.zeros((len(data.wa), rounds)),
        spread=np.zeros(cabins),
        open_cost=np.zeros(len(data.wa)),
        jamb=np.zeros(len(data.co)),
    )


def copy_state(state: State) -> State:
    """A state of its own with the same content."""
    return State._make(array.copy() for array in state)
