"""Sheets as files: what setting, cutting and marking need on paper, from the plan and from what stands."""

from datetime import datetime
from uuid import UUID

from cabins.core.places import columns_of
from cabins.models import Cabin
from cabins.queries import layout_of
from cabins.queries.openings import place_of_row
from cabins.queries.walls import is_lost
from crews.keeping import one_of
from crews.models import Crew
from inventory.core.printed.press import Paper
from inventory.drawn import as_of, units_of
from planning.core.printed.cut_list import print_cut_list
from planning.core.printed.setting import print_setting_sheet
from planning.core.printed.storey_pole import print_storey_pole
from planning.models import Plan
from planning.openings import openings_among
from planning.sheets import (
    current_plan,
    lost_logs,
    members_to_come,
    merged,
    plan_and_cabin,
    setting_sheet,
    with_rip_lines,
)


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
    standing, coming, stack = merged(made, building)
    members = members_to_come(made, building)
    openings = openings_among(crew, stack, set_pieces=standing.pieces, coming=coming)
    ripped = with_rip_lines(standing.layout, coming)
    rows = [{**row, **openings.of_place(place_of_row(row))} for row in ripped]
    return print_cut_list(
        building.name,
        [*rows, *(row for row in members if not is_lost(row))],
        lost=lost_logs([*standing.lost, *members]),
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
    return print_storey_pole(
        building.name, stack, openings.sheets, units=units_of(crew), as_of=as_of(at), paper=paper
    )
