"""What a lead said of logs, as pins and exclusions of a problem: it holds for every plan, whatever it costs.

A log kept for a use is held in a place of that use before the search; where none takes it, it lies unused.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from planning.core.check import judge
from planning.core.problem import PlanPiece, ProblemCabin, WallPlan, WallProblem
from planning.core.what_if import Place, free_stretches_mm, place_lengths_mm

PLACES_TRIED = 12
"""The longest places of its use that a kept log fills are tried in earnest."""
Use = Literal["sill", "plate", "ridge", "cabin"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadWord:
    """What was said of one log.

    `place`: it lies there and nowhere else (`from_butt_mm`, `butt_at`: None: as fits best). `use`: it is kept
    for that, in `cabin` or, None, in any. Neither: it is not used, unless another word or a pin says where.
    """

    log: str
    place: Place | None = None
    from_butt_mm: float | None = None
    butt_at: Literal["start", "end"] | None = None
    use: Use | None = None
    cabin: str | None = None


def heed_lead(
    problem: WallProblem,
    words: Iterable[LeadWord],
    *,
    members: Mapping[Place, str],
    in_force: Sequence[PlanPiece] = (),
) -> WallProblem:
    """The problem with every log that a word speaks of where it says, or unused.

    `members`: the kind of each member's place (`ridge`, `plate`). `in_force`: pieces of the plan in force;
    what already lies as the lead said stays so. What is pinned already goes before.
    """
    spoken = list(words)
    lengths = place_lengths_mm(problem)
    pinned = {piece.place: piece for piece in problem.pinned}
    usable = {log.id for log in problem.logs} - problem.excluded
    last_lying = {piece.log: piece for piece in in_force}
    length_of = {log.id: log.length_mm for log in problem.logs}
    excluded = set(problem.excluded)
    # What names a place goes first, then the longest logs: they have the fewest places to lie in.
    for word in sorted(spoken, key=lambda one: (one.place is None, -length_of.get(one.log, 0.0), one.log)):
        if word.log not in usable or _is_free_here(problem, word):
            continue
        excluded.add(word.log)
        if word.log in {piece.log for piece in pinned.values()}:
            continue
        wanted = [place for place in _places_for(problem, word, members) if place not in pinned]
        piece = _piece_for(problem, word, wanted, lengths, last_lying.get(word.log))
        if piece is not None:
            pinned[piece.place] = piece
    return replace(problem, pinned=tuple(pinned.values()), excluded=frozenset(excluded))


def _is_free_here(problem: WallProblem, word: LeadWord) -> bool:
    """A log kept for the one cabin that is planned may lie anywhere in it."""
    return word.use == "cabin" and all(cabin.id == word.cabin for cabin in problem.cabins)


def _places_for(problem: WallProblem, word: LeadWord, members: Mapping[Place, str]) -> list[Place]:
    if word.place is not None:
        return [word.place]
    if word.use is None or word.use == "cabin":
        return []
    cabins = [cabin for cabin in problem.cabins if word.cabin in (None, cabin.id)]
    found = [
        place for place, kind in members.items() if kind == word.use and place[0] in {c.id for c in cabins}
    ]
    if word.use == "ridge":
        return found
    return found + [place for cabin in cabins for place in _round_places(problem, cabin, word.use)]


def _round_places(problem: WallProblem, cabin: ProblemCabin, use: str) -> list[Place]:
    number = 1 if use == "sill" else cabin.rounds
    walls = {wall.id for wall in cabin.walls}
    return [
        place
        for place in place_lengths_mm(replace(problem, cabins=(cabin,)))
        if place[1] in walls and place[2] == number
    ]


def _piece_for(
    problem: WallProblem,
    word: LeadWord,
    places: Sequence[Place],
    lengths: Mapping[Place, float],
    lying: PlanPiece | None,
) -> PlanPiece | None:
    """The piece of the log for the place it suits best; as it lies in the plan in force if it lies right."""
    if lying is not None and lying.place in places and _as_said(word, lying):
        return lying
    (log,) = (one for one in problem.logs if one.id == word.log)
    tried: list[tuple[float, PlanPiece]] = []
    known = sorted((place for place in places if place in lengths), key=lambda place: -lengths[place])
    fitting = [place for place in known if free_stretches_mm(problem.params, log, lengths[place], ())]
    for place in fitting[:PLACES_TRIED]:
        for least, most in free_stretches_mm(problem.params, log, lengths[place], ()):
            spots = (least, (least + most) / 2.0, most) if word.from_butt_mm is None else (word.from_butt_mm,)
            for at in dict.fromkeys(min(max(spot, least), max(least, most)) for spot in spots):
                tried += _judged_alone(problem, word, place, at)
    return min(tried, key=lambda one: one[0])[1] if tried else None


def _as_said(word: LeadWord, lying: PlanPiece) -> bool:
    is_cut_so = word.from_butt_mm is None or abs(word.from_butt_mm - lying.from_butt_mm) < 1.0
    return is_cut_so and word.butt_at in (None, lying.butt_at)


def _judged_alone(
    problem: WallProblem, word: LeadWord, place: Place, from_butt_mm: float
) -> list[tuple[float, PlanPiece]]:
    """What the piece costs when it lies in its cabin alone; nothing where it must not lie."""
    cabin, wall, number, index = place
    (building,) = (one for one in problem.cabins if one.id == cabin)
    alone = replace(problem, cabins=(building,), pinned=(), excluded=frozenset(), keep=())
    member = wall.removeprefix("member:") if wall.startswith("member:") else None
    found = []
    for butt_at in ("start", "end") if word.butt_at is None else (word.butt_at,):
        piece = PlanPiece(
            cabin=cabin,
            wall="" if member else wall,
            round=number,
            piece=index,
            member=member,
            log=word.log,
            from_butt_mm=from_butt_mm,
            butt_at="end" if butt_at == "end" else "start",
        )
        report = judge(alone, WallPlan(problem=problem.name, pieces=(piece,)))
        if not report.errors and not report.metrics["grain_broken"]:
            found.append((report.objective, piece))
    return found
