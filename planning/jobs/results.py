"""Stores a plan that a job found: its pieces, how it cuts the courses, and the news of it."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.core.course_files import read_courses
from cabins.core.places import places_of
from cabins.layouts.queries import in_stored_mm
from cabins.walls.queries import layout_of
from crews.events.actions import emit_event
from crews.events.models import EventKind
from planning.jobs.models import PlanningJob
from planning.plans.models import Plan, PlannedPiece


def store_plan(
    job: PlanningJob,
    *,
    id: UUID,
    plan: dict[str, Any],
    report: dict[str, Any],
    problem: dict[str, Any],
    made_from: Any,
    at: datetime,
) -> Plan:
    """Store a plan of the job with its pieces, and tell of it; the job stays as it is."""
    cut = {cabin["id"]: _courses_of(cabin) for cabin in problem["cabins"] if "courses" in cabin}
    cabins = list(Cabin.objects.filter(id__in=job.cabins).exclude(layout=None))
    targets = {**_places_in(cabins, cut), **_members_of(cabins)}
    parts = parts_in(problem["logs"])
    made = Plan.objects.create(
        id=id,
        crew=job.crew,
        job=job,
        created_at=at,
        changed_at=at,
        problem=problem,
        made_from=made_from,
        report=report,
        courses=cut,
        objective=report["objective"],
        feasible=report["feasible"],
        complete=report["complete"],
    )
    PlannedPiece.objects.bulk_create(
        [
            PlannedPiece(
                plan=made,
                cabin_id=p["cabin"],
                log_id=log,
                from_butt_mm=round(from_butt, 5),
                butt_at=p["butt_at"],
                **targets[_key(p)],
            )
            for p in plan["pieces"]
            for log, from_butt in [of_whole_log(parts, p["log"], p["from_butt"])]
        ]
    )
    told = {"job": str(job.id), "plan": str(made.id), "feasible": made.feasible, "complete": made.complete}
    emit_event(job.crew, EventKind.PLAN_READY, told, at)
    return made


def parts_in(logs: Iterable[Mapping[str, Any]]) -> dict[str, tuple[str, float]]:
    """Of the logs of a problem file those that are parts of sawn ones: the whole log, where they begin."""
    return {log["id"]: (log["part_of"], log["part_from"]) for log in logs if "part_of" in log}


def of_whole_log(parts: Mapping[str, tuple[str, float]], log: str, from_butt_mm: float) -> tuple[str, float]:
    """The charted log, and where in it, of a planned piece that may name a part of it."""
    whole, begin = parts.get(log, (log, 0.0))
    return whole, begin + from_butt_mm


def is_layout_changed(job: PlanningJob) -> bool:
    """Whether a cabin of the job was laid out anew since its problem was drawn up."""
    now = dict(Cabin.objects.filter(id__in=job.cabins).values_list("id", "layout_version"))
    was = (job.made_from or {})["cabins"]
    return any(was[str(cabin)]["layout_version"] != version for cabin, version in now.items())


def as_cut(problem: dict[str, Any], courses: dict[str, Any]) -> dict[str, Any]:
    """The problem with its courses as the plan cuts them."""
    cabins = [
        {**cabin, "courses": courses[cabin["id"]]} if cabin["id"] in courses else cabin
        for cabin in problem["cabins"]
    ]
    return {**problem, "cabins": cabins}


def _courses_of(cabin: dict[str, Any]) -> dict[str, dict[str, list[list[float]]]]:
    """A cabin of a problem file with its courses as a plan keeps them, its half logs among them."""
    found = {
        wall: {str(number): spans for number, spans in enumerate(rounds, start=1)}
        for wall, rounds in cabin["courses"].items()
    }
    halves = [half for entry in cabin.get("half_places", []) for half in entry["halves"]]
    for half in sorted(halves, key=lambda half: int(half["piece"])):
        spans = found[half["wall"]].setdefault(str(half.get("round", 0)), [])
        spans.append([half["start"], half["end"]])
    return found


def _places_in(cabins: list[Cabin], courses: dict[str, Any]) -> dict[tuple[Any, ...], dict[str, Any]]:
    """Every place of these cabins as they are cut, as the columns of a planned piece name it."""
    found: dict[tuple[Any, ...], dict[str, Any]] = {}
    for cabin in cabins:
        layout = layout_of(cabin)
        cut = read_courses(courses.get(str(cabin.id)))
        for place in places_of(layout if cut is None else replace(layout, courses=cut)):
            found[str(cabin.id), place.wall, place.round, place.piece] = {
                "wall": place.wall,
                "round": place.round,
                "piece": place.piece,
                "start_mm": in_stored_mm(place.start_mm),
                "end_mm": in_stored_mm(place.end_mm),
            }
    return found


def _members_of(cabins: list[Cabin]) -> dict[tuple[Any, ...], dict[str, Any]]:
    """Every member of these cabins, as the columns of a planned piece name it."""
    return {
        (str(cabin.id), member.id): {
            "member": member.id,
            "member_kind": member.kind.value,
            "member_length_mm": in_stored_mm(member.length_mm),
        }
        for cabin in cabins
        for member in layout_of(cabin).single_members
    }


def _key(piece: dict[str, Any]) -> tuple[Any, ...]:
    if "member" in piece:
        return piece["cabin"], piece["member"]
    return piece["cabin"], piece["wall"], piece["round"], piece["piece"]
