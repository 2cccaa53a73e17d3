"""The cut list on paper: every log of a plan still to be cut, with each cut from its butt end."""

import re
from collections.abc import Mapping, Sequence
from itertools import groupby
from pathlib import Path
from typing import Any

from cabins.core.half_logs import RipLine
from cabins.core.members import MemberKind
from inventory.core.crew_units import CrewUnits, counted
from inventory.core.printed.press import Paper, print_sheet
from planning.core.printed.setting import hazard_words
from planning.core.sheets import METAL_CAUTION

_TEMPLATE = Path(__file__).with_name("cut_list.typ")
Row = Mapping[str, Any]
ACROSS = "This log was sawn otherwise than the plan has it: plan again before any further cut."
GABLE_ENDS = "Cut square; its ends are cut to the slope on the wall"
CAUTION = "Check every log again before the saw goes in: only dangers that were charted are listed."


def print_cut_list(
    cabin: str, rows: Sequence[Row], *, lost: Sequence[Row] = (), units: CrewUnits, as_of: str, paper: Paper
) -> bytes:
    """The pieces of a plan still to be cut (rows of `merged` and `members_to_come`), log by log, as PDF.

    `lost`: what `lost_logs` says of pieces whose logs are not to be had.
    """
    data = cut_list_data(cabin, rows, lost=lost, units=units, as_of=as_of)
    return print_sheet(_TEMPLATE, data, paper=paper)


def cut_list_data(
    cabin: str, rows: Sequence[Row], *, lost: Sequence[Row] = (), units: CrewUnits, as_of: str
) -> dict[str, Any]:
    """What the template sets: texts only. Logs stand by yard, rack and number, pieces from the butt on."""
    logs = [list(ones) for _, ones in groupby(in_cutting_order(rows), key=lambda row: row["log"])]
    return {
        "title": f"{cabin}: cut list",
        "subtitle": f"{counted(len(logs), 'log')}, {counted(len(rows), 'piece')}; "
        "every length from the log's own butt end",
        "as_of": as_of,
        "logs": [_log(ones, units) for ones in logs],
        "cautions": [*(one["detail"] for one in lost), CAUTION],
    }


def in_cutting_order(rows: Sequence[Row]) -> list[Row]:
    """Logs by yard, rack and number, the pieces of each from the butt on."""
    return sorted(
        rows,
        key=lambda row: (
            row["yard_name"],
            row["rack_name"] or "",
            _counted(row["log_number"]),
            str(row["log"]),
            row["from_butt_mm"],
        ),
    )


def _counted(number: str) -> list[str]:
    """A log's number as people count: A2 before A10."""
    return [part.zfill(10) if part.isdigit() else part.casefold() for part in re.split(r"(\d+)", number)]


def _log(rows: Sequence[Row], units: CrewUnits) -> dict[str, Any]:
    first = rows[0]
    dangers = hazard_words(first["hazards"], units)
    has_metal = any(one["kind"] == "metal" for one in first["hazards"])
    return {
        "number": first["log_number"],
        "about": ", ".join(part for part in (first["yard_name"], first["rack_name"]) if part),
        "length": f"log of {units.along(first['length_mm'])}, "
        f"crown {units.crown(first['crown_mm'], first['crown_side'])}",
        "pieces": [_piece(row, units) for row in rows],
        "hazards": [*dangers, *([METAL_CAUTION] if has_metal else []), *_across(rows), *_said(first)],
    }


def _said(row: Row) -> list[str]:
    return [f"The lead said of it: {one['text']}" for one in row.get("instructions", ())]


def _across(rows: Sequence[Row]) -> list[str]:
    return [ACROSS] if any(row.get("is_across") for row in rows) else []


def _position(row: Row) -> str:
    return f", {row['position']}" if row.get("position") else ""


def _piece(row: Row, units: CrewUnits) -> dict[str, Any]:
    near = float(row["from_butt_mm"])
    length = float(row["end_mm"] - row["start_mm"])
    return {
        "near": units.along(near),
        "far": units.along(near + length),
        "length": units.along(length),
        "goes_to": goes_to(row, units),
        "is_sawn": row.get("is_sawn", False),
        "openings": [cut["words"] for cut in row.get("opening_cuts", ())],
    }


def goes_to(row: Row, units: CrewUnits) -> str:
    """Where a piece goes, which way round, and how it is ripped if it is a half log."""
    if row.get("member_kind") == MemberKind.GABLE:
        return f"{row['member']}. {GABLE_ENDS}"
    where = row.get("member") or (
        f"wall {row['wall']}, {_course(row)}{_position(row)}; butt at the wall's {row['butt_at']}"
    )
    return f"{where}{_ripped(row.get('rip'), units)}"


def _course(row: Row) -> str:
    return f"half log, round {row['round']}" if row.get("rip") else f"round {row['round']}"


def _ripped(rip: RipLine | None, units: CrewUnits) -> str:
    if rip is None:
        return ""
    return (
        f". Rip this part along its middle; leave {units.across(rip.leave_near_butt_mm)} at the near cut, "
        f"{units.across(rip.leave_near_tip_mm)} at the far one"
    )
