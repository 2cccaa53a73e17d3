"""Making members as the plan knows it: reservations kept, a warning where another log is taken."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from cabins.cabins.models import Cabin
from cabins.roof_members.actions import install_member, undo_roof_member
from cabins.roof_members.models import RoofMember
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import one_of
from crews.api.problems import Fault
from inventory.logs.models import Log
from planning.instructions.actions import LogUse, doubts_of_lead
from planning.plans.models import CurrentPlan, PlannedPiece
from planning.reservations.models import ReservationEnd
from planning.walls.set_logs import (
    another_log,
    doubts_of_reservation,
    end_kept_reservation,
    end_reservation,
    reserve_again,
    reserved_elsewhere,
)


@transaction.atomic
def install_planned_member(
    *, crew: Crew, id: UUID, fields: dict[str, Any], recorded_by: Member, at: datetime
) -> tuple[RoofMember, bool]:
    """Record that a member was made, whether the plan foresaw its log or not; a departure is confirmed.

    `fields` are those of `cabins.roof_members.actions.install_member`; raises its refusals. A reservation to
    another cabin ends.
    """
    cabin = Cabin.objects.of(crew).select_for_update().filter(id=fields["cabin"]).first()
    log = Log.objects.of(crew).select_for_update().filter(id=fields["log"]).first()
    doubts: list[Fault] = []
    elsewhere = None
    if cabin is not None and log is not None and not RoofMember.objects.of(crew).filter(id=id).exists():
        elsewhere = reserved_elsewhere(cabin, log)
        doubts = [
            *_departures(cabin, log, fields["member"]),
            *doubts_of_reservation(elsewhere, log),
            *doubts_of_lead(log, LogUse(cabin=cabin, member=fields["member"])),
        ]
    row, created = install_member(
        crew=crew, id=id, extra_doubts=doubts, recorded_by=recorded_by, at=at, **fields
    )
    if created and log is not None:
        if elsewhere is not None:
            end_reservation(elsewhere, because=ReservationEnd.TAKEN, at=at)
        end_kept_reservation(log, at=at)
    return row, created


def _departures(cabin: Cabin, log: Log, member: str) -> list[Fault]:
    """What the cabin's current plan did not foresee of this member."""
    current = CurrentPlan.objects.filter(cabin=cabin).first()
    if current is None:
        return []
    pieces = PlannedPiece.objects.filter(plan=current.plan_id, cabin=cabin)
    here = pieces.filter(member=member).select_related("log").first()
    return [] if here is not None and here.log_id == log.id else another_log(pieces, here, log)


@transaction.atomic
def undo_planned_member(*, crew: Crew, id: UUID, reason: str, undone_by: Member, at: datetime) -> RoofMember:
    """Take back a record of a member; if the cabin's plan foresees the log, it is reserved again."""
    held = one_of(RoofMember, crew=crew, id=id)
    Cabin.objects.select_for_update().get(id=held.cabin_id)
    was_undone = RoofMember.objects.filter(id=id).exclude(undone_at=None).exists()
    row = undo_roof_member(crew=crew, id=id, reason=reason, undone_by=undone_by, at=at)
    if not was_undone:
        reserve_again(row, at=at)
    return row
