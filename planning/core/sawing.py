"""Logs that are sawn already, as the planner takes them: each piece and each rest a log of its own.

So a piece that was sawn fits where its length fits, its log has what is left, and no plan joins it again.
Lengths in mm, positions from the butt end of the whole log.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from planning.core.check import diameter_at
from planning.core.problem import KeptPiece, Params, PlanPiece, ProblemHazard, ProblemLog, WallProblem
from planning.core.what_if import Place, place_lengths_mm

HAIR_MM = 0.01
"""Cuts are stored to five places, and the planner's are not: a part gives so much more at either end."""
SAME_SPOT_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SawnStretch:
    """A part of a log that is sawn or in use; `gives_mm`: how long a place it fills for all that."""

    near_mm: float
    far_mm: float
    gives_mm: float


def saw_up(problem: WallProblem, sawn: Mapping[str, Iterable[SawnStretch]]) -> WallProblem:
    """The problem with the parts of sawn logs in place of these logs; `sawn` by the log's id.

    Pinned and kept pieces name the part that holds them; one that would cross a cut is none any more.
    """
    lengths = place_lengths_mm(problem)
    parts = {
        log.id: parts_of_log(log, sawn[log.id], problem.params) for log in problem.logs if log.id in sawn
    }

    def in_part(piece: PlanPiece) -> PlanPiece | None:
        if piece.log not in parts:
            return piece
        return _in_part(problem.params, parts[piece.log], piece, lengths)

    pinned = [piece for piece in map(in_part, problem.pinned) if piece is not None]
    keep = [(kept, in_part(kept.piece)) for kept in problem.keep]
    return replace(
        problem,
        logs=tuple(part for log in problem.logs for part in parts.get(log.id, (log,))),
        pinned=tuple(pinned),
        excluded=frozenset(
            part.id
            for log in problem.logs
            if log.id in problem.excluded
            for part in parts.get(log.id, (log,))
        ),
        keep=tuple(replace(kept, piece=piece) for kept, piece in keep if piece is not None),
    )


def parts_of_log(log: ProblemLog, sawn: Iterable[SawnStretch], params: Params) -> tuple[ProblemLog, ...]:
    """The pieces a log was sawn into and the rests that a further piece can be cut from, butt first."""
    cuts = _joined(sawn)
    trim, apart = params.trim_each_end_mm, params.trim_each_end_mm + params.kerf_mm
    found = [
        (cut.near_mm - trim - HAIR_MM, max(cut.far_mm, cut.near_mm + cut.gives_mm) + trim + HAIR_MM, cut)
        for cut in cuts
    ]
    rests: list[tuple[float, float, SawnStretch | None]] = []
    if len(cuts) < params.max_pieces_per_log:
        begins = [0.0, *(cut.far_mm + apart for cut in cuts)]
        ends = [*(cut.near_mm - apart for cut in cuts), log.length_mm]
        rests = [(begin, end, None) for begin, end in zip(begins, ends, strict=True)]
    least = 2.0 * params.station_inset_mm + SAME_SPOT_MM
    spans = sorted([*found, *rests], key=lambda span: span[0])
    return tuple(
        _part(log, f"{log.id}/{number}", begin, end, cut, params)
        for number, (begin, end, cut) in enumerate(spans, start=1)
        if end - begin > least
    )


def whole_log(log: ProblemLog, from_butt_mm: float) -> tuple[str, float]:
    """The whole log's id, and a position in it, for a position in one of its parts."""
    return log.part_of or log.id, log.part_from_mm + from_butt_mm


def onto_parts(problem: WallProblem, pieces: Iterable[PlanPiece]) -> list[PlanPiece]:
    """Pieces of whole logs as the problem names them, where it has these logs in parts; others as they are.

    A piece across a saw cut is left out.
    """
    parts: dict[str, list[ProblemLog]] = {}
    for log in problem.logs:
        if log.part_of is not None:
            parts.setdefault(log.part_of, []).append(log)
    if not parts:
        return list(pieces)
    lengths = place_lengths_mm(problem)
    found = [
        _in_part(problem.params, parts[piece.log], piece, lengths) if piece.log in parts else piece
        for piece in pieces
    ]
    return [piece for piece in found if piece is not None]


def _joined(sawn: Iterable[SawnStretch]) -> list[SawnStretch]:
    """The stretches butt first; those that overlap are one."""
    joined: list[SawnStretch] = []
    for one in sorted(sawn, key=lambda one: one.near_mm):
        if joined and one.near_mm < joined[-1].far_mm - HAIR_MM:
            before = joined[-1]
            joined[-1] = SawnStretch(
                near_mm=before.near_mm,
                far_mm=max(before.far_mm, one.far_mm),
                gives_mm=max(before.gives_mm, one.near_mm - before.near_mm + one.gives_mm),
            )
        else:
            joined.append(one)
    return joined


def _part(
    log: ProblemLog, name: str, begin: float, end: float, cut: SawnStretch | None, params: Params
) -> ProblemLog:
    inset, length = params.station_inset_mm, end - begin
    ends = (inset, length / 2.0, length - inset)
    butt, middle, tip = (diameter_at(log, begin + at, station_inset_mm=inset) for at in ends)
    bends = [
        *((at, diameter_at(log, at, station_inset_mm=inset)) for at in _inner_stations(log, inset)),
        *log.stations,
    ]
    return replace(
        log,
        id=name,
        length_mm=length,
        butt_mm=butt,
        middle_mm=middle,
        tip_mm=tip,
        # A bow is an arc: a part of the log bows by the square of its share of the length.
        crown_mm=log.crown_mm * (length / log.length_mm) ** 2,
        hazards=tuple(
            ProblemHazard(from_butt_mm=hazard.from_butt_mm - begin, kind=hazard.kind)
            for hazard in log.hazards
            if cut is None or cut.near_mm <= hazard.from_butt_mm <= cut.far_mm
        ),
        stations=tuple(
            (at - begin, diameter)
            for at, diameter in bends
            if 0.0 < at - begin < length and all(abs(at - begin - spot) > SAME_SPOT_MM for spot in ends)
        ),
        part_of=log.id,
        part_from_mm=begin,
        is_sawn=cut is not None,
    )


def _inner_stations(log: ProblemLog, inset: float) -> tuple[float, float, float]:
    return inset, log.length_mm / 2.0, log.length_mm - inset


def _in_part(
    params: Params, parts: Sequence[ProblemLog], piece: PlanPiece, lengths: Mapping[Place, float]
) -> PlanPiece | None:
    """The piece in the part of its log that it lies in; None where it crosses a cut, or has no place.

    A saw that went a little beside the line moves the piece by no more than the wood between two pieces.
    """
    length, trim = lengths.get(piece.place), params.trim_each_end_mm
    if length is None:
        return None
    found: list[tuple[float, PlanPiece]] = []
    for part in parts:
        at, most = piece.from_butt_mm - part.part_from_mm, part.length_mm - trim - length
        nearest = min(max(at, trim), most)
        if most >= trim and abs(nearest - at) <= 2.0 * trim + params.kerf_mm:
            found.append((abs(nearest - at), replace(piece, log=part.id, from_butt_mm=nearest)))
    return min(found, key=lambda one: one[0])[1] if found else None


def prepared_price(kept: KeptPiece, *, marks: int, is_at_wall: bool) -> KeptPiece:
    """The kept piece as dear to leave as what was done to it: each mark halves the rounds until it is due.

    `marks`: how many things were done (sawn, peeled, notched); one at the wall is due now.
    """
    if not marks and not is_at_wall:
        return kept
    due = 0 if is_at_wall else kept.due_rounds // 2 ** (marks - 1)
    return replace(kept, prepared=True, due_rounds=due)
