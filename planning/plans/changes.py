"""What a plan changes against the one its cabins are built by; and taking some of its changes only."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from cabins.cabins.models import Cabin
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import one_of
from crews.api.problems import NotFound, fault
from crews.api.reading import raise_if_any
from inventory.core.crew_units import Sentence
from planning.core.changes import Changes, PlaceChange, changes_between, taken
from planning.core.check import judge
from planning.core.files import write_plan
from planning.core.problem import PlanPiece, WallProblem
from planning.core.reports import report_document, sure_rows
from planning.jobs.models import JobState, PlanningJob
from planning.jobs.results import store_plan
from planning.jobs.tasks import errors_of_request
from planning.plans.adoption import PlanStale, adopt_plan
from planning.plans.in_force import kept_pieces
from planning.plans.models import CurrentPlan, Plan
from planning.why.queries import log_numbers, stored_plan, wholes

Told = dict[str, Any]


def plan_changes(crew: Crew, id: UUID) -> Told:
    """What ChangesOut describes. Raises NotFound."""
    plan = one_of(Plan, crew=crew, id=id)
    problem, found = _found(plan)
    against = _in_force(plan)
    return {
        "plan": plan.id,
        "against": against,
        "unchanged": found.unchanged if against else 0,
        "changes": _rows(crew, problem, found) if against else [],
    }


@transaction.atomic
def take_changes(
    *, crew: Crew, id: UUID, new_plan: UUID, against: Sequence[UUID], chosen: Sequence[int],
    by: Member, at: datetime,
) -> Plan:  # fmt: skip
    """Adopt the plan in force with some changes of the plan `id`: a plan of its own, under `new_plan`.

    The forced changes are always among them. The same again gives the same plan. `against`: the plans that
    the changes were listed against. Raises PlanStale, InvalidInput, the refusals of `adopt_plan`.
    """
    held = Plan.objects.of(crew).filter(id=new_plan).first()
    if held is not None:
        return held
    if Plan.objects.filter(id=new_plan).exists():
        raise NotFound
    source = one_of(Plan, crew=crew, id=id)
    cabins = Cabin.objects.of(crew).select_for_update().filter(id__in=source.made_from["cabins"])
    list(cabins.order_by("id"))
    known = set(Plan.objects.of(crew).filter(id__in=against).values_list("id", flat=True))
    raise_if_any(
        [
            fault(f"/against/{n}", "No such plan in this crew.", "unknown")
            for n, one in enumerate(against)
            if one not in known
        ]
    )
    if sorted(against) != _in_force(source) or not against:
        raise PlanStale("Another plan was adopted since these changes were listed; list them again.")
    problem, found = _found(source)
    raise_if_any(
        [
            fault(f"/changes/{n}", "No such change.", "unknown")
            for n, number in enumerate(chosen)
            if number >= len(found.changes)
        ]
    )
    mixed = taken(found, chosen)
    report = report_document(judge(problem, mixed)) | {
        "searched": source.report.get("searched", True),
        "sure": sure_rows(problem, mixed, errors_of_request(crew.id)),
        "trade_offs": [],
    }
    document = write_plan(mixed)
    job = _job_like(source.job, asked_by=by, best=document, report=report, at=at)
    store_plan(
        job, id=new_plan, plan=document, report=report, problem=source.problem, made_from=source.made_from,
        at=at,
    )  # fmt: skip
    return adopt_plan(crew=crew, id=new_plan, adopted_by=by, at=at)


def _job_like(
    job: PlanningJob, *, asked_by: Member, best: Told, report: Mapping[str, Any], at: datetime
) -> PlanningJob:
    """A job that has ended, for a plan that a person put together from what another job found."""
    asked = {name: getattr(job, name) for name in _ASKED}
    return PlanningJob.objects.create(
        id=uuid4(), crew=job.crew, **asked, asked_by=asked_by, state=JobState.DONE, fraction=1,
        reason="Changes of another plan, taken one by one.", objective=report["objective"],
        feasible=report["feasible"], problem=job.problem, made_from=job.made_from, best=best,
        started_at=at, ended_at=at, created_at=at, changed_at=at,
    )  # fmt: skip


_ASKED = [
    "cabins", "yards", "excluded", "pinned", "scope", "preset", "weights", "trade_offs", "seconds", "seed",
]  # fmt: skip


def _in_force(plan: Plan) -> list[UUID]:
    """The plans that the plan's cabins are built by."""
    current = CurrentPlan.objects.filter(cabin__in=list(plan.made_from["cabins"]))
    return sorted(set(current.values_list("plan", flat=True)))


def _found(plan: Plan) -> tuple[WallProblem, Changes]:
    problem, core_plan = stored_plan(plan.crew, plan.id)
    cabins = list(Cabin.objects.filter(id__in=list(plan.made_from["cabins"])).order_by("id"))
    in_force = [kept.piece for kept in kept_pieces(cabins)]
    return problem, changes_between(problem, in_force, core_plan)


def _rows(crew: Crew, problem: WallProblem, found: Changes) -> list[Told]:
    logs = wholes(problem)
    pieces = [p for c in found.changes for one in c.places for p in (one.before, one.after) if p is not None]
    numbers = log_numbers(crew, {logs[piece.log].log for piece in pieces})

    def told(piece: PlanPiece | None) -> Told | None:
        if piece is None:
            return None
        whole = logs[piece.log]
        return {
            "log": whole.log,
            "log_number": numbers.get(whole.log, ""),
            "from_butt_mm": whole.from_butt_mm + piece.from_butt_mm,
            "butt_at": piece.butt_at,
        }

    rows = []
    for number, change in enumerate(found.changes):
        places = [_place(one, told(one.before), told(one.after)) for one in change.places]
        rows.append(
            {
                "number": number,
                "is_forced": change.is_forced,
                "text": _words(places),
                "objective_change": change.objective_change,
                "gains": [asdict(gain) for gain in change.gains],
                "places": places,
            }
        )
    return rows


def _place(one: PlaceChange, before: Told | None, after: Told | None) -> Told:
    cabin, wall, round_no, piece = one.place
    member = wall.removeprefix("member:") if wall.startswith("member:") else None
    where: Told = {"wall": None, "round": None, "piece": None}
    if member is None:
        where = {"wall": wall, "round": round_no, "piece": piece}
    return {"cabin": cabin, **where, "member": member, "before": before, "after": after}


def _words(places: Sequence[Told]) -> str:
    """The change in one sentence, as a crew would say it."""
    if len(places) == 1:
        return _words_of_one(places[0])
    before, after = (
        sorted({one[side]["log_number"] for one in places if one[side]}) for side in ("before", "after")
    )
    where = "; ".join(_where(one) for one in places)
    if all(one["before"] and one["after"] and one["before"]["log"] == one["after"]["log"] for one in places):
        return f"Log {', '.join(before)} is cut otherwise or turned: {where}."
    if before == after and len(before) == 2:
        return f"Logs {before[0]} and {before[1]} trade places: {where}."
    if before == after:
        return f"Logs {', '.join(before)} trade places in turn: {where}."
    come, go = sorted(set(after) - set(before)), sorted(set(before) - set(after))
    stay = sorted(set(before) & set(after))
    parts = [("coming in", come), ("going out", go), ("moving", stay)]
    said = "; ".join(f"{way} {', '.join(logs)}" for way, logs in parts if logs)
    return f"Logs {said}. {where[0].upper()}{where[1:]}."


def _words_of_one(one: Told) -> str:
    before, after, where = one["before"], one["after"], _where(one)
    if after is None:
        return f"{where[0].upper()}{where[1:]} stays empty."
    if before is None:
        return f"Log {after['log_number']} fills {where}."
    if before["log"] != after["log"]:
        return f"Log {after['log_number']} takes the place of log {before['log_number']} in {where}."
    if before["butt_at"] != after["butt_at"]:
        return f"Log {after['log_number']} is turned end for end in {where}."
    by = after["from_butt_mm"] - before["from_butt_mm"]
    return Sentence(
        f"Log {{log}} is cut {{by:along}} nearer its {'tip' if by > 0 else 'butt'} for {{where}}.",
        log=after["log_number"],
        by=abs(by),
        where=where,
    )


def _where(one: Told) -> str:
    if one["member"]:
        return f"the {one['member']}"
    beside = f", place {one['piece'] + 1}" if one["piece"] else ""
    return f"wall {one['wall']}, round {one['round']}{beside}"
