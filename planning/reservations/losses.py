"""Logs that are lost to a plan: written off although reserved, and what a plan that wanted them lacks now."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from crews.accounts.models import Crew
from crews.accounts.versioned_rows import one_of
from inventory.logs.actions import write_off
from inventory.logs.models import Log, LogState
from inventory.logs.moves import release_logs
from planning.reservations.models import Reservation, ReservationEnd
from planning.walls.set_logs import end_reservation


@transaction.atomic
def write_off_log(*, crew: Crew, id: UUID, reason: str, at: datetime) -> None:
    """A log is gone for good; if it was reserved, its reservation ends and its place is free again.

    Locks the log, then its reservation. Raises LogInUse for a log in a wall, LogMoveRefused, NotFound.
    """
    log = one_of(Log, crew=crew, id=id, lock=True)
    reservation = Reservation.objects.select_for_update().filter(log=log, ended_at=None).first()
    if reservation is not None and log.state in (LogState.RESERVED, LogState.CUT_UP):
        if log.state == LogState.RESERVED:
            release_logs(crew=crew, ids=[id], at=at)
        end_reservation(reservation, because=ReservationEnd.LOG_GONE, at=at)
    write_off(crew=crew, id=id, reason=reason, at=at)
