"""What is sawn already, as the planner needs it: parts of logs, and what a prepared piece is worth."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from django.db.models.functions import Coalesce

from cabins.prepared_pieces.models import PieceMark, PreparedPiece
from cabins.prepared_pieces.queries import is_sawn, prepared_from, stretch_prepared
from cabins.roof_members.models import RoofMember
from cabins.set_logs.fitting import SAW_SLACK_MM, LogStretch, crosses_saw_cut, overlap
from cabins.set_logs.models import SetLog
from planning.core.problem import KeptPiece, PlanPiece
from planning.core.sawing import SawnStretch, prepared_price
from planning.plans.models import PlannedPiece

DONE_TO_IT = (PieceMark.SAWN, PieceMark.PEELED, PieceMark.NOTCHED)


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparedLogs:
    """The prepared pieces of some logs, and what of the sawn ones is set or made into members, by log."""

    pieces: Mapping[str, Sequence[PreparedPiece]]
    used: Mapping[str, Sequence[LogStretch]]

    def of(self, log: str, stretch: LogStretch) -> PreparedPiece | None:
        """The prepared piece that a part of a log lies in, or is most of."""
        return next(
            (row for row in self.pieces.get(log, ()) if overlap(stretch_prepared(row), stretch)), None
        )

    def sawn(self, lengths_mm: Mapping[tuple[Any, ...], float]) -> dict[str, list[SawnStretch]]:
        """The stretches by log that no plan joins again, of every log of which a piece is sawn.

        `lengths_mm`: of places and members, as `target_key` names them: a piece sawn a little short still
        fills its own.
        """
        found = {}
        for log, rows in self.pieces.items():
            cut = [row for row in rows if is_sawn(row)]
            if cut:
                found[log] = [
                    *(_sawn_stretch(row, lengths_mm.get(target_key(row))) for row in cut),
                    *(
                        SawnStretch(near_mm=one.near_butt_mm, far_mm=one.near_tip_mm, gives_mm=one.length_mm)
                        for one in self.used.get(log, ())
                    ),
                ]
        return found


def target_key(row: PreparedPiece) -> tuple[Any, ...]:
    """What a piece was made for, as the planner's problem names places."""
    if row.member:
        return (str(row.cabin_id), f"member:{row.member}", 0, 0)
    return (str(row.cabin_id), row.wall, row.round, row.piece)


def _sawn_stretch(row: PreparedPiece, wanted_mm: float | None) -> SawnStretch:
    near, far = float(row.near_butt_mm), float(row.near_tip_mm)
    serves = wanted_mm is not None and 0.0 <= wanted_mm - (far - near) <= SAW_SLACK_MM
    return SawnStretch(near_mm=near, far_mm=far, gives_mm=wanted_mm if serves and wanted_mm else far - near)


def prepared_logs(logs: Iterable[UUID]) -> PreparedLogs:
    """What is prepared of these logs, and what is used of those that are sawn. Three queries at most."""
    pieces: dict[str, list[PreparedPiece]] = defaultdict(list)
    for row in prepared_from(logs):
        pieces[str(row.log_id)].append(row)
    sawn = [UUID(log) for log, rows in pieces.items() if any(map(is_sawn, rows))]
    return PreparedLogs(pieces=pieces, used=used_parts(sawn))


def used_parts(logs: Sequence[UUID]) -> Mapping[str, Sequence[LogStretch]]:
    """What of these logs is set or made into members, by log."""
    if not logs:
        return {}
    used: dict[str, list[LogStretch]] = defaultdict(list)
    rows = [
        *SetLog.objects.filter(log__in=logs, undone_at=None).values_list(
            "log", "from_butt_mm", F("place__end_mm") - F("place__start_mm")
        ),
        *RoofMember.objects.filter(log__in=logs, undone_at=None).values_list(
            "log", "from_butt_mm", "length_mm"
        ),
    ]
    for log, near, length in rows:
        used[str(log)].append(LogStretch(near_butt_mm=float(near), near_tip_mm=float(near + length)))
    return used


def priced(
    keep: Iterable[KeptPiece], prepared: PreparedLogs, lengths_mm: Mapping[tuple[Any, ...], float]
) -> tuple[list[KeptPiece], list[PlanPiece]]:
    """The pieces of the plans in force as dear to leave as what was done to them; and those held fast.

    A notched piece fits only over the logs that it was notched for: it stays in its place.
    """
    found, held = [], []
    for kept in keep:
        length = lengths_mm.get(kept.piece.place)
        row = length and prepared.of(kept.piece.log, stretch_of_piece(kept.piece, length))
        if not row:
            found.append(kept)
            continue
        marks = sum(mark in row.marks for mark in DONE_TO_IT)
        found.append(prepared_price(kept, marks=marks, is_at_wall=PieceMark.AT_WALL in row.marks))
        if PieceMark.NOTCHED in row.marks and target_key(row) == kept.piece.place:
            held.append(kept.piece)
    return found, held


def stretch_of_piece(piece: PlanPiece, length_mm: float) -> LogStretch:
    return LogStretch(near_butt_mm=piece.from_butt_mm, near_tip_mm=piece.from_butt_mm + length_mm)


def across_saw_cuts(pieces: QuerySet[PlannedPiece]) -> list[dict[str, Any]]:
    """Those of a plan's pieces that would lie across a saw cut made since: rows with log and its number."""
    rows: QuerySet[PlannedPiece, Any] = pieces.filter(log__prepared_pieces__undone_at=None).values(
        "log", "from_butt_mm", log_number=F("log__number"),
        length_mm=Coalesce("member_length_mm", F("end_mm") - F("start_mm")),
    ).distinct()  # fmt: skip
    found = list(rows)
    sawn = sawn_stretches({row["log"] for row in found})
    return [row for row in found if _crosses(row, sawn[row["log"]])]


def sawn_stretches(logs: Iterable[UUID]) -> Mapping[UUID, Sequence[LogStretch]]:
    """The pieces that are sawn of these logs, by log; no log is missing. One query."""
    sawn: dict[UUID, list[LogStretch]] = defaultdict(list)
    for row in prepared_from(logs):
        if is_sawn(row):
            sawn[row.log_id].append(stretch_prepared(row))
    return sawn


def _crosses(row: Mapping[str, Any], sawn: Sequence[LogStretch]) -> bool:
    near = float(row["from_butt_mm"])
    piece = LogStretch(near_butt_mm=near, near_tip_mm=near + float(row["length_mm"]))
    return crosses_saw_cut(piece, sawn)
