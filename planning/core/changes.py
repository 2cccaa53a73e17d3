"""What a new plan changes against the one in force, change by change, and what each one gains.

Places whose logs trade with each other change together: a cycle of trades is one change. Each change can be
made without the others, for what it touches shares no wood with them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, replace

from inventory.core.crew_units import Sentence
from planning.core.check import Report, judge
from planning.core.problem import PlanPiece, WallPlan, WallProblem
from planning.core.sawing import onto_parts
from planning.core.what_if import Place, place_lengths_mm

SAME_MM = 1e-6
HARDLY_MM = 5.0
"""A cut that slides by less, and nothing else, is no change: the plan in force stands."""
TOLD_POINTS = 0.5
MOST_CHANGES = 40
"""Each change is judged by itself; where there are more, the last is all the others together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What a change gains, or costs, by one term of the objective; `points` less are better."""

    term: str
    points: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceChange:
    """What lies in a place before and after; None: nothing."""

    place: Place
    before: PlanPiece | None
    after: PlanPiece | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanChange:
    """Places that change together. `is_forced`: the plan in force cannot stand there any more.

    `objective_change`, without what leaving the plan in force costs: made alone, after the forced ones.
    """

    places: tuple[PlaceChange, ...]
    is_forced: bool
    objective_change: float
    gains: tuple[Gain, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """Every change, forced ones first, then by what they gain; `stands`: the plan with the forced ones."""

    changes: tuple[PlanChange, ...]
    stands: WallPlan
    unchanged: int


def changes_between(problem: WallProblem, in_force: Iterable[PlanPiece], after: WallPlan) -> Changes:
    """The changes from the pieces of the plan in force to `after`, which was made for `problem`.

    `in_force` may name whole logs where the problem has their parts.
    """
    problem = replace(problem, keep=())
    before = _before(problem, in_force)
    now = {piece.place: piece for piece in after.pieces}
    held = {piece.place for piece in problem.pinned}
    groups = _groups(before, now)
    told = [(group, _is_forced(group, before, now, held)) for group in groups]
    stands = _plan(after, before | {p: now[p] for group, forced in told if forced for p in group if p in now})
    made = [_change(problem, stands, group, before, now, is_forced=forced) for group, forced in told]
    unchanged = len(now) - sum(len(group) for group in groups)
    ordered = sorted(made, key=lambda one: (not one.is_forced, one.objective_change, one.places[0].place))
    return Changes(changes=tuple(ordered), stands=stands, unchanged=unchanged)


def places_changed(problem: WallProblem, in_force: Iterable[PlanPiece], after: WallPlan) -> int:
    """How many places the plan in force fills otherwise than `after`, or not at all."""
    groups = _groups(_before(problem, in_force), {piece.place: piece for piece in after.pieces})
    return sum(len(group) for group in groups)


def _before(problem: WallProblem, in_force: Iterable[PlanPiece]) -> dict[Place, PlanPiece]:
    """What stands without the new plan: what a lead's word pins since is a change of it as any other."""
    pieces = list(in_force)
    open_places = {piece.place for piece in pieces}
    lying = tuple(piece for piece in problem.pinned if piece.place not in open_places)
    return standing_pieces(replace(problem, pinned=lying), pieces)


def taken(found: Changes, chosen: Iterable[int]) -> WallPlan:
    """The plan in force with its forced changes and those `chosen`, by their number among the changes."""
    pieces = {piece.place: piece for piece in found.stands.pieces}
    for number in chosen:
        for one in found.changes[number].places:
            pieces.pop(one.place, None)
            if one.after is not None:
                pieces[one.place] = one.after
    return _plan(found.stands, pieces)


def standing_pieces(problem: WallProblem, in_force: Iterable[PlanPiece]) -> dict[Place, PlanPiece]:
    """What is pinned, and of the plan in force what can lie beside it: by place."""
    lengths = place_lengths_mm(problem)
    usable = {log.id for log in problem.logs} - problem.excluded
    ends = {log.id: log.length_mm - problem.params.trim_each_end_mm for log in problem.logs}
    standing = {piece.place: piece for piece in problem.pinned}
    cuts: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for piece in standing.values():
        cuts[piece.log].append((piece.from_butt_mm, piece.from_butt_mm + lengths[piece.place]))
    apart = 2.0 * problem.params.trim_each_end_mm + problem.params.kerf_mm
    for piece in onto_parts(problem, in_force):
        if piece.place in standing or piece.place not in lengths or piece.log not in usable:
            continue
        near, far = piece.from_butt_mm, piece.from_butt_mm + lengths[piece.place]
        is_within = far <= ends[piece.log] + SAME_MM
        # Two halves of one part begin at one cut.
        if is_within and all(
            far + apart <= a + SAME_MM or near >= b + apart - SAME_MM or abs(near - a) <= SAME_MM
            for a, b in cuts[piece.log]
        ):
            standing[piece.place] = piece
            cuts[piece.log].append((near, far))
    return standing


def _plan(of: WallPlan, pieces: Mapping[Place, PlanPiece]) -> WallPlan:
    return WallPlan(problem=of.problem, pieces=tuple(pieces.values()))


def _differ(one: PlanPiece | None, other: PlanPiece | None) -> bool:
    if one is None or other is None:
        return one is not other
    return (one.log, one.butt_at) != (other.log, other.butt_at) or (
        abs(one.from_butt_mm - other.from_butt_mm) > SAME_MM
    )


def _groups(before: Mapping[Place, PlanPiece], now: Mapping[Place, PlanPiece]) -> list[tuple[Place, ...]]:
    """The places that differ, those that share a log together; the smallest beyond MOST_CHANGES as one."""
    changed = [place for place in sorted({*before, *now}) if _differ(before.get(place), now.get(place))]
    leader = {place: place for place in changed}

    def root(place: Place) -> Place:
        while leader[place] != place:
            place = leader[place]
        return place

    first: dict[str, Place] = {}
    for place in changed:
        for piece in (before.get(place), now.get(place)):
            if piece is not None:
                leader[root(place)] = root(first.setdefault(piece.log, place))
    groups: dict[Place, list[Place]] = defaultdict(list)
    for place in changed:
        groups[root(place)].append(place)
    found = [tuple(group) for group in groups.values() if not _hardly(group, before, now)]
    found.sort(key=len, reverse=True)
    rest = [place for group in found[MOST_CHANGES - 1 :] for place in group]
    return [*found[: MOST_CHANGES - 1], tuple(rest)] if len(found) > MOST_CHANGES else found


def _hardly(
    group: Sequence[Place], before: Mapping[Place, PlanPiece], now: Mapping[Place, PlanPiece]
) -> bool:
    for place in group:
        one, other = before.get(place), now.get(place)
        if one is None or other is None or (one.log, one.butt_at) != (other.log, other.butt_at):
            return False
        if abs(one.from_butt_mm - other.from_butt_mm) >= HARDLY_MM:
            return False
    return True


def _is_forced(
    group: Sequence[Place],
    before: Mapping[Place, PlanPiece],
    now: Mapping[Place, PlanPiece],
    held: Set[Place],
) -> bool:
    """Whether a place that the new plan fills stands empty otherwise, or the log there is pinned now."""
    return any(place in now and (place not in before or place in held) for place in group)


def _change(
    problem: WallProblem,
    stands: WallPlan,
    group: Sequence[Place],
    before: Mapping[Place, PlanPiece],
    now: Mapping[Place, PlanPiece],
    *,
    is_forced: bool,
) -> PlanChange:
    pieces = {piece.place: piece for piece in stands.pieces}
    other = before if is_forced else now
    changed = {place: piece for place, piece in pieces.items() if place not in group}
    changed |= {place: other[place] for place in group if place in other}
    one, two = stands, _plan(stands, changed)
    if is_forced:  # what it gains against leaving the places as they would stand
        one, two = two, one
    reports = _judged(problem, one, two, {place[0] for place in group})
    gains = _gains(problem, *reports)
    return PlanChange(
        places=tuple(
            PlaceChange(place=place, before=before.get(place), after=now.get(place)) for place in group
        ),
        is_forced=is_forced,
        objective_change=reports[1].objective - reports[0].objective,
        gains=tuple(sorted(gains, key=lambda gain: gain.points)),
    )


def _judged(problem: WallProblem, one: WallPlan, two: WallPlan, cabins: set[str]) -> tuple[Report, Report]:
    """Both plans, judged in the cabins that differ and those that share their logs."""
    logs = {piece.log for plan in (one, two) for piece in plan.pieces if piece.cabin in cabins}
    cabins = cabins | {p.cabin for plan in (one, two) for p in plan.pieces if p.log in logs}
    part = replace(
        problem,
        cabins=tuple(cabin for cabin in problem.cabins if cabin.id in cabins),
        pinned=tuple(piece for piece in problem.pinned if piece.cabin in cabins),
    )
    first, second = (
        judge(part, replace(plan, pieces=tuple(p for p in plan.pieces if p.cabin in cabins)))
        for plan in (one, two)
    )
    return first, second


_LESS: dict[str, tuple[str, str]] = {
    "corner": ("corners climb {by:across} more evenly", "corners climb {by:across} less evenly"),
    "plate_spread": ("plate tops {by:across} nearer each other", "plate tops {by:across} farther apart"),
    "big_low": ("rounds thin {by:across} better upward", "rounds thin {by:across} worse upward"),
    "crown": ("{by:across} less bow", "{by:across} more bow"),
    "notch": ("notches {by:across} nearer the best depth", "notches {by:across} farther from the best depth"),
    "jamb": ("{by:across} less step at openings", "{by:across} more step at openings"),
    "waste": ("{by:along} less wood in no piece", "{by:along} more wood in no piece"),
    "opening": ("{by:across} less cut or filled at openings", "{by:across} more cut or filled at openings"),
    "late_level": (
        "the last rounds {by:across} nearer level",
        "the last rounds {by:across} farther from level",
    ),
    "knot": ("fewer knots at notches and cuts", "more knots at notches and cuts"),
    "culled": ("fewer culled logs used", "more culled logs used"),
    "hard": ("fewer notches beyond their limit", "more notches beyond their limit"),
    "grain": ("spiral grain lies lower", "spiral grain lies higher"),
    "alternate": ("butts change ends more often", "butts change ends less often"),
    "long": ("long logs kept for what needs them", "a long log used where a shorter one would do"),
    "short": ("fills what stands empty", "leaves a place empty"),
}


def _gains(problem: WallProblem, one: Report, two: Report) -> list[Gain]:
    weights = problem.params.weights
    found = []
    for term, (better, worse) in _LESS.items():
        points = two.terms[term] - one.terms[term]
        weight = getattr(weights, term)
        if abs(points) >= TOLD_POINTS and weight > 0:
            words = Sentence(better if points < 0 else worse, by=abs(points) / weight)
            found.append(Gain(term=term, points=points, words=words))
    level = two.terms["level"] - one.terms["level"]
    if abs(level) >= TOLD_POINTS:
        found.append(Gain(term="level", points=level, words=_level_words(one, two, better=level < 0)))
    return found


def _level_words(one: Report, two: Report, *, better: bool) -> str:
    """The wall and round that come nearest to level, or go farthest from it."""
    by, wall, round_no = max(
        ((_out(one, cabin, wall, r) - _out(two, cabin, wall, r)) * (1 if better else -1), wall, r)
        for cabin, heights in one.heights.items()
        for (wall, r, column) in heights.top_mm
        if column == 0 and r > 0
    )
    side = "nearer level" if better else "farther from level"
    return Sentence(f"wall {{wall}} {{by:across}} {side} after round {round_no}", wall=wall, by=by)


def _out(report: Report, cabin: str, wall: str, round_no: int) -> float:
    tops = report.heights[cabin].top_mm
    return abs(tops[wall, round_no, 0] - tops[wall, round_no, 1])
