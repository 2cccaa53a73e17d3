"""How a piece that is set, or made into a member, agrees with what its log was sawn into before."""

from uuid import UUID

from cabins.prepared_pieces.models import PreparedPiece
from cabins.prepared_pieces.queries import sawn_from, stretch_prepared
from cabins.set_logs.fitting import DUST_MM, SAW_SLACK_MM, LogStretch, Misfit, over_saw_cuts
from cabins.set_logs.warnings import Warned, warned
from inventory.core.crew_units import Sentence
from inventory.logs.models import Log

Target = tuple[UUID, str, int | None, int | None, str]
"""What a piece is for: cabin, wall, round, piece; or cabin and, last, the member's name."""


def against_saw_cuts(log: Log, piece: LogStretch, *, target: Target) -> tuple[list[Misfit], list[Warned]]:
    """Why the piece cannot be what was sawn from the log, and what is to be heeded where it can."""
    rows = sawn_from(log)
    sawn = [stretch_prepared(row) for row in rows]
    unfit, of = over_saw_cuts(piece=piece, sawn=sawn)
    if of is None:
        return unfit, []
    row, warnings = rows[sawn.index(of)], []
    if row.cabin_id is not None and not _is_for(row, target):
        warnings.append(warned("sawn_for_another", f"This piece was sawn for {_made_for(row)}."))
    longer = of.length_mm - piece.length_mm
    if longer > SAW_SLACK_MM + DUST_MM:
        detail = Sentence("The piece was sawn {longer:across} longer than its place.", longer=longer)
        warnings.append(warned("sawn_longer", detail))
    return unfit, warnings


def _is_for(row: PreparedPiece, target: Target) -> bool:
    if not row.wall and not row.member:
        return row.cabin_id == target[0]
    return target == (row.cabin_id, row.wall, row.round, row.piece, row.member)


def _made_for(row: PreparedPiece) -> str:
    if row.member:
        return row.member
    return f"wall {row.wall}, round {row.round}" if row.wall else "another cabin"
