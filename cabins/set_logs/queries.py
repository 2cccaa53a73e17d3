"""Rows of set logs, and what is cut from a log (for walls and for members) and left of it."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from cabins.choices.queries import cut_limits
from cabins.core.places import is_half_round
from cabins.prepared_pieces.models import PieceMark, PreparedPiece
from cabins.roof_members.models import RoofMember
from cabins.set_logs.fitting import LogStretch, halves_left, overlap, what_is_left
from cabins.set_logs.models import SetLog
from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.api.fast_rows import compiled_query
from crews.api.problems import NotFound
from inventory.logs.models import Log

_FIELDS = [
    "id",
    "cabin",
    "wall",
    "round",
    "piece",
    "log",
    "from_butt_mm",
    "butt_at",
    "set_at",
    "set_by",
    "checked_by",
    "recorded_by",
    "gap_mm",
    "notch_start_mm",
    "notch_end_mm",
    "metal_removed",
    "remarks",
    "warnings",
    "undone_at",
    "undone_by",
    "undo_reason",
    "version",
    "created_at",
    "changed_at",
]


_CUT = ["log", "from_butt_mm", "cabin__name", "cabin__rounds"]
_IN_WALL = ["wall", "round", "piece", "place__start_mm", "place__end_mm"]
_MADE = ["member", "kind", "length_mm"]


def set_logs_of(crew: Crew) -> QuerySet[SetLog, dict[str, Any]]:
    """Every log recorded as set, undone ones too, with the hazards of its log."""
    return SetLog.objects.of(crew).values(
        *_FIELDS,
        length_mm=F("place__end_mm") - F("place__start_mm"),
        log_number=F("log__number"),
        log_hazards=F("log__hazards"),
    )


@compiled_query(SetLog)
def set_logs_listed(crew: UUID) -> QuerySet[SetLog, dict[str, Any]]:
    """The same, of the crew with this id."""
    return set_logs_of(Crew(id=crew))


def set_log_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(set_logs_of(crew), id)


def pieces_cut_from(log: Log) -> list[tuple[SetLog | RoofMember, LogStretch]]:
    """The pieces of a log that are set or given to members, butt first, in two queries."""
    # Only what is asked of a piece: whole rows would bring the cabin's whole layout with every one.
    set_in_walls = SetLog.objects.filter(log=log, undone_at=None).select_related("place", "cabin")
    given = RoofMember.objects.filter(log=log, undone_at=None).select_related("cabin")
    rows: list[SetLog | RoofMember] = [*set_in_walls.only(*_CUT, *_IN_WALL), *given.only(*_CUT, *_MADE)]
    return [(row, stretch_of(row)) for row in sorted(rows, key=lambda row: row.from_butt_mm)]


def stretch_of(row: SetLog | RoofMember) -> LogStretch:
    """The part of its log that a piece takes."""
    if isinstance(row, RoofMember):
        return _stretch(near_mm=row.from_butt_mm, length_mm=row.length_mm)
    assert row.place is not None  # the constraint set_in_a_place: only an undone one may have lost it
    return _stretch(
        near_mm=row.from_butt_mm,
        length_mm=row.place.end_mm - row.place.start_mm,
        is_half=is_half_round(row.round, row.cabin.rounds or 0),
    )


def _stretch(*, near_mm: Decimal, length_mm: Decimal, is_half: bool = False) -> LogStretch:
    near = float(near_mm)
    return LogStretch(near_butt_mm=near, near_tip_mm=near + float(length_mm), is_half=is_half)


@compiled_query(Log)
def _log_cut(crew: UUID, id: UUID) -> QuerySet[Log, Any]:
    return (
        Log.objects.filter(crew=crew, id=id)
        .annotate(log_number=F("number"))
        .values("id", "log_number", "state", "length_mm", "hazards")
    )


@compiled_query(SetLog)
def _cut_for_walls(log: UUID) -> QuerySet[SetLog, Any]:
    return SetLog.objects.filter(log=log, undone_at=None).values(
        "cabin", "wall", "round", "piece", set_log=F("id"), cabin_name=F("cabin__name"),
        rounds=F("cabin__rounds"),
        near_butt_mm=F("from_butt_mm"), length_mm=F("place__end_mm") - F("place__start_mm"),
    )  # fmt: skip


@compiled_query(RoofMember)
def _cut_for_members(log: UUID) -> QuerySet[RoofMember, Any]:
    return RoofMember.objects.filter(log=log, undone_at=None).values(
        "cabin", "member", "length_mm", roof_member=F("id"), member_kind=F("kind"),
        cabin_name=F("cabin__name"), near_butt_mm=F("from_butt_mm"),
    )  # fmt: skip


@compiled_query(PreparedPiece)
def _prepared(log: UUID) -> QuerySet[PreparedPiece, Any]:
    return PreparedPiece.objects.filter(log=log, undone_at=None).order_by("near_butt_mm").values(
        "cabin", "wall", "round", "piece", "member", "marks", "near_butt_mm", "near_tip_mm", "version",
        prepared_piece=F("id"), cabin_name=F("cabin__name"),
        length_mm=F("near_tip_mm") - F("near_butt_mm"),
    )  # fmt: skip


# A piece in a wall is no member, and the other way.
_NOT_IN_WALL = {"set_log": None, "wall": None, "round": None, "piece": None}
_NO_MEMBER = {"roof_member": None, "member": None, "member_kind": None}


def log_pieces(crew: Crew, id: UUID) -> dict[str, Any]:
    """What is cut from a log and where it lies, and what is left of it. NotFound for another crew's log."""
    found = _log_cut.rows(crew=crew.id, id=id)
    if not found:
        raise NotFound
    [log] = found
    cut = []
    for row in _cut_for_walls.rows(log=id):
        rounds = row.pop("rounds") or 0
        cut.append(_NO_MEMBER | row | {"is_half": is_half_round(row["round"], rounds)})
    cut += [_NOT_IN_WALL | row | {"is_half": False} for row in _cut_for_members.rows(log=id)]
    cut.sort(key=lambda row: row["near_butt_mm"])
    taken = [
        _stretch(near_mm=row["near_butt_mm"], length_mm=row["length_mm"], is_half=row["is_half"])
        for row in cut
    ]
    pieces = [row | _span(stretch) for row, stretch in zip(cut, taken, strict=True)]
    prepared = list(_prepared.rows(log=id))
    sawn = [stretch_of_row(row) for row in prepared if PieceMark.SAWN in row["marks"]]
    unset = [one for one in sawn if not any(overlap(one, other) for other in taken)]
    whole = what_is_left(log_mm=float(log["length_mm"]), pieces=[*taken, *unset], cuts=cut_limits(crew))
    left = whole + halves_left(taken)
    return {
        "log": log.pop("id"),
        **log,
        "pieces": pieces,
        "prepared": prepared,
        "left": [_span(stretch) for stretch in left],
    }


def stretch_of_row(row: Mapping[str, Any]) -> LogStretch:
    """The part of its log that a row of a prepared piece is."""
    return LogStretch(near_butt_mm=float(row["near_butt_mm"]), near_tip_mm=float(row["near_tip_mm"]))


def _span(stretch: LogStretch) -> dict[str, float]:
    return {
        "near_butt_mm": stretch.near_butt_mm,
        "near_tip_mm": stretch.near_tip_mm,
        "length_mm": stretch.length_mm,
        "is_half": stretch.is_half,
    }
