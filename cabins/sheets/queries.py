"""Sheets of the wall: any log tried in any place, and a corner with what remains at every notch."""

from collections.abc import Mapping
from dataclasses import asdict, replace
from decimal import Decimal
from typing import Any

from cabins.cabins.models import Cabin
from cabins.choices.grain import grain_judge
from cabins.choices.queries import cut_limits, joints_used, values_of
from cabins.core.corner_sheet import NoSuchCrossing, corner_sheet, return_advice
from cabins.core.joint_parts import JointError, JointSettings
from cabins.core.next_log import NextLog
from cabins.core.places import crossings_of, is_half_round
from cabins.core.stack import Stack
from cabins.core.steering import steer_next_log
from cabins.layouts.models import Place
from cabins.set_logs.fitting import LogStretch, NearHazard, hazards_in, misfits
from cabins.set_logs.models import End
from cabins.set_logs.pieces import Crossed, core_place, crossings_in_log, piece_in_log
from cabins.set_logs.queries import pieces_cut_from
from cabins.walls.queries import Standing, laid_piece, layout_of, stack_of, standing_of
from crews.api.problems import InvalidQuery, NotFound, Refusal, fault
from inventory.core.crew_units import CrewUnits, Sentence, sentence_of
from inventory.core.profile import LogProfile, diameter_mm_at
from inventory.logs.drawing_values import units_of
from inventory.logs.models import Log
from inventory.logs.profiles import measures_of, profile_of_log

METAL_CAUTION = (
    "Metal lies near a cut or notch of this piece. Do not cut it so: choose another part of it, turn it, or "
    "take another log."
)
METAL_INSIDE = "This piece holds metal: mark it on the log and keep every saw and drill away from it."


class CannotReckon(Refusal):
    """This cannot be reckoned from what is stored."""

    status = 404


def next_sheet(
    cabin: Cabin,
    place: Place,
    log: Log,
    *,
    from_butt_mm: Decimal | float,
    butt_at: str,
    reach_mm: float | None = None,
) -> dict[str, Any]:
    """How `log` would lie in `place`: what each end must reach and the notch for it, and what is in the way.

    From measured heights where there are any. A log set in the place already is left out of the reckoning.
    `steering` is None for a piece that crosses no other log; `grain` is what the rules of grain say. Seven
    queries. Raises NotLaidOut, and InvalidQuery where the piece runs beyond the log.
    """
    layout = layout_of(cabin)
    piece = piece_in_log(place, from_butt_mm)
    profile = profile_of_log(log)
    _refuse_beyond(piece, profile)
    here = crossings_in_log(layout, place, from_butt_mm, butt_at)
    turned = crossings_in_log(layout, place, from_butt_mm, End.END if butt_at == End.START else End.START)
    standing, filling = _without(standing_of([cabin])[cabin.id], place)
    tried = {"wall": place.wall, "round": place.round, "piece": place.piece}
    laid = laid_piece({**measures_of(log), **tried, "from_butt_mm": from_butt_mm, "butt_at": butt_at})
    stack = stack_of(standing, tried=[laid])
    steering = _steered(
        stack,
        place,
        profile,
        here,
        turned,
        reach_mm=reach_mm,
        units=units_of(cabin.crew),
    )
    others = [stretch for row, stretch in pieces_cut_from(log) if row.id != filling]
    cuts = cut_limits(cabin.crew)
    unfit = misfits(piece=piece, log_mm=float(log.length_mm), others=others, cuts=cuts)
    hazards = hazards_in(log.hazards, piece=piece, notches_mm=here.values(), cuts=cuts)
    return {
        "cabin": cabin.id,
        **tried,
        "filled_by": filling,
        "log": log.id,
        "log_number": log.number,
        "log_state": log.state,
        "butt_at": butt_at,
        "near_butt_mm": piece.near_butt_mm,
        "near_tip_mm": piece.near_tip_mm,
        "length_mm": piece.length_mm,
        "misfits": [asdict(one) for one in unfit],
        "hazards": [asdict(hazard) for hazard in hazards],
        "grain": asdict(grain_judge(cabin.crew).judge(stack, core_place(place), measures_of(log))),
        "steering": None if steering is None else asdict(steering),
        "cautions": _metal_cautions(hazards),
    }


def _refuse_beyond(piece: LogStretch, profile: LogProfile) -> None:
    if piece.near_butt_mm < 0 or piece.near_tip_mm > profile.length_mm:
        raise InvalidQuery(
            errors=[
                fault(
                    "?from_butt_mm",
                    Sentence(
                        "The piece would run from {start:along} to {end:along}, in a log of {length:along}.",
                        start=piece.near_butt_mm,
                        end=piece.near_tip_mm,
                        length=profile.length_mm,
                    ),
                    "outside_log",
                )
            ]
        )


def _without(standing: Standing, place: Place) -> tuple[Standing, Any]:
    """What stands, but for a log in this place; and the id of its record, if there is one."""
    key = (place.wall, place.round, place.piece)
    inside = [row for row in standing.pieces if (row["wall"], row["round"], row["piece"]) == key]
    others = [row for row in standing.pieces if row not in inside]
    return replace(standing, pieces=others), inside[0]["id"] if inside else None


def _steered(
    stack: Stack,
    place: Place,
    profile: LogProfile,
    here: Mapping[Crossed, float],
    turned: Mapping[Crossed, float],
    *,
    reach_mm: float | None,
    units: CrewUnits,
) -> NextLog | None:
    if not here or is_half_round(place.round, stack.layout.round_count):
        return None
    return steer_next_log(
        stack,
        wall=place.wall,
        round_number=place.round,
        diameters_mm={column.column: diameter_mm_at(profile, at) for column, at in here.items()},
        turned_mm={column.column: diameter_mm_at(profile, at) for column, at in turned.items()},
        reach_mm=reach_mm,
        units=units,
    )


def _metal_cautions(hazards: list[NearHazard]) -> list[str]:
    metal = [hazard for hazard in hazards if hazard.kind == "metal"]
    if any(hazard.is_near for hazard in metal):
        return [METAL_CAUTION]
    return [METAL_INSIDE] if metal else []


def corner_answer(
    cabin: Cabin, corner: str, *, thickness_mm: float | None, **asked: float | None
) -> dict[str, Any]:
    """The sheet of a corner or tee, from what stands and the layout's middle diameter above; three queries.

    `asked` are those of JOINT_DEFAULTS; what is None there is as the crew chose, or as usual. Without
    `thickness_mm` the logs are as those set: round, or sawn on two faces to one thickness. Raises NotLaidOut,
    NotFound for no such corner, InvalidQuery for settings that no notch can have.
    """
    layout_of(cabin)
    standing = standing_of([cabin])[cabin.id]
    stack = stack_of(standing)
    thickness = _sawn_thickness(standing) if thickness_mm is None else thickness_mm
    used = joints_used(cabin.crew, asked)
    settings = JointSettings(**values_of(used))
    try:
        sheet = corner_sheet(stack, crossing=corner, thickness_mm=thickness, settings=settings)
    except NoSuchCrossing as none:
        known = ", ".join(crossing.id for crossing in crossings_of(stack.layout))
        raise NotFound(f"{cabin.name} has the corners {known}.") from none
    except JointError as impossible:
        raise InvalidQuery(sentence_of(impossible)) from impossible
    assumed = {(top.wall, top.round, top.column) for top in stack.tops if top.is_assumed}
    rows = [{**asdict(row), "is_assumed": (row.wall, row.round, row.column) in assumed} for row in sheet.rows]
    return {
        "cabin": cabin.id,
        **asdict(sheet),
        "rows": rows,
        "advice": return_advice(stack, crossing=corner, units=units_of(cabin.crew)),
        "thickness_mm": thickness,
        "used": [asdict(one) for one in used],
    }


def _sawn_thickness(standing: Standing) -> float | None:
    """The thickness of the logs set, if all were sawn on two faces to the same."""
    found = {row["sawn_thickness_mm"] for row in standing.pieces}
    one = found.pop() if len(found) == 1 else None
    return None if one is None else float(one)
