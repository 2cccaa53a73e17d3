"""Adopting a plan: its logs are reserved for its cabins, once, and only if nothing changed meanwhile."""

from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from cabins.cabins.models import Cabin
from cabins.core.course_files import read_courses
from cabins.layouts.actions import cut_places
from cabins.openings.queries import set_courses_of
from cabins.walls.queries import layout_of, standing_of
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of
from crews.api.problems import Refusal, fault, register_constraint_errors
from crews.events.actions import emit_events
from crews.events.models import EventKind
from inventory.logs.models import Log, LogState
from inventory.logs.moves import move_locked, release_logs
from planning.jobs.sawn_logs import across_saw_cuts
from planning.plans.models import CurrentPlan, Plan, PlannedPiece, PlanState
from planning.plans.queries import still_to_come
from planning.reservations.models import Reservation, ReservationEnd
from planning.walls.planned import reported_tops
from planning.walls.set_logs import end_reservation, reservation_told


class PlanStale(Refusal):
    """The yard, a layout or a wall changed since this plan was made; plan again."""


class LogAlreadyReserved(Refusal):
    """A log of this plan is reserved for another cabin."""


class PlanAlreadyReplaced(Refusal):
    """This plan was adopted once and has been replaced by a later one."""


register_constraint_errors({"log_reserved_once": (LogAlreadyReserved, "A log can be reserved only once.")})

# What is asked of a log here; a plan may have hundreds.
_JUDGED = ["number", "state", "version", "measures_version", "changed_at"]
_USABLE = {LogState.IN_RACK, LogState.PUT_ASIDE, LogState.RESERVED, LogState.SET, LogState.CUT_UP}


@transaction.atomic
def adopt_plan(*, crew: Crew, id: UUID, adopted_by: Member, at: datetime) -> Plan:
    """Make the plan the one its cabins are built by. Adopting it again changes nothing.

    Reservations of the cabins' earlier plans end; every log still to be set is reserved for its cabin.
    """
    plan = one_of(Plan, crew=crew, id=id, lock=True)
    if plan.state == PlanState.ADOPTED:
        return plan
    if plan.state == PlanState.REPLACED:
        raise PlanAlreadyReplaced
    # Cabins, then logs, each in the order of their ids: two adopters never wait for each other in a ring.
    cabins = list(
        Cabin.objects.of(crew).select_for_update().filter(id__in=plan.made_from["cabins"]).order_by("id")
    )
    wanted = _logs_still_to_set(plan)
    held = Reservation.objects.filter(cabin__in=cabins, ended_at=None)
    locked = {
        log.id: log
        for log in Log.objects.of(crew)
        .select_for_update()
        .filter(id__in={*wanted, *held.values_list("log", flat=True)})
        .only(*_JUDGED)
        .order_by("id")
    }
    _refuse_if_stale(plan, cabins, {id: locked[id] for id in wanted if id in locked}, wanted)
    reserved = {log: (cabin, by) for log, cabin, by in held.values_list("log", "cabin", "plan")}
    told = _events(plan, cabins, reserved, wanted, locked)
    dropped = [log for log in reserved if log not in wanted and locked[log].state == LogState.RESERVED]
    release_logs(crew=crew, ids=dropped, at=at)
    held.update(ended_at=at, ended_because=ReservationEnd.REPLACED, changed_at=at)
    _reserve(plan, wanted, locked, at=at)
    _replace_current(plan, cabins)
    _cut_as_planned(plan, cabins)
    change_row(plan, fields={"state": PlanState.ADOPTED, "adopted_at": at, "adopted_by": adopted_by}, at=at)
    emit_events(crew, told, at)
    return plan


def _events(
    plan: Plan,
    cabins: list[Cabin],
    reserved: dict[UUID, tuple[UUID, UUID]],
    wanted: dict[UUID, UUID],
    logs: dict[UUID, Log],
) -> list[tuple[EventKind, dict[str, Any]]]:
    """What the adoption is news of; `reserved`: log -> (cabin, plan) of the reservations that end.

    A log that stays with its cabin was neither released nor reserved.
    """
    released = [
        (EventKind.LOG_RELEASED, {**reservation_told(log, *by), "because": ReservationEnd.REPLACED})
        for log, by in reserved.items()
        if wanted.get(log) != by[0] and logs[log].state == LogState.RESERVED
    ]
    taken = [
        (EventKind.LOG_RESERVED, reservation_told(log, cabin, plan.id))
        for log, cabin in wanted.items()
        if log not in reserved or reserved[log][0] != cabin
    ]
    adopted = {"plan": str(plan.id), "cabins": [str(cabin.id) for cabin in cabins]}
    return [(EventKind.PLAN_ADOPTED, adopted), *released, *taken]


def _logs_still_to_set(plan: Plan) -> dict[UUID, UUID]:
    """log -> cabin for every piece whose place is not filled and whose member is not made yet."""
    return dict(still_to_come(PlannedPiece.objects.filter(plan=plan)).values_list("log", "cabin"))


def _refuse_if_stale(
    plan: Plan, cabins: list[Cabin], logs: dict[UUID, Log], wanted: dict[UUID, UUID]
) -> None:
    faults = []
    for cabin in cabins:
        was = plan.made_from["cabins"][str(cabin.id)]
        if cabin.layout_version != was["layout_version"]:
            faults.append(fault("", f"The layout of {cabin.name} was changed.", "layout_changed"))
        if cabin.built_version != was["built_version"]:
            faults.append(fault("", f"Logs or heights of {cabin.name} were recorded.", "built_changed"))
    ours = {str(cabin.id) for cabin in cabins}
    reserved = dict(Reservation.objects.filter(log__in=wanted, ended_at=None).values_list("log", "cabin_id"))
    for id in wanted:
        log = logs.get(id)
        if log is None or log.state not in _USABLE:
            name = log.number if log else str(id)
            faults.append(fault("", f"Log {name} is no longer to be had.", "log_gone"))
        elif log.measures_version != plan.made_from["logs"][str(id)]:
            faults.append(fault("", f"Log {log.number} was measured again.", "log_measured"))
        elif id in reserved and str(reserved[id]) not in ours:
            faults.append(fault("", f"Log {log.number} is reserved for another cabin.", "log_reserved"))
    faults += [
        fault("", f"Log {row['log_number']} was sawn otherwise since.", "log_sawn")
        for row in across_saw_cuts(still_to_come(PlannedPiece.objects.filter(plan=plan)))
    ]
    if faults:
        reserved_only = all(f["code"] == "log_reserved" for f in faults)
        raise (LogAlreadyReserved if reserved_only else PlanStale)(errors=faults)


def _reserve(plan: Plan, wanted: dict[UUID, UUID], logs: dict[UUID, Log], *, at: datetime) -> None:
    Reservation.objects.bulk_create(
        [
            Reservation(
                id=uuid4(),
                crew=plan.crew,
                log_id=log,
                cabin_id=cabin,
                plan=plan,
                created_at=at,
                changed_at=at,
            )
            for log, cabin in wanted.items()
        ]
    )
    free = [logs[id] for id in wanted if logs[id].state in (LogState.IN_RACK, LogState.PUT_ASIDE)]
    move_locked(free, to=LogState.RESERVED, at=at)


def _replace_current(plan: Plan, cabins: list[Cabin]) -> None:
    earlier = set(CurrentPlan.objects.filter(cabin__in=cabins).values_list("plan", flat=True))
    CurrentPlan.objects.filter(cabin__in=cabins).delete()
    CurrentPlan.objects.bulk_create(
        [CurrentPlan(cabin=cabin, plan=plan, tops_mm=reported_tops(plan, cabin)) for cabin in cabins]
    )
    still = set(CurrentPlan.objects.filter(plan__in=earlier).values_list("plan", flat=True))
    for old in Plan.objects.select_for_update().filter(id__in=earlier - still - {plan.id}).order_by("id"):
        change_row(old, fields={"state": PlanState.REPLACED}, at=plan.changed_at)


def _cut_as_planned(plan: Plan, cabins: list[Cabin]) -> None:
    """The cabins' open places become those of the plan; courses in which logs are set stay as they are."""
    standing = standing_of(cabins, planned={})
    for cabin in cabins:
        planned = read_courses(plan.courses.get(str(cabin.id)))
        if planned is None:
            continue
        held, set_already = layout_of(cabin).courses, set_courses_of(standing[cabin.id])
        courses = {
            course: spans if course in set_already else planned.get(course, spans)
            for course, spans in held.items()
        }
        if courses != held:
            cut_places(cabin, replace(layout_of(cabin), courses=courses))


@transaction.atomic
def release_reservation(*, crew: Crew, id: UUID, at: datetime) -> Reservation:
    """The lead takes a log back from the cabin it is reserved for; that cabin's plan is then short of it."""
    reservation = one_of(Reservation, crew=crew, id=id, lock=True)
    if reservation.ended_at is None:
        if Log.objects.select_for_update().get(id=reservation.log_id).state == LogState.RESERVED:
            release_logs(crew=crew, ids=[reservation.log_id], at=at)
        end_reservation(reservation, because=ReservationEnd.RELEASED, at=at)
    return reservation
