"""Moves of a log from state to state. The apps above set, cut up, reserve and release logs through these.

    move_logs(crew=crew, ids=[...], to=LogState.RESERVED, at=at)   # a plan is adopted
    move_log(log, to=LogState.SET, at=at)                          # a log is set, or LogState.CUT_UP
    release_logs(crew=crew, ids=[...], at=at)                      # back to where it lies: undone, given up

Call them inside the transaction that stores the reservation or the set log: the rows stay locked until it
ends.
"""

from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.db.models import F

from crews.accounts.models import Crew
from crews.api.problems import NotFound, Refusal, fault, register_constraint_errors
from inventory.logs.models import LOG_MOVES, Log, LogState


class LogMoveRefused(Refusal):
    """The log is in a state from which this cannot follow."""


register_constraint_errors({"log_state_known": (LogMoveRefused, "A log has no such state.")})


def lying_state(*, culled: bool) -> LogState:
    """The state of a log that is free: put aside if it is a cull, else in the rack."""
    return LogState.PUT_ASIDE if culled else LogState.IN_RACK


@transaction.atomic
def move_logs(*, crew: Crew, ids: Collection[UUID], to: LogState | str, at: datetime) -> list[Log]:
    """Move the crew's logs to a state, all or none; returns them locked, in the order of their ids.

    A log already there stays as it is. Three queries for any number. Raises NotFound for a log that is not
    the crew's, LogMoveRefused (naming each log, pointer `/logs/ID`) for a move that LOG_MOVES does not know.
    """
    logs = _locked(crew, ids)
    move_locked(logs, to=LogState(to), at=at)
    return logs


@transaction.atomic
def release_logs(*, crew: Crew, ids: Collection[UUID], at: datetime) -> list[Log]:
    """Logs no longer reserved, set or cut up lie where they lay: put aside if culls, else in the rack.

    A log that is gone stays gone. Returns them locked. Raises NotFound.
    """
    logs = _locked(crew, ids)
    here = [log for log in logs if log.state != LogState.GONE]
    for state in (LogState.IN_RACK, LogState.PUT_ASIDE):
        move_locked([log for log in here if lying_state(culled=log.culled) == state], to=state, at=at)
    return logs


def move_log(log: Log, *, to: LogState | str, at: datetime) -> Log:
    """Move one log; returns it locked and as it is now. Raises as `move_logs`."""
    return move_logs(crew=log.crew, ids=[log.id], to=to, at=at)[0]


def _locked(crew: Crew, ids: Collection[UUID]) -> list[Log]:
    # In the order of ids, so that two who move the same logs cannot wait for each other.
    logs = list(Log.objects.of(crew).select_for_update(of=("self",)).filter(id__in=ids).order_by("id"))
    if len(logs) != len(set(ids)):
        raise NotFound
    return logs


def move_locked(logs: Collection[Log], *, to: LogState, at: datetime) -> None:
    """Move logs that the caller has locked and holds as they are; raises LogMoveRefused as `move_logs`."""
    moving = [log for log in logs if log.state != to]
    refused = [
        fault(f"/logs/{log.id}", f"Log {log.number} is {LogState(log.state).label.lower()}.", log.state)
        for log in moving
        if to not in LOG_MOVES[log.state]
    ]
    if refused:
        raise LogMoveRefused(" ".join(one["detail"] for one in refused[:5]), errors=refused)
    if not moving:
        return
    Log.objects.filter(id__in=[log.id for log in moving]).update(
        state=to, version=F("version") + 1, changed_at=at
    )
    for log in moving:
        log.state, log.version, log.changed_at = to, log.version + 1, at
