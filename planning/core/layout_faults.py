"""Faults between the parts of a problem that reading field by field cannot see."""

from __future__ import annotations

from collections import Counter, defaultdict

from planning.core.check import columns_mm, course_places
from planning.core.problem import Cabin, Problem
from planning.core.reading import Fault


def blame_layout(problem: Problem) -> list[Fault]:
    """Everything in the problem that does not fit together; an empty list means it can be planned."""
    faults: list[Fault] = []
    for n, cabin in enumerate(problem.cabins):
        at = f"/cabins/{n}"
        found = [*_blame_corners(cabin, at), *_blame_openings(cabin, at)]
        found += _blame_tees(problem, cabin, at) if not found else []
        found += _blame_as_built(cabin, at)
        faults += found
    for n, log in enumerate(problem.logs):
        inset = problem.params.station_inset_mm
        spots = [inset, log.length_mm / 2.0, log.length_mm - inset, *(x for x, _ in log.stations)]
        if log.length_mm <= 2.0 * inset:
            faults.append(Fault(pointer=f"/logs/{n}/length", reason="is too short to have three stations"))
        elif len(set(spots)) < len(spots):
            faults.append(Fault(pointer=f"/logs/{n}/stations", reason="stand twice at one spot of the log"))
    return faults or _blame_choices(problem)


def _blame_corners(cabin: Cabin, at: str) -> list[Fault]:
    faults: list[Fault] = []
    starts = {wall.id: wall.start for wall in cabin.walls}
    if len(starts) < len(cabin.walls):
        return [Fault(pointer=f"{at}/walls", reason="two walls have the same id")]
    crossing: dict[int, list[str]] = defaultdict(list)
    for wall in cabin.walls:
        for corner in wall.corners:
            crossing[corner].append(wall.start)
    for n, tee in enumerate(cabin.tees):
        if tee.wall not in starts:
            faults.append(Fault(pointer=f"{at}/tees/{n}/wall", reason=f"there is no wall {tee.wall}"))
        else:
            crossing[tee.corner].append(starts[tee.wall])
    for corner, who in sorted(crossing.items()):
        if sorted(who) != ["high", "low"]:
            reason = f"at corner {corner} one low and one high wall must cross, found {', '.join(who)}"
            faults.append(Fault(pointer=f"{at}/walls", reason=reason))
    if not cabin.walls:
        faults.append(Fault(pointer=f"{at}/walls", reason="must name the walls"))
    ids = Counter(member.id for member in cabin.members)
    if any(count > 1 for count in ids.values()):
        faults.append(Fault(pointer=f"{at}/members", reason="two members have the same id"))
    return faults


def _blame_openings(cabin: Cabin, at: str) -> list[Fault]:
    faults: list[Fault] = []
    lengths = {wall.id: wall.length_mm for wall in cabin.walls}
    for n, opening in enumerate(cabin.openings):
        here = f"{at}/openings/{n}"
        if opening.wall not in lengths:
            faults.append(Fault(pointer=f"{here}/wall", reason=f"there is no wall {opening.wall}"))
        elif opening.offset_mm + opening.width_mm >= lengths[opening.wall]:
            faults.append(Fault(pointer=here, reason="reaches over the wall's end corner"))
        if opening.head_mm <= opening.sill_mm:
            faults.append(Fault(pointer=f"{here}/head", reason="must lie above the sill"))
    return faults


def _blame_tees(problem: Problem, cabin: Cabin, at: str) -> list[Fault]:
    """Openings that meet in one course, and tees that fall into an opening or beside the wall."""
    faults: list[Fault] = []
    for wall in cabin.walls:
        columns = columns_mm(cabin, wall)
        if any(not 0.0 < x < wall.length_mm for x in columns[2:]):
            faults.append(Fault(pointer=f"{at}/tees", reason=f"a tee lies beyond the ends of wall {wall.id}"))
        for r in range(1, cabin.rounds + 1):
            spans = course_places(cabin, wall, r, problem.params)
            if any(b <= a for a, b in spans):
                reason = f"two openings of wall {wall.id} meet in round {r}"
                faults.append(Fault(pointer=f"{at}/openings", reason=reason))
                break
            if any(not any(a < x < b for a, b in spans) for x in columns):
                reason = f"an opening of wall {wall.id} lies where another wall crosses it"
                faults.append(Fault(pointer=f"{at}/openings", reason=reason))
                break
    return faults


def _blame_as_built(cabin: Cabin, at: str) -> list[Fault]:
    known = {wall.id for wall in cabin.walls}
    return [
        Fault(pointer=f"{at}/as_built/tops/{wall}", reason=f"there is no wall {wall}")
        for wall in cabin.as_built.tops_mm
        if wall not in known
    ]


def _blame_choices(problem: Problem) -> list[Fault]:
    """Pinned pieces and excluded logs that name nothing, and pinned pieces that cannot lie there."""
    faults: list[Fault] = []
    logs = {log.id: log for log in problem.logs}
    lengths: dict[tuple[str, str, int, int], float] = {}
    for cabin in problem.cabins:
        for wall in cabin.walls:
            for r in range(1, cabin.rounds + 1):
                for i, (a, b) in enumerate(course_places(cabin, wall, r, problem.params)):
                    lengths[cabin.id, wall.id, r, i] = b - a
        for member in cabin.members:
            lengths[cabin.id, f"member:{member.id}", 0, 0] = member.length_mm
    taken: set[tuple[str, str, int, int]] = set()
    for n, piece in enumerate(problem.pinned):
        at = f"/pinned/{n}"
        if piece.place not in lengths:
            faults.append(Fault(pointer=at, reason="there is no such place"))
        elif piece.log not in logs:
            faults.append(Fault(pointer=f"{at}/log", reason=f"there is no log {piece.log}"))
        elif piece.place in taken:
            faults.append(Fault(pointer=at, reason="the place is pinned twice"))
        taken.add(piece.place)
    unknown = sorted(problem.excluded - logs.keys())
    return faults + [Fault(pointer="/excluded", reason=f"there is no log {log_id}") for log_id in unknown]
