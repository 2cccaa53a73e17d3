"""Rows of set logs, and what is cut from a log and left of it."""

from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from cabins.fitting import Stretch, what_is_left
from cabins.models import SetLog
from crews.models import Crew
from crews.queries import one_row
from inventory.models import Log

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


def set_logs_of(crew: Crew) -> QuerySet[SetLog, dict[str, Any]]:
    """Every log recorded as set, undone ones too, with the hazards of its log."""
    return SetLog.objects.of(crew).values(
        *_FIELDS,
        length_mm=F("place__end_mm") - F("place__start_mm"),
        log_number=F("log__number"),
        log_hazards=F("log__hazards"),
    )


def set_log_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return one_row(set_logs_of(crew), id)


def pieces_cut_from(log: Log) -> list[tuple[SetLog, Stretch]]:
    """The pieces of a log that are set, butt first, in one query."""
    rows = (
        SetLog.objects.filter(log=log, undone_at=None)
        .select_related("place", "cabin")
        .order_by("from_butt_mm")
    )
    return [(row, stretch_of(row)) for row in rows]


def stretch_of(row: SetLog) -> Stretch:
    """The part of its log that a set piece takes."""
    assert row.place is not None  # the constraint set_in_a_place: only an undone one may have lost it
    start = float(row.from_butt_mm)
    return Stretch(near_butt_mm=start, near_tip_mm=start + float(row.place.end_mm - row.place.start_mm))


def log_pieces(log: Log) -> dict[str, Any]:
    """What is cut from a log and where it lies, and what is left of it."""
    cut = pieces_cut_from(log)
    return {
        "log": log.id,
        "log_number": log.number,
        "state": log.state,
        "length_mm": log.length_mm,
        "pieces": [
            {
                "set_log": row.id,
                "cabin": row.cabin_id,
                "cabin_name": row.cabin.name,
                "wall": row.wall,
                "round": row.round,
                "piece": row.piece,
                **_span(stretch),
            }
            for row, stretch in cut
        ],
        "left": [
            _span(stretch)
            for stretch in what_is_left(log_mm=float(log.length_mm), pieces=[stretch for _, stretch in cut])
        ],
        "hazards": log.hazards,
    }


def _span(stretch: Stretch) -> dict[str, float]:
    return {
        "near_butt_mm": stretch.near_butt_mm,
        "near_tip_mm": stretch.near_tip_mm,
        "length_mm": stretch.length_mm,
    }
