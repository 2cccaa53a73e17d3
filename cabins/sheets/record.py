"""A cabin's record as a file, to hand over with the building."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db.models import F

from cabins.cabins.models import Cabin
from cabins.core.drawings.elevation import Elevation, draw_elevation
from cabins.core.drawings.pieces import Filling
from cabins.core.drawings.whole import SIDES, WholeCabin, draw_whole
from cabins.core.printed.record import CabinRecord, print_record
from cabins.heights.queries import tops_read
from cabins.progress.queries import cabin_progress
from cabins.set_logs.models import SetLog
from cabins.sheets.drawings import floor_plan, piece_to_draw
from cabins.sheets.queries import CannotReckon
from cabins.sheets.settling import settling_answer
from cabins.walls.queries import Rows, Standing, layout_of, stack_of, standing_of
from crews.api.problems import InvalidQuery
from inventory.core.crew_units import Sentence
from inventory.core.printed.press import Paper
from inventory.logs.drawing_values import as_of, units_of


def record_file(cabin: Cabin, *, paper: Paper, at: datetime, **settling: Any) -> bytes:
    """The record as PDF; `settling` as `settling_answer` takes it. Raises NotLaidOut.

    Where settling cannot be reckoned, the record says why and is printed all the same.
    """
    layout_of(cabin)
    sheet, why = _settling(cabin, settling)
    standing = standing_of([cabin])[cabin.id]
    record = CabinRecord(
        cabin=cabin.name,
        crew=cabin.crew.name,
        remarks=cabin.remarks,
        progress=_there(cabin_progress(cabin), "last_set_at", at),
        floor_plan=floor_plan(cabin),
        wholes=_wholes(cabin, standing),
        elevations=_elevations(cabin, standing),
        logs=[_there(row, "set_at", at) for row in _logs(cabin)],
        heights=tops_read(cabin, standing),
        settling=sheet,
        why_no_settling=why,
    )
    return print_record(record, units=units_of(cabin.crew), as_of=as_of(at), paper=paper)


def _there(row: Mapping[str, Any], name: str, at: datetime) -> dict[str, Any]:
    """The row with this time of it in the zone of the paper."""
    return dict(row) if row[name] is None else {**row, name: row[name].astimezone(at.tzinfo)}


def _settling(cabin: Cabin, asked: dict[str, Any]) -> tuple[dict[str, Any] | None, str]:
    try:
        return settling_answer(cabin, **asked), ""
    except InvalidQuery as unsaid:
        return None, Sentence.joined(one["detail"] for one in unsaid.errors)
    except CannotReckon as impossible:
        return None, impossible.detail


def _wholes(cabin: Cabin, standing: Standing) -> tuple[str, ...]:
    """The cabin from its four sides."""
    pieces = tuple(piece_to_draw(row, Filling.SET) for row in standing.pieces)
    whole = WholeCabin(cabin=cabin.name, of_what="as built", stack=stack_of(standing), pieces=pieces)
    return tuple(draw_whole(whole, side=side) for side in SIDES)


def _elevations(cabin: Cabin, standing: Standing) -> tuple[str, ...]:
    pieces = tuple(piece_to_draw(row, Filling.SET) for row in standing.pieces)
    stack, units = stack_of(standing), units_of(cabin.crew)
    return tuple(
        draw_elevation(
            Elevation(
                cabin=cabin.name, wall=wall.id, of_what="as built", stack=stack, pieces=pieces, units=units
            )
        )
        for wall in standing.layout.log_walls
    )


def _logs(cabin: Cabin) -> Rows:
    rows = SetLog.objects.filter(cabin=cabin, undone_at=None).order_by("round", "wall", "piece")
    return list(
        rows.values(
            "wall", "round", "piece", "butt_at", "set_at", "gap_mm", "notch_start_mm", "notch_end_mm",
            "remarks",
            number=F("log__number"),
            hazards=F("log__hazards"),
            set_by_name=F("set_by__name"),
            checked_by_name=F("checked_by__name"),
        )
    )  # fmt: skip
