"""The cut list of a cabin: every piece of its plan still to be set, log by log, and what is done to it."""

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.openings.queries import place_of_row
from cabins.prepared_pieces.models import PreparedPiece
from cabins.prepared_pieces.queries import is_sawn, prepared_from, stretch_prepared
from cabins.set_logs.fitting import LogStretch, crosses_saw_cut, overlap
from cabins.walls.queries import is_lost
from crews.accounts.models import Crew
from inventory.core.crew_units import CrewUnits
from inventory.core.measure import Unit
from inventory.logs.drawing_values import units_of
from planning.core.printed.cut_list import ACROSS, CAUTION, goes_to, in_cutting_order
from planning.core.sheets import METAL_CAUTION
from planning.jobs.sawn_logs import used_parts
from planning.openings.queries import openings_among
from planning.plans.models import Plan
from planning.sheets.queries import lead_cautions, lost_logs, members_to_come, merged, with_rip_lines

Row = Mapping[str, Any]


def cut_list_rows(plan: Plan, cabin: Cabin) -> tuple[list[Row], list[dict[str, Any]]]:
    """The pieces still to be set, each with `prepared` (its record, or None), `part` (what is sawn off for
    it) and `is_across` (a cut that was made runs through it); and what `lost_logs` says. Raises PlanStale."""
    standing, coming, stack = merged(plan, cabin)
    members = members_to_come(plan, cabin)
    openings = openings_among(cabin.crew, stack, set_pieces=standing.pieces, coming=coming)
    ripped = with_rip_lines(standing.layout, coming)
    in_walls = [{**row, **openings.of_place(place_of_row(row))} for row in ripped]
    rows = [*in_walls, *(row for row in members if not is_lost(row))]
    records: dict[UUID, list[PreparedPiece]] = {}
    for record in prepared_from({row["log"] for row in rows}):
        records.setdefault(record.log_id, []).append(record)
    return [{**row, **_done(_part(row, rows), records.get(row["log"], []))} for row in rows], lost_logs(
        [*standing.lost, *members]
    )


def _part(row: Row, rows: Sequence[Row]) -> LogStretch:
    """What is sawn off the log for a piece: for two half logs of one part the longer one."""
    own = _stretch(row)
    if not row.get("rip"):
        return own
    beside = [_stretch(one) for one in rows if one["log"] == row["log"] and one.get("rip")]
    far = max(one.near_tip_mm for one in beside if overlap(own, one))
    return LogStretch(near_butt_mm=own.near_butt_mm, near_tip_mm=far)


def _stretch(row: Row) -> LogStretch:
    near = float(row["from_butt_mm"])
    return LogStretch(near_butt_mm=near, near_tip_mm=near + float(row["end_mm"] - row["start_mm"]))


def _done(part: LogStretch, records: Sequence[PreparedPiece]) -> dict[str, Any]:
    is_across = crosses_saw_cut(part, [stretch_prepared(record) for record in records if is_sawn(record)])
    mine = [] if is_across else [one for one in records if overlap(part, stretch_prepared(one))]
    return {"part": part, "prepared": mine[0] if mine else None, "is_across": is_across}


def cut_list(crew: Crew, plan: Plan, cabin: Cabin) -> dict[str, Any]:
    """What CutListOut describes."""
    rows, lost = cut_list_rows(plan, cabin)
    units, ordered = units_of(crew), in_cutting_order(rows)
    logs = [list(ones) for _, ones in groupby(ordered, key=lambda row: row["log"])]
    used = {row["prepared"].id for row in rows if row["prepared"]}
    return {
        "cabin": cabin.id,
        "plan": plan.id,
        "logs": [_log(ones, units) for ones in logs],
        "unused": [_unused(record, units) for record in _not_set(cabin) if record.id not in used],
        "lost": lost,
        "cautions": [CAUTION],
    }


def cut_list_workbook(crew: Crew, plan: Plan, cabin: Cabin) -> bytes:
    """The logs of the cut list as a workbook, a row for each piece. Raises PlanStale."""
    from planning.core.cut_list_workbook import cut_list_as_workbook

    return cut_list_as_workbook(cut_list(crew, plan, cabin)["logs"], unit=Unit(crew.length_unit))


def _not_set(cabin: Cabin) -> list[PreparedPiece]:
    """The pieces sawn for the cabin that lie in no wall and are no member yet."""
    records = PreparedPiece.objects.filter(cabin=cabin, undone_at=None).select_related("log")
    sawn = [one for one in records.order_by("log__number_order", "near_butt_mm") if is_sawn(one)]
    taken = used_parts([one.log_id for one in sawn])
    return [
        one
        for one in sawn
        if not any(overlap(stretch_prepared(one), other) for other in taken.get(str(one.log_id), ()))
    ]


def _log(rows: Sequence[Row], units: CrewUnits) -> dict[str, Any]:
    first = rows[0]
    has_metal = any(one["kind"] == "metal" for one in first["hazards"])
    return {
        "log": first["log"],
        "log_number": first["log_number"],
        "yard_name": first["yard_name"],
        "rack_name": first["rack_name"],
        "length_mm": float(first["length_mm"]),
        "length_text": units.along(first["length_mm"]),
        "crown_text": units.crown(first["crown_mm"], first["crown_side"]),
        "hazards": first["hazards"],
        "pieces": [_piece(row, units) for row in rows],
        "cautions": [METAL_CAUTION] * has_metal
        + [ACROSS] * any(row["is_across"] for row in rows)
        + lead_cautions(first),
    }


def _piece(row: Row, units: CrewUnits) -> dict[str, Any]:
    part, record = row["part"], row["prepared"]
    return units.beside(
        {
            "near_butt_mm": part.near_butt_mm,
            "near_tip_mm": part.near_tip_mm,
            "length_mm": part.length_mm,
            "wall": row.get("wall"),
            "round": row.get("round"),
            "piece": row.get("piece"),
            "member": row.get("member"),
            "goes_to": goes_to(row, units),
            "opening_cuts": [cut["words"] for cut in row.get("opening_cuts", ())],
            "prepared_piece": record and record.id,
            "version": record and record.version,
            "marks": record.marks if record else [],
            "is_across": row["is_across"],
        },
        along=["near_butt", "near_tip", "length"],
    )


def _unused(record: PreparedPiece, units: CrewUnits) -> dict[str, Any]:
    piece = stretch_prepared(record)
    return units.beside(
        {
            "prepared_piece": record.id,
            "log": record.log_id,
            "log_number": record.log.number,
            "near_butt_mm": piece.near_butt_mm,
            "near_tip_mm": piece.near_tip_mm,
            "length_mm": piece.length_mm,
            "made_for": record.member
            or (f"wall {record.wall}, round {record.round}" if record.wall else "no place yet"),
        },
        along=["near_butt", "near_tip", "length"],
    )
