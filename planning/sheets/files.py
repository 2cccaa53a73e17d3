"""Sheets as files: what setting, cutting and marking need on paper, from the plan and from what stands."""

from datetime import datetime
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.core.places import columns_of
from cabins.prepared_pieces.queries import is_sawn
from cabins.walls.queries import layout_of
from crews.accounts.models import Crew
from crews.accounts.versioned_rows import one_of
from inventory.core.printed.press import Paper
from inventory.logs.drawing_values import as_of, units_of
from planning.core.printed.cut_list import print_cut_list
from planning.core.printed.setting import print_setting_sheet
from planning.core.printed.storey_pole import print_storey_pole
from planning.cut_lists.queries import cut_list_rows
from planning.gables.queries import gables_among
from planning.openings.queries import openings_among
from planning.plans.models import Plan
from planning.sheets.queries import current_plan, merged, plan_and_cabin, setting_sheet


def plan_to_print(crew: Crew, cabin: UUID, plan: UUID | None) -> tuple[Plan, Cabin]:
    """The plan named, or the one the cabin is built by. Raises NotFound, NoPlanYet, PlanStale."""
    if plan is not None:
        return plan_and_cabin(crew, plan, cabin)
    building = one_of(Cabin, crew=crew, id=cabin)
    return current_plan(building), building


def setting_sheet_file(
    crew: Crew, cabin: UUID, *, plan: UUID | None, round_number: int, paper: Paper, at: datetime
) -> bytes:
    """The setting sheet of a round as PDF. Raises NotFound, NoPlanYet, PlanStale."""
    made, building = plan_to_print(crew, cabin, plan)
    return print_setting_sheet(
        setting_sheet(made, building, round_number),
        ends=_wall_ends(building),
        units=units_of(crew),
        as_of=as_of(at),
        paper=paper,
    )


def _wall_ends(cabin: Cabin) -> dict[str, tuple[str, str]]:
    """The crossings at each wall's start and end."""
    columns = columns_of(layout_of(cabin))
    return {wall: (found[0].crossing, found[-1].crossing) for wall, found in columns.items()}


def cut_list_file(crew: Crew, cabin: UUID, *, plan: UUID | None, paper: Paper, at: datetime) -> bytes:
    """What is still to be cut for a cabin, log by log, as PDF. Raises NotFound, NoPlanYet, PlanStale."""
    made, building = plan_to_print(crew, cabin, plan)
    rows, lost = cut_list_rows(made, building)
    return print_cut_list(
        building.name,
        [{**row, "is_sawn": bool(row["prepared"] and is_sawn(row["prepared"]))} for row in rows],
        lost=lost,
        units=units_of(crew),
        as_of=as_of(at),
        paper=paper,
    )


def storey_pole_file(crew: Crew, cabin: UUID, *, plan: UUID | None, paper: Paper, at: datetime) -> bytes:
    """The marks of every corner, measured or as the plan gives them, as PDF.

    Raises NotFound, NoPlanYet, PlanStale.
    """
    made, building = plan_to_print(crew, cabin, plan)
    standing, coming, stack = merged(made, building)
    openings = openings_among(crew, stack, set_pieces=standing.pieces, coming=coming)
    gables = gables_among(building, stack, made)
    return print_storey_pole(
        building.name,
        stack,
        openings.sheets,
        gables=None if gables is None else gables.sheet,
        log_numbers={} if gables is None else gables.log_numbers,
        units=units_of(crew),
        as_of=as_of(at),
        paper=paper,
    )
