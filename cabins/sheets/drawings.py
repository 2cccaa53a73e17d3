"""What drawings of a cabin show, from what is laid out and what was measured."""

from collections.abc import Mapping
from typing import Any

from cabins.cabins.models import Cabin
from cabins.core.cad.floor_plan import floor_plan_dxf
from cabins.core.drawings.floor_plan import draw_floor_plan
from cabins.core.drawings.pieces import Filling, PieceToDraw
from cabins.core.drawings.settling import HeightReading, SettlingToDraw, SpaceToLeave, draw_settling
from cabins.core.pieces import ButtAt
from cabins.core.settling_sheet import RoundSettling
from cabins.heights.models import MeasuredHeight
from cabins.sheets.settling import settling_answer
from cabins.walls.queries import layout_of
from inventory.logs.drawing_values import hazards_to_draw, units_of
from inventory.logs.profiles import profile_of_row


def floor_plan(cabin: Cabin) -> str:
    """The floor plan as SVG. Raises NotLaidOut."""
    return draw_floor_plan(cabin.name, layout_of(cabin), units=units_of(cabin.crew))


def floor_plan_for_cad(cabin: Cabin) -> bytes:
    """The floor plan as DXF. Raises NotLaidOut."""
    return floor_plan_dxf(cabin.name, layout_of(cabin))


def settling_drawing(cabin: Cabin, **asked: Any) -> str:
    """Settling as SVG; `asked` as by `settling_answer`, and its refusals."""
    answer = settling_answer(cabin, **asked)
    walls = {wall.id for wall in layout_of(cabin).log_walls}
    rows = MeasuredHeight.objects.filter(cabin=cabin, round__gt=0, wall__in=walls, undone_at=None).order_by(
        "measured_at", "id"
    )
    return draw_settling(
        SettlingToDraw(
            cabin=cabin.name,
            rounds=tuple(RoundSettling(**row) for row in answer["rounds"]),
            readings=tuple(
                HeightReading(
                    wall=wall, round=number, end=end, on=measured_at.date(), height_mm=float(height_mm)
                )
                for wall, number, end, measured_at, height_mm in rows.values_list(
                    "wall", "round", "end", "measured_at", "height_mm"
                )
            ),
            spaces=tuple(
                SpaceToLeave(
                    opening=one["opening"],
                    wall=one["wall"],
                    leave_mm=one["allowance"]["leave_mm"],
                    low_mm=one["prediction"]["low_mm"],
                    high_mm=one["prediction"]["high_mm"],
                )
                for one in answer["openings"]
            ),
            units=units_of(cabin.crew),
        )
    )


def piece_to_draw(row: Mapping[str, Any], filling: Filling) -> PieceToDraw:
    """A piece as drawings take it, from a row with its log's measures (of `set_pieces_of`, or the like)."""
    return PieceToDraw(
        wall=row["wall"],
        round=row["round"],
        piece=row["piece"],
        log_number=row["log_number"],
        from_butt_mm=float(row["from_butt_mm"]),
        butt_at=ButtAt(row["butt_at"]),
        profile=profile_of_row(row),
        filling=filling,
        hazards=hazards_to_draw(row["hazards"]),
    )
