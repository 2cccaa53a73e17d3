"""Rows of pieces prepared before they are set: sawn, peeled, notched, moved to the wall."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from cabins.prepared_pieces.models import PieceMark, PreparedPiece
from cabins.set_logs.fitting import LogStretch
from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from inventory.logs.models import Log

_FIELDS = [
    "id", "log", "near_butt_mm", "near_tip_mm", "cabin", "wall", "round", "piece", "member", "marks",
    "metal_removed", "prepared_at", "prepared_by", "recorded_by", "remarks", "warnings", "undone_at",
    "undone_by", "undo_reason", "version", "created_at", "changed_at",
]  # fmt: skip


def prepared_pieces_of(crew: Crew) -> QuerySet[PreparedPiece, dict[str, Any]]:
    """Every piece recorded as prepared, undone ones too, with the hazards of its log."""
    return PreparedPiece.objects.of(crew).values(
        *_FIELDS,
        length_mm=F("near_tip_mm") - F("near_butt_mm"),
        log_number=F("log__number"),
        log_hazards=F("log__hazards"),
    )


def prepared_piece_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(prepared_pieces_of(crew), id)


def prepared_from(logs: Iterable[UUID]) -> list[PreparedPiece]:
    """The pieces of these logs that are prepared now, butt first; those that are set among them."""
    return list(PreparedPiece.objects.filter(log__in=list(logs), undone_at=None).order_by("near_butt_mm"))


def stretch_prepared(row: PreparedPiece) -> LogStretch:
    """The part of its log that a prepared piece is."""
    return LogStretch(near_butt_mm=float(row.near_butt_mm), near_tip_mm=float(row.near_tip_mm))


def is_sawn(row: PreparedPiece) -> bool:
    return PieceMark.SAWN in row.marks


def sawn_from(log: Log) -> list[PreparedPiece]:
    """The pieces that a log is sawn into, butt first."""
    return [row for row in prepared_from([log.id]) if is_sawn(row)]
