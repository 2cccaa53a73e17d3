"""Setting a log and taking the record back: the place is filled once, the piece fits, the log moves on."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F

from cabins.cabins.models import Cabin
from cabins.choices.queries import cut_limits
from cabins.core.places import is_half_round
from cabins.layouts.models import Place
from cabins.prepared_pieces.saw_cuts import against_saw_cuts
from cabins.set_logs.fitting import NearHazard, halves_left, hazards_in, misfits, what_is_left
from cabins.set_logs.lookup import NamedRows, looked_up
from cabins.set_logs.models import End, SetLog
from cabins.set_logs.pieces import Crossed, crossings_in_log, logs_over, piece_in_log
from cabins.set_logs.queries import pieces_cut_from, set_log_row
from cabins.set_logs.warnings import (
    AS_CUT,
    Warned,
    as_cut_warnings,
    grain_warnings,
    hazard_warnings,
    order_warnings,
    warned,
)
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of
from crews.api.problems import Fault, InvalidInput, NotFound, Refusal, fault, register_constraint_errors
from crews.api.reading import raise_if_any
from crews.api.versions import Expected, check_version
from crews.events.actions import emit_events
from crews.events.models import EventKind
from inventory.core.crew_units import Sentence
from inventory.logs.checks import ask_to_confirm
from inventory.logs.drawing_values import units_of
from inventory.logs.models import Log, LogState
from inventory.logs.moves import move_log, release_logs

# A phone's clock may be a little ahead of ours.
CLOCKS_DIFFER = timedelta(minutes=10)
# What may still be written down when the log lies: as it was cut, and who looked at it.
LATER = ["gap_mm", "notch_start_mm", "notch_end_mm", "checked_by", "remarks"]


class PlaceFilled(Refusal):
    """Another log is set in this place."""


class LogGone(Refusal):
    """This log is gone; bring it back to its rack first if it is not."""


class MetalNearCut(Refusal):
    """Metal lies near a cut or notch: a saw must never meet it."""


class SetLogStands(Refusal):
    """What was set where, when and by whom is not changed: undo it with a reason and record it again."""


register_constraint_errors(
    {
        "place_filled_once": (PlaceFilled, "Another log was set in this place just now."),
        "undone_with_a_reason": (InvalidInput, "Say why the log is taken out of its place."),
    }
)


@transaction.atomic
def set_log(
    *,
    crew: Crew,
    id: UUID,
    cabin: UUID,
    wall: str,
    round: int,
    piece: int,
    log: UUID,
    from_butt_mm: Decimal,
    butt_at: str,
    set_at: datetime,
    set_by: UUID | None,
    checked_by: UUID | None,
    gap_mm: Decimal | None,
    notch_start_mm: Decimal | None,
    notch_end_mm: Decimal | None,
    remarks: str,
    metal_removed: bool,
    recorded_by: Member,
    at: datetime,
    extra_warnings: Sequence[Warned] = (),
    extra_doubts: Sequence[Fault] = (),
    confirm_doubtful: bool = False,
    expected: Expected | None = None,
) -> tuple[SetLog, bool]:
    """Record a log as set in its place; (row, created). Without `set_by` it was set by `recorded_by`.

    What cannot be is refused; what is only doubtful is recorded once it is confirmed, with a warning that
    stays. The same again changes nothing. What was measured as cut, who checked it and the remarks may be
    changed later under the version that `expected` names. The log becomes `set`, or `cut_up` while a usable
    piece of it is left. Locks the cabin, then the log. Raises InvalidInput with every fault, LogGone,
    PlaceFilled, MetalNearCut, DoubtsUnconfirmed, SetLogStands, VersionNeeded, VersionStale, NotFound for an
    id that is another crew's or for a change of what is not there.
    """
    found = looked_up(crew, cabin, (wall, round, piece), log, set_by, checked_by, recorded_by)
    fields: dict[str, Any] = {
        "cabin": found.cabin,
        "wall": wall,
        "round": round,
        "piece": piece,
        "log": found.log,
        "from_butt_mm": from_butt_mm,
        "butt_at": butt_at,
        "set_at": set_at,
        "set_by": found.set_by,
        "checked_by": found.checked_by,
        "gap_mm": gap_mm,
        "notch_start_mm": notch_start_mm,
        "notch_end_mm": notch_end_mm,
        "metal_removed": metal_removed,
        "remarks": remarks,
    }
    held = SetLog.objects.filter(id=id).first()
    if held is not None:
        return _repeated(crew, held, found, fields, expected, at), False
    if expected is not None:
        raise NotFound  # a change of what is not there
    warnings, doubts = _checked(found, fields, at=at)
    doubts = [*doubts, *extra_doubts]
    ask_to_confirm(doubts, confirmed=confirm_doubtful)
    row = SetLog.objects.create(
        id=id,
        crew=crew,
        place=found.place,
        recorded_by=recorded_by,
        warnings=units_of(crew).told(
            [*(warned(one["code"], one["detail"]) for one in doubts), *warnings, *extra_warnings]
        ),
        created_at=at,
        changed_at=at,
        **fields,
    )
    move_on(found.log, at=at)
    built_on(found.cabin)
    complete = [(EventKind.ROUND_COMPLETE, {"cabin": str(found.cabin.id), "round": round})]
    told = [(EventKind.LOG_SET, _told(row)), *(complete if _is_complete(found.cabin, round) else ())]
    emit_events(crew, told, at)
    return row, True


@transaction.atomic
def undo_set_log(*, crew: Crew, id: UUID, reason: str, undone_by: Member, at: datetime) -> SetLog:
    """Take back the record of a set log, with a reason; undone already, it stays as it was undone.

    Where others lie over it the record says so from then on. The log lies where it lay, or stays cut up while
    other pieces of it are set. Locks cabin, log and row. Raises NotFound.
    """
    cabin = one_of(SetLog, crew=crew, id=id).cabin_id
    held_cabin = one_of(Cabin, crew=crew, id=cabin, lock=True)
    row = one_of(SetLog, crew=crew, id=id, lock=True)
    if row.undone_at is not None:
        return row
    fields = {"undone_at": at, "undone_by": undone_by, "undo_reason": reason}
    change_row(row, fields={**fields, "warnings": [*row.warnings, *_over(held_cabin, row)]}, at=at)
    move_on(Log.objects.of(crew).select_for_update(of=("self",)).get(id=row.log_id), at=at)
    built_on(held_cabin)
    emit_events(crew, [(EventKind.LOG_SET_UNDONE, {**_told(row), "reason": reason})], at)
    return row


def _told(row: SetLog) -> dict[str, Any]:
    """What an event tells of a set log."""
    where = {"wall": row.wall, "round": row.round, "piece": row.piece}
    return {"set_log": str(row.id), "cabin": str(row.cabin_id), **where, "log": str(row.log_id)}


def _over(cabin: Cabin, row: SetLog) -> list[Warned]:
    """What lies over a log whose record is taken back."""
    over = logs_over(cabin, row)
    if not over:
        return []
    listed = ", ".join(f"log {log} in wall {wall}, round {number}" for log, wall, number in over)
    return [warned("under_others", f"Others are recorded over it: {listed}. Their heights rest on this one.")]


def _repeated(
    crew: Crew,
    held: SetLog,
    found: NamedRows,
    fields: Mapping[str, Any],
    expected: Expected | None,
    at: datetime,
) -> SetLog:
    """The record as it stands, or with what was written down later."""
    if held.crew_id != crew.id:
        raise NotFound
    changed = {name: value for name, value in fields.items() if getattr(held, name) != value}
    if not changed:
        return held
    if held.undone_at is not None or not set(changed) <= set(LATER):
        raise SetLogStands(
            errors=[fault(f"/{name}", "Not changed afterwards.", "stands") for name in changed]
        )
    check_version(expected=expected, current=held.version, row=set_log_row(crew, held.id))
    raise_if_any(_as_cut_faults(found, fields))
    kept = [one for one in held.warnings if one["code"] not in AS_CUT]
    change_row(
        held, fields={**changed, "warnings": units_of(crew).told(kept + _as_cut(found, fields))}, at=at
    )
    return held


def _checked(
    found: NamedRows, fields: Mapping[str, Any], *, at: datetime
) -> tuple[list[Warned], list[Fault]]:
    """Refuse what cannot be set here; (warnings to be heeded, doubts to be confirmed)."""
    piece = piece_in_log(found.place, fields["from_butt_mm"])
    others = [stretch for _, stretch in pieces_cut_from(found.log)]
    cuts = cut_limits(found.cabin.crew)
    unfit = misfits(piece=piece, log_mm=float(found.log.length_mm), others=others, cuts=cuts)
    across, sawn = against_saw_cuts(
        found.log, piece, target=(found.cabin.id, found.place.wall, found.place.round, found.place.piece, "")
    )
    unfit += across
    faults, doubts = (
        [fault("/from_butt_mm", one.detail, one.code) for one in unfit if one.is_doubtful is doubtful]
        for doubtful in (False, True)
    )
    if fields["set_at"] > at + CLOCKS_DIFFER:
        faults.append(fault("/set_at", "This is still to come.", "future"))
    raise_if_any(faults + _as_cut_faults(found, fields))
    if found.log.state == LogState.GONE:
        raise LogGone(f"Log {found.log.number} is gone; bring it back to its rack first if it is not.")
    there = SetLog.objects.filter(place=found.place, undone_at=None).select_related("log").first()
    if there is not None:
        raise PlaceFilled(f"Log {there.log.number} is set in this place.")
    hazards = hazards_in(
        found.log.hazards, piece=piece, notches_mm=_crossings(found, fields).values(), cuts=cuts
    )
    refuse_metal(found.log, hazards, metal_removed=fields["metal_removed"])
    warnings = [
        *hazard_warnings(hazards),
        *sawn,
        *order_warnings(found.cabin, found.place, found.log),
        *grain_warnings(found.layout, found.place, found.log),
        *_as_cut(found, fields),
    ]
    return warnings, doubts


def refuse_metal(
    log: Log, hazards: Sequence[NearHazard], *, metal_removed: bool, at: str = "/from_butt_mm"
) -> None:
    """Raises MetalNearCut for metal near a cut or notch that nobody states to have taken out.

    `at`: the body's field that says where the cut is.
    """
    near = [hazard for hazard in hazards if hazard.kind == "metal" and hazard.is_near]
    if near and not metal_removed:
        raise MetalNearCut(
            f"Log {log.number} holds metal near a cut or notch. Choose another part of it or another log; "
            f"only if the metal was found and taken out, say so with `metal_removed`.",
            errors=[
                fault(
                    at,
                    Sentence(
                        "Metal {at:along} from the butt, {near:across} from a cut or notch.",
                        at=hazard.from_butt_mm,
                        near=hazard.distance_mm,
                    ),
                    "metal_near_cut",
                )
                for hazard in near
            ],
        )


def _crossings(found: NamedRows, fields: Mapping[str, Any]) -> dict[Crossed, float]:
    return crossings_in_log(found.layout, found.place, fields["from_butt_mm"], fields["butt_at"])


def _as_cut_faults(found: NamedRows, fields: Mapping[str, Any]) -> list[Fault]:
    if is_half_round(found.place.round, found.layout.round_count):
        return [
            fault(f"/{name}", "A half log is laid flat: it has no notch and no gap.", "half_log")
            for name in ("gap_mm", "notch_start_mm", "notch_end_mm")
            if fields[name] is not None
        ]
    over = {column.end for column in _crossings(found, fields)}
    return [
        fault(f"/notch_{end}_mm", "This piece does not reach that corner.", "no_corner")
        for end in End.values
        if fields[f"notch_{end}_mm"] is not None and end not in over
    ]


def _as_cut(found: NamedRows, fields: Mapping[str, Any]) -> list[Warned]:
    at = {column.end: at_mm for column, at_mm in _crossings(found, fields).items()}
    return as_cut_warnings(found.layout, found.log, at_in_log_mm=at, fields=fields)


def move_on(log: Log, *, at: datetime) -> None:
    """The log's state after a piece of it was set, given to a member or taken back."""
    pieces = [stretch for _, stretch in pieces_cut_from(log)]
    if not pieces:
        release_logs(crew=log.crew, ids=[log.id], at=at)
    else:
        whole = what_is_left(log_mm=float(log.length_mm), pieces=pieces, cuts=cut_limits(log.crew))
        is_left = whole or halves_left(pieces)
        move_log(log, to=LogState.CUT_UP if is_left else LogState.SET, at=at)


def _is_complete(cabin: Cabin, number: int) -> bool:
    """Whether every place of the round is filled."""
    filled = SetLog.objects.filter(cabin=cabin, round=number, undone_at=None).values("place")
    return not Place.objects.filter(cabin=cabin, round=number).exclude(id__in=filled).exists()


def built_on(cabin: Cabin) -> None:
    """Plans made before are stale from now on."""
    Cabin.objects.filter(id=cabin.id).update(built_version=F("built_version") + 1)
