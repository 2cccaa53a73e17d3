"""Why a log lies where it lies, and what if it lay elsewhere: the planner's core on a stored plan."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from functools import lru_cache
from typing import Any, NamedTuple
from uuid import UUID

from crews.accounts.models import Crew
from crews.api.problems import InvalidInput, InvalidQuery, NotFound, fault
from inventory.core.crew_units import sentence_of
from inventory.logs.models import Log
from planning.core.files import read_plan, read_problem
from planning.core.problem import WallPlan as CorePlan
from planning.core.problem import WallProblem
from planning.core.sawing import whole_log
from planning.core.what_if import (
    DoesNotFit,
    Effect,
    NoSuchPlace,
    Place,
    compare,
    move_log,
    swap_logs,
    turn_log,
)
from planning.core.why import best_alternative, reason_of
from planning.plans.models import Plan

# Problems and plans do not change once stored, and a lead asks many questions of one plan.
_KEPT = 8


def stored_plan(crew: Crew, id: UUID) -> tuple[WallProblem, CorePlan]:
    """A plan and the problem it was made for, as the planner has them. Raises NotFound."""
    # Asked of the database every time: what is kept in memory is never a right to see it.
    if not Plan.objects.of(crew).filter(id=id).exists():
        raise NotFound
    return _read(id)


@lru_cache(maxsize=_KEPT)
def _read(id: UUID) -> tuple[WallProblem, CorePlan]:
    problem, plan = Plan.objects.filter(id=id).values_list("problem", "job__best").get()
    return read_problem(problem), read_plan(plan)


def why(crew: Crew, id: UUID, *, place: Place) -> dict[str, Any]:
    """What a placement costs by term, and the best other log. Raises NotFound, InvalidQuery."""
    problem, plan = stored_plan(crew, id)
    try:
        reason = reason_of(problem, plan, place=place)
        other = best_alternative(problem, plan, place=place)
    except NoSuchPlace as fault_found:
        raise InvalidQuery(errors=[fault("?wall", str(fault_found), "unknown")]) from fault_found
    logs = wholes(problem)
    log, instead = logs[reason.log].log, logs[other.log].log if other else ""
    numbers = log_numbers(crew, {log, instead} - {""})
    return {
        **_place(place),
        "log": log,
        "log_number": numbers.get(log, ""),
        "terms": reason.terms,
        "out_of_level_mm": reason.out_of_level_mm,
        "worst_notch_share": reason.worst_notch_share,
        "alternative": None
        if other is None
        else {
            "log": instead,
            "log_number": numbers.get(instead, ""),
            "swapped_with": None if other.swapped_with is None else _place(other.swapped_with),
            "turned": other.turned,
            "effect": _effect(problem, other.effect),
        },
    }


def what_if(crew: Crew, id: UUID, *, changes: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """The effect of swapping, turning or moving logs of a plan; nothing is stored. Raises InvalidInput."""
    problem, plan = stored_plan(crew, id)
    changed = plan
    for number, change in enumerate(changes):
        try:
            changed = _changed(problem, changed, change)
        except (DoesNotFit, NoSuchPlace) as refused:
            code = "does_not_fit" if isinstance(refused, DoesNotFit) else "unknown"
            raise InvalidInput(errors=[fault(f"/changes/{number}", sentence_of(refused), code)]) from refused
    before = {piece.place: piece for piece in plan.pieces}
    moved = [piece for piece in changed.pieces if before.get(piece.place) != piece]
    logs = wholes(problem)
    numbers = log_numbers(crew, {logs[piece.log].log for piece in moved})
    return {
        "effect": _effect(problem, compare(problem, plan, changed)),
        "pieces": [
            {
                **_place(piece.place),
                "log": logs[piece.log].log,
                "log_number": numbers.get(logs[piece.log].log, ""),
                "from_butt_mm": logs[piece.log].from_butt_mm + piece.from_butt_mm,
                "butt_at": piece.butt_at,
            }
            for piece in moved
        ],
    }


def _changed(problem: WallProblem, plan: CorePlan, change: Mapping[str, Any]) -> CorePlan:
    place = place_of(change["place"])
    if change["kind"] == "turn":
        return turn_log(plan, place=place)
    if change["kind"] == "swap":
        return swap_logs(problem, plan, one=place, other=place_of(change["with_place"]))
    return _moved(problem, plan, place, str(change["log"]))


def _moved(problem: WallProblem, plan: CorePlan, place: Place, log: str) -> CorePlan:
    """Another log in a place; of a log that is sawn already, the part that costs least there."""
    parts = [other.id for other in problem.logs if other.part_of == log] or [log]
    tried: list[CorePlan] = []
    refused: DoesNotFit | None = None
    for part in parts:
        try:
            tried.append(move_log(problem, plan, place=place, log=part))
        except DoesNotFit as found:
            refused = refused or found
    if not tried and refused is not None:
        raise refused
    if len(tried) == 1:
        return tried[0]
    return min(tried, key=lambda one: compare(problem, plan, one).objective)


def place_of(row: Mapping[str, Any]) -> Place:
    return (str(row["cabin"]), row["wall"], row["round"], row["piece"])


def _place(place: Place) -> dict[str, Any]:
    return dict(zip(("cabin", "wall", "round", "piece"), place, strict=True))


class WholeLog(NamedTuple):
    """The charted log that a log of the problem is, or is a part of, and where in it the part begins."""

    log: str
    from_butt_mm: float


def wholes(problem: WallProblem) -> dict[str, WholeLog]:
    return {log.id: WholeLog(*whole_log(log, 0.0)) for log in problem.logs}


def log_numbers(crew: Crew, logs: set[str]) -> dict[str, str]:
    return {
        str(id): number for id, number in Log.objects.of(crew).filter(id__in=logs).values_list("id", "number")
    }


def _effect(problem: WallProblem, effect: Effect) -> dict[str, Any]:
    least, most = problem.params.notch_limit
    spots = ("cabin", "wall", "round", "column")
    return {
        "objective_change": effect.objective_change,
        "term_changes": {name: change for name, change in effect.term_changes.items() if change},
        "feasible": effect.feasible,
        "faults": effect.errors,
        "tops": [
            {**dict(zip(spots, spot, strict=True)), "change_mm": change}
            for spot, change in effect.top_changes_mm.items()
        ],
        "notches": [
            {**dict(zip(spots, spot, strict=True)), "change_mm": change}
            for spot, change in effect.notch_changes_mm.items()
        ],
        "notches_beyond": [
            asdict(notch) | {"share": notch.share}
            for notch in effect.report.notches
            if not least <= notch.share <= most
        ],
    }
