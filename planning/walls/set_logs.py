"""Setting logs as the plan knows it: reservations kept, warnings where the wall departs from the plan."""

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F, QuerySet

from cabins.cabins.models import Cabin
from cabins.roof_members.models import RoofMember
from cabins.set_logs.actions import set_log, undo_set_log
from cabins.set_logs.models import SetLog
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of
from crews.api.problems import Fault, fault
from crews.events.actions import emit_event
from crews.events.models import EventKind
from inventory.logs.models import Log, LogState
from inventory.logs.moves import move_log
from planning.instructions.actions import LogUse, doubts_of_lead
from planning.plans.models import CurrentPlan, PlannedPiece
from planning.plans.queries import still_to_come
from planning.reservations.models import Reservation, ReservationEnd


@transaction.atomic
def set_planned_log(
    *, crew: Crew, id: UUID, fields: dict[str, Any], recorded_by: Member, at: datetime
) -> tuple[SetLog, bool]:
    """Record a log as set, whether the plan foresaw it or not; a departure from the plan is a warning.

    `fields` are those of `cabins.set_logs.actions.set_log`. A log set by eye where the plan has another, or
    that is reserved for another cabin, lies there all the same: it is recorded once that is confirmed, and a
    reservation to another cabin ends. Raises the refusals of `set_log`.
    """
    cabin = Cabin.objects.of(crew).select_for_update().filter(id=fields["cabin"]).first()
    log = Log.objects.of(crew).select_for_update().filter(id=fields["log"]).first()
    warnings: list[dict[str, str]] = []
    doubts: list[Fault] = []
    elsewhere = None
    if cabin is not None and log is not None and not SetLog.objects.of(crew).filter(id=id).exists():
        elsewhere = reserved_elsewhere(cabin, log)
        warnings, doubts = _departures(cabin, log, fields)
        doubts += doubts_of_reservation(elsewhere, log)
        doubts += doubts_of_lead(
            log, LogUse(cabin=cabin, **{name: fields[name] for name in ("wall", "round", "piece")})
        )
    row, created = set_log(
        crew=crew,
        id=id,
        extra_warnings=warnings,
        extra_doubts=doubts,
        recorded_by=recorded_by,
        at=at,
        **fields,
    )
    if created and log is not None:
        if elsewhere is not None:
            end_reservation(elsewhere, because=ReservationEnd.TAKEN, at=at)
        end_kept_reservation(log, at=at)
    return row, created


def reserved_elsewhere(cabin: Cabin, log: Log) -> Reservation | None:
    """The reservation of the log to another cabin, whose plan does not share it with this one; locked."""
    reservation = (
        Reservation.objects.select_for_update(of=("self",))
        .filter(log=log, ended_at=None)
        .select_related("cabin")
        .first()
    )
    if reservation is None or reservation.cabin_id == cabin.id:
        return None
    shared = PlannedPiece.objects.filter(plan=reservation.plan_id, cabin=cabin, log=log).exists()
    return None if shared else reservation


def end_reservation(reservation: Reservation, *, because: ReservationEnd, at: datetime) -> None:
    """The reservation is over, for this reason; the log itself is left as it is."""
    change_row(reservation, fields={"ended_at": at, "ended_because": because}, at=at)
    if because != ReservationEnd.KEPT:
        told = reservation_told(reservation.log_id, reservation.cabin_id, reservation.plan_id)
        emit_event(reservation.crew, EventKind.LOG_RELEASED, {**told, "because": because}, at)


def reservation_told(log: UUID, cabin: UUID, plan: UUID) -> dict[str, Any]:
    """What an event tells of a reservation."""
    return {"log": str(log), "cabin": str(cabin), "plan": str(plan)}


def doubts_of_reservation(reservation: Reservation | None, log: Log) -> list[Fault]:
    """That a cabin will lose this log which is reserved for it, if one is."""
    if reservation is None:
        return []
    detail = f"Log {log.number} is reserved for {reservation.cabin.name}, which loses it."
    return [fault("/log", detail, "reserved_elsewhere")]


def _departures(cabin: Cabin, log: Log, fields: dict[str, Any]) -> tuple[list[dict[str, str]], list[Fault]]:
    """What the wall will have that the cabin's current plan does not foresee: warnings, and doubts."""
    current = CurrentPlan.objects.filter(cabin=cabin).first()
    if current is None:
        return [], []
    pieces = PlannedPiece.objects.filter(plan=current.plan_id, cabin=cabin)
    here = (
        pieces.filter(wall=fields["wall"], round=fields["round"], piece=fields["piece"])
        .select_related("log")
        .first()
    )
    if here is None or here.log_id != log.id:
        return [], another_log(pieces, here, log)
    if here.butt_at != fields["butt_at"]:
        return [{"code": "turned", "detail": "The plan has this log the other way round."}], []
    return [], []


def another_log(pieces: QuerySet[PlannedPiece], here: PlannedPiece | None, log: Log) -> list[Fault]:
    """The doubts about a log that comes where `pieces`, the cabin's in its plan, have `here` or nothing."""
    planned = f"log {here.log.number}" if here else "no log"
    found = [fault("/log", f"The plan has {planned} here; plan the rest again.", "not_as_planned")]
    # A member's name first: the long straight log kept for the ridge is the one that is missed most.
    elsewhere = pieces.filter(log=log).order_by(F("member").asc(nulls_last=True)).first()
    if elsewhere is not None:
        where = f"keeps log {log.number} for {elsewhere.member}"
        if elsewhere.member is None:
            where = f"has log {log.number} in another place"
        found.append(fault("/log", f"The plan {where}.", "planned_elsewhere"))
    return found


def end_kept_reservation(log: Log, *, at: datetime) -> None:
    """The reservation is kept once no place or member of the plan still waits for this log."""
    reservation = Reservation.objects.select_for_update().filter(log=log, ended_at=None).first()
    if reservation is None:
        return
    if not still_to_come(PlannedPiece.objects.filter(plan=reservation.plan_id, log=log)).exists():
        end_reservation(reservation, because=ReservationEnd.KEPT, at=at)


@transaction.atomic
def undo_planned_log(*, crew: Crew, id: UUID, reason: str, undone_by: Member, at: datetime) -> SetLog:
    """Take back a record of a log set; if the cabin's plan foresees the log, it is reserved again."""
    held = one_of(SetLog, crew=crew, id=id)
    Cabin.objects.select_for_update().get(id=held.cabin_id)
    was_undone = SetLog.objects.filter(id=id).exclude(undone_at=None).exists()
    row = undo_set_log(crew=crew, id=id, reason=reason, undone_by=undone_by, at=at)
    if not was_undone:
        reserve_again(row, at=at)
    return row


def reserve_again(row: SetLog | RoofMember, *, at: datetime) -> None:
    """The log is reserved for its cabin once more if the cabin's plan foresees it."""
    log = Log.objects.select_for_update().get(id=row.log_id)
    current = CurrentPlan.objects.filter(cabin=row.cabin_id).first()
    reserved = Reservation.objects.filter(log=log, ended_at=None).exists()
    if not reserved:
        foreseen = (
            current is not None
            and PlannedPiece.objects.filter(plan=current.plan_id, cabin=row.cabin_id, log=log).exists()
        )
        if current is None or not foreseen:
            return
        Reservation.objects.create(
            id=uuid4(), crew=row.crew, log=log, cabin_id=row.cabin_id, plan_id=current.plan_id, created_at=at,
            changed_at=at,
        )  # fmt: skip
        told = reservation_told(log.id, row.cabin_id, current.plan_id)
        emit_event(row.crew, EventKind.LOG_RESERVED, told, at)
    if log.state in (LogState.IN_RACK, LogState.PUT_ASIDE):
        move_log(log, to=LogState.RESERVED, at=at)
