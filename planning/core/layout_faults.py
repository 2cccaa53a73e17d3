"""Faults between the parts of a problem that reading field by field cannot see."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from inventory.core.finding import Finding
from planning.core.places import columns_mm, course_places, half_key, part_length_mm
from planning.core.problem import Half, ProblemCabin, ProblemWall, WallProblem

SLACK_MM = 1e-6


def blame_layout(problem: WallProblem) -> list[Finding]:
    """Everything in the problem that does not fit together; an empty list means it can be planned."""
    faults: list[Finding] = []
    for n, cabin in enumerate(problem.cabins):
        at = f"/cabins/{n}"
        found = [*_blame_corners(cabin, at), *_blame_openings(cabin, at)]
        found += _blame_walls_named(cabin, at)
        found += _blame_tees(problem, cabin, at) if not found else []
        found += _blame_halves(cabin, at) if not found else []
        faults += found
    for n, log in enumerate(problem.logs):
        inset = problem.params.station_inset_mm
        spots = [inset, log.length_mm / 2.0, log.length_mm - inset, *(x for x, _ in log.stations)]
        if log.length_mm <= 2.0 * inset:
            faults.append(Finding(pointer=f"/logs/{n}/length", text="is too short to have three stations"))
        elif len(set(spots)) < len(spots):
            faults.append(Finding(pointer=f"/logs/{n}/stations", text="stand twice at one spot of the log"))
    return faults or _blame_choices(problem)


def _blame_corners(cabin: ProblemCabin, at: str) -> list[Finding]:
    faults: list[Finding] = []
    starts = {wall.id: wall.start for wall in cabin.walls}
    if len(starts) < len(cabin.walls):
        return [Finding(pointer=f"{at}/walls", text="two walls have the same id")]
    crossing: dict[int, list[str]] = defaultdict(list)
    for wall in cabin.walls:
        for corner in wall.corners:
            crossing[corner].append(wall.start)
    for n, tee in enumerate(cabin.tees):
        if tee.wall not in starts:
            faults.append(Finding(pointer=f"{at}/tees/{n}/wall", text=f"there is no wall {tee.wall}"))
        else:
            crossing[tee.corner].append(starts[tee.wall])
    for corner, who in sorted(crossing.items()):
        if sorted(who) != ["high", "low"]:
            reason = f"at corner {corner} one low and one high wall must cross, found {', '.join(who)}"
            faults.append(Finding(pointer=f"{at}/walls", text=reason))
    if not cabin.walls:
        faults.append(Finding(pointer=f"{at}/walls", text="must name the walls"))
    ids = Counter(member.id for member in cabin.members)
    if any(count > 1 for count in ids.values()):
        faults.append(Finding(pointer=f"{at}/members", text="two members have the same id"))
    return faults


def _blame_openings(cabin: ProblemCabin, at: str) -> list[Finding]:
    faults: list[Finding] = []
    lengths = {wall.id: wall.length_mm for wall in cabin.walls}
    for n, opening in enumerate(cabin.openings):
        here = f"{at}/openings/{n}"
        if opening.wall not in lengths:
            faults.append(Finding(pointer=f"{here}/wall", text=f"there is no wall {opening.wall}"))
        elif opening.offset_mm + opening.width_mm >= lengths[opening.wall]:
            faults.append(Finding(pointer=here, text="reaches over the wall's end corner"))
        if opening.head_mm <= opening.sill_mm:
            faults.append(Finding(pointer=f"{here}/head", text="must lie above the sill"))
    return faults


def _blame_tees(problem: WallProblem, cabin: ProblemCabin, at: str) -> list[Finding]:
    """Openings that meet in one course, and tees that fall into an opening or beside the wall."""
    faults: list[Finding] = []
    for wall in cabin.walls:
        columns = columns_mm(cabin, wall)
        if any(not 0.0 < x < wall.length_mm for x in columns[2:]):
            faults.append(Finding(pointer=f"{at}/tees", text=f"a tee lies beyond the ends of wall {wall.id}"))
        if wall.id in cabin.courses_mm:
            faults += _blame_courses(cabin, wall, f"{at}/courses/{wall.id}")
            continue
        for r in range(1, cabin.rounds + 1):
            spans = course_places(cabin, wall, r, problem.params)
            if any(b <= a for a, b in spans):
                reason = f"two openings of wall {wall.id} meet in round {r}"
                faults.append(Finding(pointer=f"{at}/openings", text=reason))
                break
            if _bare(spans, columns):
                reason = f"an opening of wall {wall.id} lies where another wall crosses it"
                faults.append(Finding(pointer=f"{at}/openings", text=reason))
                break
    return faults


def _bare(spans: Sequence[tuple[float, float]], columns: list[float]) -> bool:
    """Whether a crossing has no log under it; at its end a wall may end at the corner's centre."""
    start, end, *tees = columns
    return any(not any(a <= x <= b for a, b in spans) for x in (start, end)) or any(
        not any(a < x < b for a, b in spans) for x in tees
    )


def _blame_courses(cabin: ProblemCabin, wall: ProblemWall, at: str) -> list[Finding]:
    """Places said outright that reach past the wall's ends, or leave a crossing without a log."""
    faults: list[Finding] = []
    ends = (-wall.overhangs_mm[0], wall.length_mm + wall.overhangs_mm[1])
    for r, spans in enumerate(cabin.courses_mm[wall.id]):
        if spans[0][0] < ends[0] - SLACK_MM or spans[-1][1] > ends[1] + SLACK_MM:
            faults.append(Finding(pointer=f"{at}/{r}", text="reaches past the ends of the wall"))
        if _bare(spans, columns_mm(cabin, wall)):
            faults.append(Finding(pointer=f"{at}/{r}", text="leaves a crossing wall without a log to lie on"))
    return faults


def _blame_halves(cabin: ProblemCabin, at: str) -> list[Finding]:
    faults: list[Finding] = []
    walls = {wall.id: wall for wall in cabin.walls}
    taken: dict[str, list[Half]] = defaultdict(list)
    for n, entry in enumerate(cabin.half_places):
        for i, half in enumerate(entry.halves):
            here = f"{at}/half_places/{n}/halves/{i}"
            wall = walls.get(half.wall)
            wanted = "low" if half.round else "high"
            if wall is None or wall.start != wanted:
                faults.append(Finding(pointer=f"{here}/wall", text=f"there is no {wanted} wall {half.wall}"))
                continue
            if half.round not in (0, cabin.rounds + 1):
                faults.append(Finding(pointer=f"{here}/round", text="is neither 0 nor the one over the last"))
            if half.round and any(half.start_mm <= x <= half.end_mm for x in columns_mm(cabin, wall)):
                faults.append(Finding(pointer=here, text="lies over a wall that crosses"))
            ends = (-wall.overhangs_mm[0], wall.length_mm + wall.overhangs_mm[1])
            if half.start_mm < ends[0] - SLACK_MM or half.end_mm > ends[1] + SLACK_MM:
                faults.append(Finding(pointer=here, text="reaches past the ends of the wall"))
            for other in taken[half.wall]:
                if other.piece == half.piece:
                    faults.append(Finding(pointer=f"{here}/piece", text="the same place stands twice"))
                elif other.start_mm < half.end_mm and half.start_mm < other.end_mm:
                    faults.append(Finding(pointer=here, text="lies where another half log lies"))
            taken[half.wall].append(half)
    return faults


def _blame_walls_named(cabin: ProblemCabin, at: str) -> list[Finding]:
    """Heights and places of walls that do not exist, and heights at more tees than there are."""
    columns = {wall.id: len(columns_mm(cabin, wall)) for wall in cabin.walls}
    built = cabin.as_built
    parts: list[tuple[str, dict[str, int]]] = [
        ("as_built/tops", {w: max(map(len, rows), default=0) for w, rows in built.tops_mm.items()}),
        ("as_built/planned", {w: max(map(len, rows), default=0) for w, rows in built.planned_mm.items()}),
        ("start_heights", {wall: len(row) for wall, row in cabin.start_heights_mm.items()}),
        ("courses", dict.fromkeys(cabin.courses_mm, 0)),
    ]
    faults = []
    for part, walls in parts:
        for wall, heights in walls.items():
            if wall not in columns:
                faults.append(Finding(pointer=f"{at}/{part}/{wall}", text=f"there is no wall {wall}"))
            elif heights > columns[wall]:
                reason = f"wall {wall} has two ends and {columns[wall] - 2} tees"
                faults.append(Finding(pointer=f"{at}/{part}/{wall}", text=reason))
    return faults


def _blame_choices(problem: WallProblem) -> list[Finding]:
    """Pinned pieces and excluded logs that name nothing, and pinned pieces that cannot lie there."""
    faults: list[Finding] = []
    logs = {log.id: log for log in problem.logs}
    lengths: dict[tuple[str, str, int, int], float] = {}
    for cabin in problem.cabins:
        for wall in cabin.walls:
            for r in range(1, cabin.rounds + 1):
                for i, (a, b) in enumerate(course_places(cabin, wall, r, problem.params)):
                    lengths[cabin.id, wall.id, r, i] = b - a
        for entry in cabin.half_places:
            lengths |= {half_key(cabin, half): part_length_mm(entry) for half in entry.halves}
        for member in cabin.members:
            lengths[cabin.id, f"member:{member.id}", 0, 0] = member.length_mm
    taken: set[tuple[str, str, int, int]] = set()
    for n, piece in enumerate(problem.pinned):
        at = f"/pinned/{n}"
        if piece.place not in lengths:
            faults.append(Finding(pointer=at, text="there is no such place"))
        elif piece.log not in logs:
            faults.append(Finding(pointer=f"{at}/log", text=f"there is no log {piece.log}"))
        elif piece.place in taken:
            faults.append(Finding(pointer=at, text="the place is pinned twice"))
        taken.add(piece.place)
    faults += _blame_split_parts(problem)
    unknown = sorted(problem.excluded - logs.keys())
    return faults + [Finding(pointer="/excluded", text=f"there is no log {log_id}") for log_id in unknown]


def _blame_split_parts(problem: WallProblem) -> list[Finding]:
    """Pinned half logs whose other half is not pinned to the same part of the same log."""
    pinned = {piece.place: (piece.log, piece.from_butt_mm, piece.butt_at) for piece in problem.pinned}
    faults = []
    for cabin in problem.cabins:
        for entry in cabin.half_places:
            if len({pinned.get(half_key(cabin, half)) for half in entry.halves}) > 1:
                wall = entry.halves[0].wall
                reason = f"the half log of wall {wall} is pinned and its other half is not, or not beside it"
                faults.append(Finding(pointer="/pinned", text=reason))
    return faults
