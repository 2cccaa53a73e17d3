"""Setting logs as the plan knows it: promises kept, warnings where the wall departs from the plan."""

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F, QuerySet

from cabins.actions import set_log, undo_set_log
from cabins.models import Cabin, GivenMember, SetLog
from config.api.problems import Refusal
from crews.keeping import change_row, one_of
from crews.models import Crew, Member
from inventory.actions import move_log
from inventory.models import Log, LogState
from planning.models import CurrentPlan, PlannedPiece, Promise, PromiseEnd
from planning.queries import still_to_come


class LogPromisedElsewhere(Refusal):
    """This log is promised to another cabin; its lead must release the promise first."""


@transaction.atomic
def set_planned_log(
    *, crew: Crew, id: UUID, fields: dict[str, Any], recorded_by: Member, at: datetime
) -> tuple[SetLog, bool]:
    """Record a log as set, whether the plan foresaw it or not; a departure from the plan is a warning.

    `fields` are those of `cabins.actions.set_log`. Raises its refusals, and LogPromisedElsewhere.
    """
    cabin = Cabin.objects.of(crew).select_for_update().filter(id=fields["cabin"]).first()
    log = Log.objects.of(crew).select_for_update().filter(id=fields["log"]).first()
    warnings: list[dict[str, str]] = []
    if cabin is not None and log is not None and not SetLog.objects.of(crew).filter(id=id).exists():
        refuse_if_promised_elsewhere(cabin, log)
        warnings = _departures(cabin, log, fields)
    row, created = set_log(
        crew=crew, id=id, extra_warnings=warnings, recorded_by=recorded_by, at=at, **fields
    )
    if created and log is not None:
        keep_promise(log, at=at)
    return row, created


def refuse_if_promised_elsewhere(cabin: Cabin, log: Log) -> None:
    promise = Promise.objects.filter(log=log, ended_at=None).select_related("cabin").first()
    if promise is None or promise.cabin_id == cabin.id:
        return
    if not PlannedPiece.objects.filter(plan=promise.plan_id, cabin=cabin, log=log).exists():
        raise LogPromisedElsewhere(f"Log {log.number} is promised to {promise.cabin.name}.")


def _departures(cabin: Cabin, log: Log, fields: dict[str, Any]) -> list[dict[str, str]]:
    """What the wall will have that the cabin's current plan does not foresee."""
    current = CurrentPlan.objects.filter(cabin=cabin).first()
    if current is None:
        return []
    pieces = PlannedPiece.objects.filter(plan=current.plan_id, cabin=cabin)
    here = pieces.filter(
        place__wall=fields["wall"], place__round=fields["round"], place__piece=fields["piece"]
    ).select_related("log").first()  # fmt: skip
    if here is None or here.log_id != log.id:
        return another_log(pieces, here, log)
    if here.butt_at != fields["butt_at"]:
        return [{"code": "turned", "detail": "The plan has this log the other way round."}]
    return []


def another_log(pieces: QuerySet[PlannedPiece], here: PlannedPiece | None, log: Log) -> list[dict[str, str]]:
    """The warnings for a log that comes where `pieces`, the cabin's in its plan, have `here` or nothing."""
    planned = f"log {here.log.number}" if here else "no log"
    found = [{"code": "not_as_planned", "detail": f"The plan has {planned} here; plan the rest again."}]
    # A member's name first: the long straight log kept for the ridge is the one that is missed most.
    elsewhere = pieces.filter(log=log).order_by(F("member").asc(nulls_last=True)).first()
    if elsewhere is not None:
        where = f"keeps log {log.number} for {elsewhere.member}"
        if elsewhere.member is None:
            where = f"has log {log.number} in another place"
        found.append({"code": "planned_elsewhere", "detail": f"The plan {where}."})
    return found


def keep_promise(log: Log, *, at: datetime) -> None:
    """The promise is kept once no place or member of the plan still waits for this log."""
    promise = Promise.objects.select_for_update().filter(log=log, ended_at=None).first()
    if promise is None:
        return
    if not still_to_come(PlannedPiece.objects.filter(plan=promise.plan_id, log=log)).exists():
        change_row(promise, fields={"ended_at": at, "ended_because": PromiseEnd.KEPT}, at=at)


@transaction.atomic
def undo_planned_log(*, crew: Crew, id: UUID, reason: str, undone_by: Member, at: datetime) -> SetLog:
    """Take back a record of a log set; if the cabin's plan foresees the log, it is promised again."""
    held = one_of(SetLog, crew=crew, id=id)
    Cabin.objects.select_for_update().get(id=held.cabin_id)
    was_undone = SetLog.objects.filter(id=id).exclude(undone_at=None).exists()
    row = undo_set_log(crew=crew, id=id, reason=reason, undone_by=undone_by, at=at)
    if not was_undone:
        promise_again(row, at=at)
    return row


def promise_again(row: SetLog | GivenMember, *, at: datetime) -> None:
    """The log is promised to its cabin once more if the cabin's plan foresees it."""
    log = Log.objects.select_for_update().get(id=row.log_id)
    current = CurrentPlan.objects.filter(cabin=row.cabin_id).first()
    promised = Promise.objects.filter(log=log, ended_at=None).exists()
    if not promised:
        foreseen = (
            current is not None
            and PlannedPiece.objects.filter(plan=current.plan_id, cabin=row.cabin_id, log=log).exists()
        )
        if current is None or not foreseen:
            return
        Promise.objects.create(
            id=uuid4(), crew=row.crew, log=log, cabin_id=row.cabin_id, plan_id=current.plan_id, created_at=at,
            changed_at=at,
        )  # fmt: skip
    if log.state in (LogState.IN_RACK, LogState.PUT_ASIDE):
        move_log(log, to=LogState.PROMISED, at=at)
