"""Writes of planning jobs: ask for a plan, cancel."""

import logging
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction

from cabins.cabins.models import Cabin
from cabins.layouts.models import Place
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import one_of, put_row
from crews.api.problems import Fault, Refusal, fault
from crews.api.reading import raise_if_any
from inventory.logs.models import Log
from inventory.yards.models import Yard
from planning.core.problem import WEIGHT_NAMES
from planning.jobs.abandoned_jobs import wake_worker
from planning.jobs.models import ENDED, PlanningJob, PlanningStart
from planning.jobs.pins import Pin, pin_faults, target_lengths_mm, target_of
from planning.plans.models import CurrentPlan

log = logging.getLogger(__name__)


class TooManyPlanningJobs(Refusal):
    """The crew has as many planning jobs under way as this server takes; wait for one, or cancel one."""


class JobEnded(Refusal):
    """This planning job has ended already."""


def ask_for_plan(
    *, crew: Crew, id: UUID, asked: Mapping[str, Any], asked_by: Member, at: datetime
) -> tuple[PlanningJob, bool]:
    """Take a planning job into the queue; a repeat with the same id gives the same job.

    `asked`: cabins, yards, excluded (ids), pinned (pieces), preset, weights, trade_offs,
    spare_rounds, seconds, seed, starts.
    """
    raise_if_any(_faults_of(crew, asked))
    fields = {
        "cabins": [str(id) for id in asked["cabins"]],
        "yards": [str(id) for id in asked["yards"]],
        "excluded": [str(id) for id in asked["excluded"]],
        "pinned": [_pinned_row(piece) for piece in asked["pinned"]],
        "scope": [{**part, "cabin": str(part["cabin"])} for part in asked["scope"]],
        "preset": asked["preset"],
        "weights": dict(asked["weights"]),
        "trade_offs": asked["trade_offs"],
        "spare_rounds": asked["spare_rounds"],
        "seconds": asked["seconds"],
        "seed": asked["seed"],
        "starts": asked["starts"],
    }
    with transaction.atomic():
        held = PlanningJob.objects.of(crew).filter(id=id).first()
        if held is not None and all(getattr(held, name) == value for name, value in fields.items()):
            return held, False
        most = settings.PLANNING_JOBS_MOST
        if held is None and most and _under_way(crew) >= most:
            raise TooManyPlanningJobs(f"There are {most} planning jobs under way, which is the most.")
        job, created = put_row(
            PlanningJob, crew=crew, id=id, fields={**fields, "asked_by": asked_by}, expected=None, at=at
        )
        for number in range(job.starts):
            wake_worker(PlanningStart.objects.create(job=job, number=number))
        # With the request's id: the worker's lines have the job's.
        log.info("planning job %s is asked for", job.id)
    return job, created


def _under_way(crew: Crew) -> int:
    """How many jobs wait or run that nobody has cancelled."""
    return PlanningJob.objects.of(crew).filter(cancel_asked=False).exclude(state__in=ENDED).count()


def _pinned_row(piece: Mapping[str, Any]) -> dict[str, Any]:
    return {
        **piece,
        "cabin": str(piece["cabin"]),
        "log": str(piece["log"]),
        "from_butt_mm": float(piece["from_butt_mm"]),
    }


def _faults_of(crew: Crew, asked: Mapping[str, Any]) -> list[Fault]:
    faults = []
    laid_out = dict(Cabin.objects.of(crew).filter(id__in=asked["cabins"]).values_list("id", "layout_version"))
    for number, cabin in enumerate(asked["cabins"]):
        if cabin not in laid_out:
            faults.append(fault(f"/cabins/{number}", "No such cabin in this crew.", "unknown"))
        elif not laid_out[cabin]:
            faults.append(fault(f"/cabins/{number}", "This cabin is not laid out yet.", "no_layout"))
    yards = set(Yard.objects.of(crew).filter(id__in=asked["yards"]).values_list("id", flat=True))
    faults += [
        fault(f"/yards/{n}", "No such yard in this crew.", "unknown")
        for n, yard in enumerate(asked["yards"])
        if yard not in yards
    ]
    faults += _faults_of_logs(crew, asked)
    faults += _faults_of_scope(asked)
    faults += [
        fault(f"/weights/{name}", "No such weight.", "unknown")
        for name in asked["weights"]
        if name not in WEIGHT_NAMES
    ]
    return faults


def _faults_of_logs(crew: Crew, asked: Mapping[str, Any]) -> list[Fault]:
    named = {*asked["excluded"], *(piece["log"] for piece in asked["pinned"])}
    known = Log.objects.of(crew).only("id", "number", "length_mm").in_bulk(named)
    building = Cabin.objects.of(crew).filter(id__in=asked["cabins"]) if asked["pinned"] else ()
    lengths = target_lengths_mm(list(building))
    faults = [
        fault(f"/excluded/{n}", "No such log in this crew.", "unknown")
        for n, log in enumerate(asked["excluded"])
        if log not in known
    ]
    for n, piece in enumerate(asked["pinned"]):
        if piece["log"] not in known:
            faults.append(fault(f"/pinned/{n}/log", "No such log in this crew.", "unknown"))
        is_in_wall = any(piece[name] is not None for name in ("wall", "round", "piece"))
        if (piece["member"] is not None) == is_in_wall:
            faults.append(fault(f"/pinned/{n}", "A pin names a whole place, or a member.", "no_place"))
        elif target_of(piece) not in lengths:
            what = "place" if is_in_wall else "member"
            faults.append(fault(f"/pinned/{n}", f"No such {what} in the cabins of this job.", "unknown"))
    return faults or pin_faults(
        crew,
        [
            Pin(
                at=f"/pinned/{n}",
                log=known[piece["log"]],
                target=target_of(piece),
                from_butt_mm=float(piece["from_butt_mm"]),
            )
            for n, piece in enumerate(asked["pinned"])
        ],
        lengths_mm=lengths,
    )


def _faults_of_scope(asked: Mapping[str, Any]) -> list[Fault]:
    """Parts of cabins that are not planned here, and of cabins where nothing stands yet."""
    in_force = set(
        CurrentPlan.objects.filter(cabin__in=[part["cabin"] for part in asked["scope"]]).values_list(
            "cabin", flat=True
        )
    )
    places = set(
        Place.objects.filter(cabin__in=asked["cabins"]).values_list("cabin", "wall", "round").distinct()
    )
    faults = []
    for n, part in enumerate(asked["scope"]):
        cabin = part["cabin"]
        if cabin not in asked["cabins"]:
            faults.append(fault(f"/scope/{n}/cabin", "No such cabin in this job.", "unknown"))
            continue
        if cabin not in in_force and (part["walls"] or part["rounds"]):
            said = "No plan is in force, so nothing of it stands."
            faults.append(fault(f"/scope/{n}/cabin", said, "no_plan"))
        known: dict[str, set[Any]] = {
            "walls": {wall for of, wall, _ in places if of == cabin},
            "rounds": {number for of, _, number in places if of == cabin},
        }
        faults += [
            fault(f"/scope/{n}/{kind}/{m}", f"The cabin has no {kind.removesuffix('s')} {one}.", "unknown")
            for kind, there in known.items()
            for m, one in enumerate(part[kind])
            if one not in there
        ]
    return faults


def cancel_planning(*, crew: Crew, id: UUID) -> None:
    """Ask the worker to stop; the best plan so far is kept. Asking again changes nothing."""
    with transaction.atomic():
        job = one_of(PlanningJob, crew=crew, id=id, lock=True)
        if job.state in ENDED and not job.cancel_asked:
            raise JobEnded(f"It ended as {job.state}.")
        if not job.cancel_asked:
            PlanningJob.objects.filter(id=job.id).update(cancel_asked=True)
