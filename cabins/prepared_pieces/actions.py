"""Recording a piece as sawn, peeled, notched or at the wall before it is set, and taking the record back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from cabins.cabins.models import Cabin
from cabins.choices.queries import cut_limits
from cabins.layouts.models import Place
from cabins.prepared_pieces.models import PieceMark, PreparedPiece
from cabins.prepared_pieces.queries import prepared_from, prepared_piece_row, stretch_prepared
from cabins.set_logs.actions import CLOCKS_DIFFER, LogGone, refuse_metal
from cabins.set_logs.fitting import DUST_MM, SAW_SLACK_MM, LogStretch, hazards_in, overlap
from cabins.set_logs.models import SetLog
from cabins.set_logs.queries import pieces_cut_from, stretch_of_row
from cabins.set_logs.warnings import Warned, hazard_warnings, warned
from cabins.walls.queries import layout_of
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of
from crews.api.problems import Fault, InvalidInput, NotFound, Refusal, fault, register_constraint_errors
from crews.api.reading import raise_if_any
from crews.api.versions import Expected, check_version
from crews.events.actions import emit_event
from crews.events.models import EventKind
from inventory.core.crew_units import Sentence
from inventory.logs.checks import ask_to_confirm
from inventory.logs.drawing_values import units_of
from inventory.logs.models import Log, LogState

# What may still be written down later; where a saw went is not changed.
LATER = ["marks", "remarks"]


class PreparedPieceStands(Refusal):
    """Where a piece was cut, when and by whom is not changed: undo it with a reason and record it again."""


register_constraint_errors(
    {"preparing_undone_with_a_reason": (InvalidInput, "Say why the record of the piece is taken back.")}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceTarget:
    """What a piece is made for: a place or a member of a cabin, the cabin alone, or nothing yet."""

    cabin: UUID | None = None
    wall: str = ""
    round: int | None = None
    piece: int | None = None
    member: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """What a body's ids stand for, the log locked; `length_mm`: of what the piece is made for."""

    log: Log
    cabin: Cabin | None
    prepared_by: Member
    length_mm: float | None


@transaction.atomic
def prepare_piece(
    *,
    crew: Crew,
    id: UUID,
    log: UUID,
    near_butt_mm: Decimal,
    near_tip_mm: Decimal,
    target: PieceTarget,
    marks: Sequence[str],
    metal_removed: bool,
    prepared_at: datetime,
    prepared_by: UUID | None,
    remarks: str,
    recorded_by: Member,
    at: datetime,
    confirm_doubtful: bool = False,
    expected: Expected | None = None,
) -> tuple[PreparedPiece, bool]:
    """Record what was done to a part of a log before it is set; (row, created).

    The same again changes nothing; marks and remarks are changed later under the version that `expected`
    names. Locks the log. Raises InvalidInput with every fault, LogGone, MetalNearCut, DoubtsUnconfirmed,
    PreparedPieceStands, VersionNeeded, VersionStale, NotFound.
    """
    found = _looked_up(crew, log, target, prepared_by, recorded_by)
    fields: dict[str, Any] = {
        "log": found.log,
        "near_butt_mm": near_butt_mm,
        "near_tip_mm": near_tip_mm,
        "cabin": found.cabin,
        "wall": target.wall,
        "round": target.round,
        "piece": target.piece,
        "member": target.member,
        "marks": [mark for mark in PieceMark.values if mark in marks],
        "metal_removed": metal_removed,
        "prepared_at": prepared_at,
        "prepared_by": found.prepared_by,
        "remarks": remarks,
    }
    held = PreparedPiece.objects.filter(id=id).first()
    if held is not None:
        return _repeated(crew, held, fields, expected, at), False
    if expected is not None:
        raise NotFound  # a change of what is not there
    warnings, doubts = _checked(found, fields, at=at)
    ask_to_confirm(doubts, confirmed=confirm_doubtful)
    told = units_of(crew).told([*(warned(one["code"], one["detail"]) for one in doubts), *warnings])
    row = PreparedPiece.objects.create(
        id=id, crew=crew, recorded_by=recorded_by, warnings=told, created_at=at, changed_at=at, **fields
    )
    _tell_if_sawn(row, at=at)
    return row, True


@transaction.atomic
def undo_prepared_piece(
    *, crew: Crew, id: UUID, reason: str, undone_by: Member, at: datetime
) -> PreparedPiece:
    """Take back the record of a piece, with a reason; undone already, it stays as it was undone.

    Raises NotFound, PreparedPieceStands for a piece that is set or made into a member.
    """
    log = one_of(PreparedPiece, crew=crew, id=id).log_id
    held_log = one_of(Log, crew=crew, id=log, lock=True)
    row = one_of(PreparedPiece, crew=crew, id=id, lock=True)
    if row.undone_at is not None:
        return row
    piece = stretch_prepared(row)
    if any(overlap(piece, other) for _, other in pieces_cut_from(held_log)):
        raise PreparedPieceStands(f"A piece of this part of log {held_log.number} is set: undo that first.")
    change_row(row, fields={"undone_at": at, "undone_by": undone_by, "undo_reason": reason}, at=at)
    return row


def _looked_up(
    crew: Crew, log: UUID, target: PieceTarget, prepared_by: UUID | None, recorded_by: Member
) -> _Found:
    """The rows that the ids stand for. InvalidInput names all that are not there."""
    faults: list[Fault] = []
    held = Log.objects.of(crew).select_for_update(of=("self",)).filter(id=log).first()
    if held is None:
        faults.append(fault("/log", "No such log in this crew.", "unknown"))
    maker = recorded_by if prepared_by is None else Member.objects.of(crew).filter(id=prepared_by).first()
    if maker is None:
        faults.append(fault("/prepared_by", "No such member in this crew.", "unknown"))
    cabin, length = None, None
    if target.cabin is not None:
        cabin = Cabin.objects.of(crew).filter(id=target.cabin).first()
        if cabin is None:
            faults.append(fault("/cabin", "No such cabin in this crew.", "unknown"))
        elif target.member or target.wall:
            length = _length_wanted(cabin, target)
            if length is None:
                pointer = "/member" if target.member else "/wall"
                faults.append(fault(pointer, f"{cabin.name} has no such place or member.", "unknown"))
    if held is None or maker is None or faults:
        raise InvalidInput(errors=faults)
    return _Found(log=held, cabin=cabin, prepared_by=maker, length_mm=length)


def _length_wanted(cabin: Cabin, target: PieceTarget) -> float | None:
    """How long the place or member is; None where the cabin has none such."""
    if target.member:
        members = layout_of(cabin).single_members if cabin.layout is not None else ()
        return next((member.length_mm for member in members if member.id == target.member), None)
    if target.round is None or target.piece is None:
        return None
    place = Place.objects.filter(
        cabin=cabin, wall=target.wall, round=target.round, piece=target.piece
    ).first()
    return None if place is None else float(place.end_mm - place.start_mm)


def _repeated(
    crew: Crew, held: PreparedPiece, fields: Mapping[str, Any], expected: Expected | None, at: datetime
) -> PreparedPiece:
    """The record as it stands, or with other marks or remarks."""
    if held.crew_id != crew.id:
        raise NotFound
    changed = {name: value for name, value in fields.items() if getattr(held, name) != value}
    if not changed:
        return held
    unsawn = PieceMark.SAWN in held.marks and PieceMark.SAWN not in fields["marks"]
    sawn = PieceMark.SAWN in fields["marks"] and PieceMark.SAWN not in held.marks
    if held.undone_at is not None or unsawn or not set(changed) <= set(LATER):
        raise PreparedPieceStands(
            errors=[fault(f"/{name}", "Not changed afterwards.", "stands") for name in changed]
        )
    check_version(expected=expected, current=held.version, row=prepared_piece_row(crew, held.id))
    if sawn:
        refuse_metal(
            held.log, _hazards(held.log, fields), metal_removed=held.metal_removed, at="/near_butt_mm"
        )
    change_row(held, fields=changed, at=at)
    if sawn:
        _tell_if_sawn(held, at=at)
    return held


def _tell_if_sawn(row: PreparedPiece, *, at: datetime) -> None:
    if PieceMark.SAWN in row.marks:
        stretch = {"near_butt_mm": float(row.near_butt_mm), "near_tip_mm": float(row.near_tip_mm)}
        told = {"prepared_piece": str(row.id), "log": str(row.log_id), **stretch}
        emit_event(row.crew, EventKind.PIECE_SAWN, told, at)


def _checked(found: _Found, fields: Mapping[str, Any], *, at: datetime) -> tuple[list[Warned], list[Fault]]:
    """Refuse what cannot be cut from the log any more; (warnings to be heeded, doubts to be confirmed)."""
    piece = stretch_of_row(fields)
    faults = _faults_in_log(found.log, piece)
    if fields["prepared_at"] > at + CLOCKS_DIFFER:
        faults.append(fault("/prepared_at", "This is still to come.", "future"))
    raise_if_any(faults)
    if found.log.state == LogState.GONE:
        raise LogGone(f"Log {found.log.number} is gone; bring it back to its rack first if it is not.")
    hazards = _hazards(found.log, fields)
    if PieceMark.SAWN in fields["marks"]:
        refuse_metal(found.log, hazards, metal_removed=fields["metal_removed"], at="/near_butt_mm")
    return hazard_warnings(hazards), _doubts_of_target(found, fields, piece)


def _hazards(log: Log, fields: Mapping[str, Any]) -> Any:
    return hazards_in(log.hazards, piece=stretch_of_row(fields), notches_mm=(), cuts=cut_limits(log.crew))


def _faults_in_log(log: Log, piece: LogStretch) -> list[Fault]:
    """Wood that is not there, or is in another piece already."""
    if piece.length_mm <= 0:
        return [fault("/near_tip_mm", "A piece ends farther from the butt than it begins.", "no_length")]
    if piece.near_tip_mm > float(log.length_mm) + DUST_MM:
        detail = Sentence("The log is {length:along} long.", length=log.length_mm)
        return [fault("/near_tip_mm", detail, "outside_log")]
    used = [("set", other) for _, other in pieces_cut_from(log)]
    used += [("recorded as prepared", stretch_prepared(row)) for row in prepared_from([log.id])]
    return [
        fault(
            "/near_butt_mm",
            Sentence(
                "The part from {start:along} to {end:along} is {done} already.",
                start=other.near_butt_mm,
                end=other.near_tip_mm,
                done=done,
            ),
            "overlaps_piece",
        )
        for done, other in used
        if overlap(piece, other)
    ]


def _doubts_of_target(found: _Found, fields: Mapping[str, Any], piece: LogStretch) -> list[Fault]:
    """A piece too short for what it is made for, and a place that is filled already."""
    doubts = []
    if found.length_mm is not None and found.length_mm - piece.length_mm > SAW_SLACK_MM:
        detail = Sentence(
            "The piece is {short:across} shorter than what it is for.",
            short=found.length_mm - piece.length_mm,
        )
        doubts.append(fault("/near_tip_mm", detail, "short_for_place"))
    if found.cabin is not None and fields["wall"]:
        place = {name: fields[name] for name in ("cabin", "wall", "round", "piece")}
        there = SetLog.objects.filter(**place, undone_at=None).select_related("log").first()
        if there is not None:
            filled = f"Log {there.log.number} is set in this place."
            doubts.append(fault("/wall", filled, "place_filled"))
    return doubts
