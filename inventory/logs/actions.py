"""Writes of single logs: chart one, change one, put it aside, take it back, write it off."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from functools import partial
from typing import Any
from uuid import UUID, uuid4

from django.db import connection, transaction

from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of, put_row
from crews.api.problems import InvalidInput, Refusal, fault, register_constraint_errors
from crews.api.reading import raise_if_any
from crews.api.versions import Expected, check_version
from crews.events.actions import emit_events
from inventory.core.chart_line import ChartLine, with_means
from inventory.core.chart_rules import doubts_of_line, faults_of_line
from inventory.logs.checks import ask_to_confirm, changed_fields, doubts_of_change, pointed
from inventory.logs.drawing_values import units_of
from inventory.logs.events import event_of_measuring, events_of_change
from inventory.logs.lines import CHARTED, fields_of_line, line_of_fields, readings_across
from inventory.logs.models import DECIDING, LOG_MOVES, MEASURES, Log, LogState
from inventory.logs.moves import LogMoveRefused, lying_state
from inventory.logs.queries import log_row
from inventory.yards.lookup import PlacesNamed, places_named
from inventory.yards.models import Rack

LYING = (LogState.IN_RACK, LogState.PUT_ASIDE)


class LogNumberTaken(Refusal):
    """Another log of this yard has this number."""


class LogInUse(Refusal):
    """The log is reserved, set or cut up: release it there first."""


register_constraint_errors(
    {
        "log_number_once_in_yard": (LogNumberTaken, "Another log of this yard has this number."),
        "log_measures_positive": (InvalidInput, "Length and diameters are more than nothing."),
        "log_butt_not_below_tip": (InvalidInput, "The butt is not thinner than the tip."),
    }
)


@transaction.atomic
def put_log(
    *,
    crew: Crew,
    member: Member,
    id: UUID,
    fields: dict[str, Any],
    confirmed: bool,
    expected: Expected | None,
    at: datetime,
) -> bool:
    """Chart a whole log, or change it; True if it is new.

    `fields` are yard, rack and species (ids or None), number, cull_reason and what CHARTED names. Raises
    InvalidInput with every fault, DoubtsUnconfirmed, LogNumberTaken, VersionNeeded, VersionStale, NotFound.
    """
    held = Log.objects.of(crew).select_for_update(of=("self",)).filter(id=id).first()
    return _keep_log(
        held, crew=crew, member=member, id=id, fields=fields, confirmed=confirmed, expected=expected, at=at
    )


@transaction.atomic
def change_log(
    *,
    crew: Crew,
    member: Member,
    id: UUID,
    fields: dict[str, Any],
    confirmed: bool,
    expected: Expected | None,
    at: datetime,
) -> None:
    """Change some fields of a log; the whole is checked as it will be. Raises as `put_log`."""
    held = one_of(Log, crew=crew, id=id, lock=True)
    as_held = {"yard": held.yard_id, "rack": held.rack_id, "species": held.species_id}
    as_held |= {name: getattr(held, name) for name in _KEPT}
    _keep_log(
        held,
        crew=crew,
        member=member,
        id=id,
        fields={**as_held, **fields},
        confirmed=confirmed,
        expected=expected,
        at=at,
    )


_KEPT = ["number", "cull_reason", *CHARTED]


def _keep_log(
    held: Log | None,
    *,
    crew: Crew,
    member: Member,
    id: UUID,
    fields: dict[str, Any],
    confirmed: bool,
    expected: Expected | None,
    at: datetime,
) -> bool:
    places = places_named(crew, [fields], known_yard=held.yard_id if held else None)
    line = line_in_order(fields, crew=crew, places=places, held=held)
    columns = columns_of(line, fields)
    changed = changed_fields(held, columns) if held else list(columns)
    if not changed:
        return False
    if held:
        check_version(expected=expected, current=held.version, row=log_row(crew, id))
    doubts = [*(doubts_of_change(held, changed) if held else ()), *doubts_of_line(line, units=units_of(crew))]
    ask_to_confirm(pointed(doubts), confirmed=confirmed)
    columns |= following(held, columns)
    emit_events(crew, events_of_change(held, columns) if held else (), at)
    row_of = partial(log_row, crew)
    log, created = put_row(Log, crew=crew, id=id, fields=columns, expected=expected, at=at, row_of=row_of)
    if created or (held and any(name in DECIDING for name in changed)):
        keep_measurements([log], member=member)
    return created


def line_in_order(
    fields: Mapping[str, Any], *, crew: Crew, places: PlacesNamed, held: Log | None = None
) -> ChartLine:
    """The line that a log's fields say; InvalidInput with every fault of it and of the places it names."""
    read_before = tuple(readings_across(held.read_across)) if held else ()
    line = with_means(line_of_fields(fields, number=fields["number"]), held=read_before)
    findings = pointed(faults_of_line(line, units=units_of(crew)))
    raise_if_any([*places.faults(fields), *findings])
    return line


def columns_of(line: ChartLine, fields: Mapping[str, Any]) -> dict[str, Any]:
    """What is stored of a log's fields, whose line is in order."""
    columns = {f"{name}_id": fields[name] for name in ("yard", "rack", "species")} | fields_of_line(line)
    return columns | {"number": line.number, "cull_reason": fields["cull_reason"] if fields["culled"] else ""}


def following(held: Log | None, columns: dict[str, Any]) -> dict[str, Any]:
    """What follows from a log's new columns: its state if it lies free, and the version of its measures."""
    state = held.state if held else LogState.IN_RACK
    if state in LYING and "culled" in columns:
        state = lying_state(culled=columns["culled"])
    measured = held and any(name in DECIDING for name in changed_fields(held, columns))
    return {"state": state, "measures_version": (held.measures_version if held else 1) + bool(measured)}


_SAID = ", ".join(["crew_id", "measures_version", *MEASURES])
_KEEP = f"""
    INSERT INTO inventory_measurement (id, log_id, recorded_by_id, version, created_at, changed_at, {_SAID})
    SELECT made.id, log.id, %s, 1, log.changed_at, log.changed_at, {_SAID}
    FROM unnest(%s::uuid[], %s::uuid[]) WITH ORDINALITY AS made (id, log, place)
    JOIN inventory_log log ON log.id = made.log ORDER BY place
"""


def keep_measurements(logs: Iterable[Log], *, member: Member, ids: Sequence[UUID] | None = None) -> None:
    """Keep what stored logs now say as a measurement of their measures' version, and tell of it."""
    logs = list(logs)
    of = [log.id for log in logs]
    with connection.cursor() as cursor:
        cursor.execute(_KEEP, [member.id, list(ids) if ids else [uuid4() for _ in of], of])
    if logs:
        emit_events(member.crew, map(event_of_measuring, logs), logs[0].changed_at)


@transaction.atomic
def put_aside(*, crew: Crew, id: UUID, reason: str, at: datetime) -> None:
    """A log is unfit for its first purpose and kept for short pieces. Raises LogInUse, LogMoveRefused."""
    log = one_of(Log, crew=crew, id=id, lock=True)
    _refuse_in_use(log)
    _move_lying(log, to=LogState.PUT_ASIDE, fields={"culled": True, "cull_reason": reason}, at=at)


@transaction.atomic
def return_to_rack(*, crew: Crew, id: UUID, rack: UUID | None, at: datetime) -> None:
    """A log is fit again, or found again; it lies on `rack`, or where it lay. Raises as `put_aside`."""
    log = one_of(Log, crew=crew, id=id, lock=True)
    _refuse_in_use(log)
    if rack and not Rack.objects.of(crew).filter(id=rack, yard=log.yard_id).exists():
        raise_if_any([fault("/rack", "No such rack in this yard.", "unknown")])
    fields = {"culled": False, "cull_reason": "", "gone_reason": "", "rack_id": rack or log.rack_id}
    _move_lying(log, to=LogState.IN_RACK, fields=fields, at=at)


@transaction.atomic
def write_off(*, crew: Crew, id: UUID, reason: str, at: datetime) -> None:
    """A log is gone for good: sold, burnt, rotten. Raises as `put_aside`; the rest of one cut up may go."""
    log = one_of(Log, crew=crew, id=id, lock=True)
    if log.state != LogState.CUT_UP:
        _refuse_in_use(log)
    _move_lying(log, to=LogState.GONE, fields={"gone_reason": reason}, at=at)


def _refuse_in_use(log: Log) -> None:
    if log.state in (LogState.RESERVED, LogState.SET, LogState.CUT_UP):
        raise LogInUse(f"Log {log.number} is {LogState(log.state).label.lower()}: release it there first.")


def _move_lying(log: Log, *, to: LogState, fields: dict[str, Any], at: datetime) -> None:
    if log.state != to and to not in LOG_MOVES[log.state]:
        raise LogMoveRefused(f"Log {log.number} is {LogState(log.state).label.lower()}.")
    if changed_fields(log, {"state": to, **fields}):
        emit_events(log.crew, events_of_change(log, fields), at)
        change_row(log, fields={"state": to, **fields}, at=at)
