"""Giving part of a log to a member beyond the walls, and taking the record back."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from cabins.cabins.models import Cabin
from cabins.choices.queries import cut_limits
from cabins.core.cutting import CutLimits
from cabins.core.members import SingleMember
from cabins.layouts.queries import in_stored_mm
from cabins.prepared_pieces.saw_cuts import against_saw_cuts
from cabins.roof_members.models import RoofMember
from cabins.roof_members.queries import roof_member_row
from cabins.set_logs.actions import CLOCKS_DIFFER, LogGone, built_on, move_on, refuse_metal
from cabins.set_logs.fitting import LogStretch, hazards_in, misfits, unfit_for_member
from cabins.set_logs.queries import pieces_cut_from
from cabins.set_logs.warnings import (
    Warned,
    crook_warnings,
    crown_warnings,
    cull_warnings,
    hazard_warnings,
    warned,
)
from cabins.walls.queries import layout_of
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of
from crews.api.problems import Fault, InvalidInput, NotFound, Refusal, fault, register_constraint_errors
from crews.api.reading import raise_if_any
from crews.api.versions import Expected, check_version
from inventory.core.profile import diameter_mm_at
from inventory.logs.checks import ask_to_confirm
from inventory.logs.drawing_values import units_of
from inventory.logs.models import Log, LogState
from inventory.logs.profiles import profile_of_log


class MemberInstalled(Refusal):
    """This member was made already."""


class RoofMemberStands(Refusal):
    """Which member was made from what, when and by whom is not changed: undo it and record it again."""


register_constraint_errors(
    {
        "member_installed_once": (MemberInstalled, "This member was made from another log just now."),
        "member_undone_with_a_reason": (InvalidInput, "Say why the record of the member is taken back."),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """What a body's ids stand for, cabin and log locked."""

    cabin: Cabin
    log: Log
    installed_by: Member


@transaction.atomic
def install_member(
    *,
    crew: Crew,
    id: UUID,
    cabin: UUID,
    member: str,
    log: UUID,
    from_butt_mm: Decimal,
    installed_at: datetime,
    installed_by: UUID | None,
    metal_removed: bool,
    remarks: str,
    recorded_by: Member,
    at: datetime,
    extra_doubts: Sequence[Fault] = (),
    confirm_doubtful: bool = False,
    expected: Expected | None = None,
) -> tuple[RoofMember, bool]:
    """Record a member made from part of a log; (row, created). Without `installed_by`: `recorded_by`.

    The same again changes nothing; the remarks may be changed under the version that `expected` names. The
    piece is as long as the layout says and must be as thick and straight; what is only doubtful is recorded
    once it is confirmed. The log becomes `set`, or `cut_up` while a usable piece of it is left. Locks the
    cabin, then the log. Raises InvalidInput with every fault, LogGone, MemberInstalled, MetalNearCut,
    DoubtsUnconfirmed, RoofMemberStands, VersionNeeded, VersionStale, NotFound for an id that is another
    crew's or for a change of what is not there.
    """
    found = _looked_up(crew, cabin, log, installed_by, recorded_by)
    fields: dict[str, Any] = {
        "cabin": found.cabin,
        "member": member,
        "log": found.log,
        "from_butt_mm": from_butt_mm,
        "installed_at": installed_at,
        "installed_by": found.installed_by,
        "metal_removed": metal_removed,
        "remarks": remarks,
    }
    held = RoofMember.objects.filter(id=id).first()
    if held is not None:
        return _repeated(crew, held, fields, expected, at), False
    if expected is not None:
        raise NotFound  # a change of what is not there
    wanted = _member_of(found.cabin, member)
    warnings, doubts = _checked(found, wanted, fields, at=at)
    doubts = [*doubts, *extra_doubts]
    ask_to_confirm(doubts, confirmed=confirm_doubtful)
    row = RoofMember.objects.create(
        id=id,
        crew=crew,
        kind=wanted.kind.value,
        length_mm=in_stored_mm(wanted.length_mm),
        recorded_by=recorded_by,
        warnings=units_of(crew).told([*(warned(one["code"], one["detail"]) for one in doubts), *warnings]),
        created_at=at,
        changed_at=at,
        **fields,
    )
    move_on(found.log, at=at)
    built_on(found.cabin)
    return row, True


@transaction.atomic
def undo_roof_member(*, crew: Crew, id: UUID, reason: str, undone_by: Member, at: datetime) -> RoofMember:
    """Take back the record of a member, with a reason; undone already, it stays as it was undone.

    The log lies where it lay, or stays cut up while other pieces of it are used. Raises NotFound.
    """
    cabin = one_of(RoofMember, crew=crew, id=id).cabin_id
    held_cabin = one_of(Cabin, crew=crew, id=cabin, lock=True)
    row = one_of(RoofMember, crew=crew, id=id, lock=True)
    if row.undone_at is not None:
        return row
    change_row(row, fields={"undone_at": at, "undone_by": undone_by, "undo_reason": reason}, at=at)
    move_on(Log.objects.of(crew).select_for_update(of=("self",)).get(id=row.log_id), at=at)
    built_on(held_cabin)
    return row


def _looked_up(crew: Crew, cabin: UUID, log: UUID, installed_by: UUID | None, recorded_by: Member) -> _Found:
    """The rows that the ids stand for. InvalidInput names all that are not there."""
    faults: list[Fault] = []
    building = Cabin.objects.of(crew).select_for_update(of=("self",)).filter(id=cabin).first()
    if building is None:
        faults.append(fault("/cabin", "No such cabin in this crew.", "unknown"))
    held = Log.objects.of(crew).select_for_update(of=("self",)).filter(id=log).first()
    if held is None:
        faults.append(fault("/log", "No such log in this crew.", "unknown"))
    maker = recorded_by if installed_by is None else Member.objects.of(crew).filter(id=installed_by).first()
    if maker is None:
        faults.append(fault("/installed_by", "No such member in this crew.", "unknown"))
    if building is None or held is None or maker is None:
        raise InvalidInput(errors=faults)
    return _Found(cabin=building, log=held, installed_by=maker)


def _member_of(cabin: Cabin, name: str) -> SingleMember:
    members = layout_of(cabin).single_members if cabin.layout is not None else ()
    wanted = next((member for member in members if member.id == name), None)
    if wanted is None:
        known = ", ".join(member.id for member in members) or "none"
        detail = f"The layout of {cabin.name} has no such member; it has: {known}."
        raise InvalidInput(errors=[fault("/member", detail, "unknown")])
    return wanted


def _repeated(
    crew: Crew, held: RoofMember, fields: dict[str, Any], expected: Expected | None, at: datetime
) -> RoofMember:
    """The record as it stands, or with other remarks."""
    if held.crew_id != crew.id:
        raise NotFound
    changed = {name: value for name, value in fields.items() if getattr(held, name) != value}
    if not changed:
        return held
    if held.undone_at is not None or set(changed) != {"remarks"}:
        raise RoofMemberStands(
            errors=[fault(f"/{name}", "Not changed afterwards.", "stands") for name in changed]
        )
    check_version(expected=expected, current=held.version, row=roof_member_row(crew, held.id))
    change_row(held, fields=changed, at=at)
    return held


def _checked(
    found: _Found, wanted: SingleMember, fields: dict[str, Any], *, at: datetime
) -> tuple[list[Warned], list[Fault]]:
    """Refuse what this member must not be made from; (warnings to be heeded, doubts to be confirmed)."""
    near = float(fields["from_butt_mm"])
    piece = LogStretch(near_butt_mm=near, near_tip_mm=near + wanted.length_mm)
    cuts = cut_limits(found.cabin.crew)
    faults, doubts = _findings_of_piece(found.log, wanted, piece, cuts)
    across, sawn = against_saw_cuts(found.log, piece, target=(found.cabin.id, "", None, None, wanted.id))
    for one in across:
        (doubts if one.is_doubtful else faults).append(fault("/from_butt_mm", one.detail, one.code))
    if fields["installed_at"] > at + CLOCKS_DIFFER:
        faults.append(fault("/installed_at", "This is still to come.", "future"))
    raise_if_any(faults)
    if found.log.state == LogState.GONE:
        raise LogGone(f"Log {found.log.number} is gone; bring it back to its rack first if it is not.")
    made = RoofMember.objects.filter(cabin=found.cabin, member=wanted.id, undone_at=None)
    earlier = made.select_related("log").first()
    if earlier is not None:
        raise MemberInstalled(f"{wanted.id} was made from log {earlier.log.number}.")
    hazards = hazards_in(found.log.hazards, piece=piece, notches_mm=(), cuts=cuts)
    refuse_metal(found.log, hazards, metal_removed=fields["metal_removed"])
    warnings = [
        *hazard_warnings(hazards),
        *sawn,
        *crook_warnings(found.log, piece),
        *crown_warnings(found.log, limit_mm=wanted.crown_limit_mm),
        *cull_warnings(found.log),
    ]
    return warnings, doubts


def _findings_of_piece(
    log: Log, wanted: SingleMember, piece: LogStretch, cuts: CutLimits
) -> tuple[list[Fault], list[Fault]]:
    """Faults and doubts of a piece for this member."""
    log_mm = float(log.length_mm)
    others = [stretch for _, stretch in pieces_cut_from(log)]
    found = misfits(piece=piece, log_mm=log_mm, others=others, cuts=cuts)
    if any(one.code == "outside_log" for one in found):
        return [fault("/from_butt_mm", one.detail, one.code) for one in found if not one.is_doubtful], []
    middle_at = (piece.near_butt_mm + piece.near_tip_mm) / 2
    found += unfit_for_member(
        piece=piece,
        log_mm=log_mm,
        crown_mm=None if log.crown_mm is None else float(log.crown_mm),
        middle_mm=diameter_mm_at(profile_of_log(log), middle_at),
        least_middle_mm=wanted.least_middle_mm,
        crown_limit_mm=wanted.crown_limit_mm,
    )
    pointers = {"too_crooked": "/log"}
    faults, doubts = (
        [
            fault(pointers.get(one.code, "/from_butt_mm"), one.detail, one.code)
            for one in found
            if one.is_doubtful is doubtful
        ]
        for doubtful in (False, True)
    )
    return faults, doubts
