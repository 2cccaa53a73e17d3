"""What drawings show: the wall as it stands, and what a plan has reserved or proposes for its open places."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import F
from django.db.models.functions import Coalesce

from cabins.cabins.models import Cabin
from cabins.core.cad.elevation import elevation_dxf
from cabins.core.drawings.corner import CornerToDraw, draw_corner
from cabins.core.drawings.elevation import Elevation, draw_elevation
from cabins.core.drawings.in_space import logs_in_space
from cabins.core.drawings.levels import draw_levels
from cabins.core.drawings.pieces import Filling, PieceToDraw
from cabins.core.drawings.whole import WholeCabin, draw_whole
from cabins.core.model_file import write_model
from cabins.core.places import crossings_of
from cabins.core.stack import Stack
from cabins.set_logs.models import SetLog
from cabins.set_logs.queries import pieces_cut_from
from cabins.sheets.drawings import piece_to_draw
from cabins.walls.queries import layout_of, stack_of, standing_of
from crews.accounts.models import Crew
from crews.accounts.versioned_rows import one_of
from crews.api.problems import NotFound
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.log import LogToDraw, PieceOfLog, draw_log
from inventory.logs.drawing_values import hazards_to_draw, units_of
from inventory.logs.models import Log
from inventory.logs.profiles import profile_of_row
from inventory.logs.queries import log_row
from planning.gables.queries import gables_among
from planning.plans.adoption import PlanStale
from planning.plans.models import Plan, PlannedPiece, PlanState
from planning.plans.queries import still_to_come
from planning.sheets.queries import NoPlanYet, current_plan, merged, plan_and_cabin


@dataclass(frozen=True, slots=True, kw_only=True)
class WallShown:
    """A cabin to be drawn: its heights, its pieces, and in words what of it is shown.

    `set_rows`, `coming_rows`: the rows that the pieces are drawn from; `plan`: the plan that they come from.
    """

    cabin: Cabin
    plan: Plan | None
    set_rows: Sequence[Mapping[str, Any]]
    coming_rows: Sequence[Mapping[str, Any]]
    of_what: str
    stack: Stack
    pieces: tuple[PieceToDraw, ...]
    units: CrewUnits


def wall_shown(crew: Crew, cabin: UUID, *, plan: UUID | None, as_built: bool) -> WallShown:
    """The cabin as it stands, and unless only `as_built` is asked for with the pieces still to come.

    They come from `plan`, else from the plan the cabin is built by, if it has one that still holds. Raises
    NotFound, NotLaidOut, and PlanStale for a plan asked for by name.
    """
    found, building = _plan_and_cabin(crew, cabin, plan=plan, as_built=as_built)
    layout_of(building)
    units = units_of(crew)
    if not isinstance(found, Plan):
        standing = standing_of([building])[building.id]
        pieces = tuple(piece_to_draw(row, Filling.SET) for row in standing.pieces)
        stack = stack_of(standing)
        return WallShown(
            cabin=building,
            plan=None,
            set_rows=standing.pieces,
            coming_rows=(),
            of_what=found,
            stack=stack,
            pieces=pieces,
            units=units,
        )
    standing, coming, stack = merged(found, building)
    is_adopted = found.state == PlanState.ADOPTED
    filling = Filling.RESERVED if is_adopted else Filling.PROPOSED
    return WallShown(
        cabin=building,
        plan=found,
        set_rows=standing.pieces,
        coming_rows=coming,
        of_what="built and planned" if is_adopted else "built and proposed",
        stack=stack,
        pieces=(
            *(piece_to_draw(row, Filling.SET) for row in standing.pieces),
            *(piece_to_draw(row, filling) for row in coming),
        ),
        units=units,
    )


def _plan_and_cabin(
    crew: Crew, cabin: UUID, *, plan: UUID | None, as_built: bool
) -> tuple[Plan | str, Cabin]:
    """The plan to draw, or in words what is drawn without one."""
    if plan is not None and not as_built:
        return plan_and_cabin(crew, plan, cabin)
    building = one_of(Cabin, crew=crew, id=cabin)
    if as_built:
        return "as built", building
    try:
        return current_plan(building), building
    except NoPlanYet:
        return "as built", building
    except PlanStale:
        return "as built; its plan is out of date", building


def elevation_of(shown: WallShown, wall: str) -> str:
    """The elevation of one wall as SVG. Raises NotFound for no such wall."""
    return draw_elevation(_elevation(shown, wall))


def elevation_for_cad(shown: WallShown, wall: str) -> bytes:
    """The elevation of one wall as DXF. Raises NotFound for no such wall."""
    return elevation_dxf(_elevation(shown, wall))


def _elevation(shown: WallShown, wall: str) -> Elevation:
    known = [one.id for one in shown.stack.layout.log_walls]
    if wall not in known:
        raise NotFound(f"{shown.cabin.name} has the walls {_listed(known)}.")
    gables = gables_among(shown.cabin, shown.stack, shown.plan)
    return Elevation(
        cabin=shown.cabin.name,
        wall=wall,
        of_what=shown.of_what,
        stack=shown.stack,
        pieces=shown.pieces,
        units=shown.units,
        gable=None if gables is None else gables.to_draw(wall),
    )


def whole_of(shown: WallShown, side: int) -> str:
    """The whole cabin from one of four sides as SVG."""
    whole = WholeCabin(cabin=shown.cabin.name, of_what=shown.of_what, stack=shown.stack, pieces=shown.pieces)
    return draw_whole(whole, side=side)


def model_of(shown: WallShown) -> bytes:
    """The whole cabin as a 3D file. Raises NotFound while no log is set or planned."""
    logs = logs_in_space(shown.stack, shown.pieces, with_empty=False)
    if not logs:
        raise NotFound(f"No log of {shown.cabin.name} is set or planned yet, so there is no model of it.")
    return write_model(shown.cabin.name, logs)


def corner_of(shown: WallShown, corner: str) -> str:
    """A corner or tee from both sides as SVG. Raises NotFound for no such corner."""
    known = [one.id for one in crossings_of(shown.stack.layout)]
    if corner not in known:
        raise NotFound(f"{shown.cabin.name} has the corners {_listed(known)}.")
    return draw_corner(
        CornerToDraw(
            cabin=shown.cabin.name,
            crossing=corner,
            of_what=shown.of_what,
            stack=shown.stack,
            pieces=shown.pieces,
            units=shown.units,
        )
    )


def log_drawing(crew: Crew, id: UUID) -> str:
    """A log as SVG, with the pieces cut from it and those that an adopted plan will cut. Raises NotFound."""
    row = log_row(crew, id)
    log = one_of(Log, crew=crew, id=id)
    cut = [
        PieceOfLog(
            from_butt_mm=stretch.near_butt_mm,
            to_mm=stretch.near_tip_mm,
            words=f"{piece.cabin.name}, {_where(piece)}, set",
            is_set=True,
        )
        for piece, stretch in pieces_cut_from(log)
    ]
    return draw_log(
        LogToDraw(
            number=row["number"],
            about=", ".join(part for part in (row["species_name"], row["rack_name"]) if part),
            profile=profile_of_row(row),
            units=units_of(crew),
            crown_mm=_float(row["crown_mm"]),
            crown_side=row["crown_side"],
            crown_at_mm=_float(row["crown_at_mm"]),
            crook_mm=float(row["crook_mm"]),
            crook_at_mm=_float(row["crook_at_mm"]),
            hazards=hazards_to_draw(row["hazards"]),
            pieces=_within(float(log.length_mm), [*cut, *_pieces_to_cut(log)]),
            remarks=row["remarks"],
        )
    )


def _where(piece: Any) -> str:
    """Where a piece lies: in its wall, or as the member beyond the walls that was made from it."""
    return f"wall {piece.wall} round {piece.round}" if isinstance(piece, SetLog) else str(piece.member)


def _float(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def _within(length_mm: float, pieces: Iterable[PieceOfLog]) -> tuple[PieceOfLog, ...]:
    """The pieces as far as the log reaches: one written down shorter since was cut longer all the same."""
    reached = [piece for piece in pieces if piece.from_butt_mm < length_mm]
    return tuple(replace(piece, to_mm=min(piece.to_mm, length_mm)) for piece in reached)


def _pieces_to_cut(log: Log) -> list[PieceOfLog]:
    """What the plans that cabins are built by still want of the log for their walls and members."""
    current = PlannedPiece.objects.filter(log=log, plan__current_for__cabin=F("cabin"))
    rows = still_to_come(current).values_list(
        "cabin__name", "member", "wall", "round", "butt_at", "from_butt_mm",
        Coalesce("member_length_mm", F("end_mm") - F("start_mm")),
    )  # fmt: skip
    return [
        PieceOfLog(
            from_butt_mm=float(from_butt_mm),
            to_mm=float(from_butt_mm + length_mm),
            words=f"{cabin}, {member or f'wall {wall} round {number}, butt at the {butt_at} of the wall'}",
            is_set=False,
        )
        for cabin, member, wall, number, butt_at, from_butt_mm, length_mm in rows
    ]


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names)


def levels_of(shown: WallShown) -> str:
    """The level of every wall round by round as SVG."""
    return draw_levels(shown.cabin.name, shown.of_what, shown.stack, units=shown.units)
