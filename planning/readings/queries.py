"""The tops of a cabin as they were read, which readings are worth repeating, and whether to plan again."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.core.places import counted_columns
from cabins.core.stack import Stack
from cabins.heights.queries import tops_read
from cabins.set_logs.models import End
from cabins.walls.queries import Standing, layout_of, place_key, standing_of
from crews.accounts.models import Crew
from inventory.core.crew_units import CrewUnits
from inventory.logs.drawing_values import units_of
from planning.core.problem import WallProblem
from planning.core.problem_builder import CabinToPlan, as_built_of
from planning.jobs.problem import tops_known
from planning.jobs.tasks import errors_of_request
from planning.plans.adoption import PlanStale
from planning.plans.in_force import planned_tops_of
from planning.plans.models import Plan
from planning.plans.staleness import beyond_the_band
from planning.sheets.queries import NoPlanYet, current_plan, merged
from planning.why.queries import log_numbers, stored_plan, wholes

Told = dict[str, Any]
CAUTION = (
    "An expected error is no promise: check level and plumb on the wall before the roof goes on. Structure "
    "is decided by local code and licensed practice."
)
RULE = (
    "worst wall out of level at the plate, mean of cabins built with these errors by the plan in force, from "
    "the tops as read; worth: how much less it is with one reading more, for each reading alone"
)


def cabin_readings(crew: Crew, cabin: Cabin) -> Told:
    """What CabinReadingsOut describes. Raises NotLaidOut."""
    layout_of(cabin)
    units = units_of(crew)
    standing = standing_of([cabin])[cabin.id]
    worth, again = None, list[str]()
    try:
        plan = current_plan(cabin)
        standing, _, stack = merged(plan, cabin)
        worth, again = _worth(crew, plan, cabin, standing, stack, units), beyond_the_band(stack, units)
    except (NoPlanYet, PlanStale):
        pass  # the tops as read are told all the same
    return {
        "cabin": cabin.id,
        "tops": [_top(units, row) for row in tops_read(cabin, standing)],
        "worth": worth,
        "plan_again": again,
        "rule": RULE,
        "uncertainty": standing.errors.words,
        "cautions": [CAUTION],
    }


def _top(units: CrewUnits, row: Told) -> Told:
    read = [units.beside(one, along=["height"]) for one in row["readings"]]
    return units.beside(row, along=["height"], across=["spread"], error=["error"]) | {"readings": read}


def _worth(crew: Crew, plan: Plan, cabin: Cabin, standing: Standing, stack: Stack, units: CrewUnits) -> Told:
    # Only here: they load numpy, which a web process does without until it is asked.
    from planning.core.plate_error import MeasuringErrors
    from planning.core.worth import LogWorth, what_readings_are_worth

    problem, laid = stored_plan(crew, plan.id)
    problem = _as_it_stands(problem, cabin, standing, stack)
    ends = {
        (wall, column.column): e
        for wall, columns in counted_columns(standing.layout).items()
        for e, column in enumerate(columns[:2])
    }
    read = {
        (wall, number, ends[wall, column]): found.times
        for (wall, number, column), found in standing.readings.items()
        if 0 < number <= standing.layout.round_count and (wall, column) in ends
    }
    to_come = {(str(cabin.id), *place_key(row)) for row in standing.coming}
    places = {piece.log: piece for piece in reversed(laid.pieces) if piece.place in to_come}
    found = what_readings_are_worth(
        problem,
        laid,
        cabin=str(cabin.id),
        errors=MeasuringErrors(**errors_of_request(crew.id)),
        read=read,
        open_logs=frozenset(places),
    )
    names = (End.START.value, End.END.value)
    tops: list[Told] = [
        {
            "wall": one.spot[0],
            "round": one.spot[1],
            "end": names[one.spot[2]],
            "times_read": read.get(one.spot, 0),
            "worth_mm": one.worth_mm,
        }
        for one in found.tops
    ]
    whole = wholes(problem)
    numbers = log_numbers(crew, {whole[log].log for log in places})

    def told(one: LogWorth) -> Told:
        return {
            "log": UUID(whole[one.log].log),
            "log_number": numbers.get(whole[one.log].log, ""),
            "wall": places[one.log].wall,
            "round": places[one.log].round,
            "worth_mm": one.worth_mm,
            "worth_text": units.gain(one.worth_mm),
        }

    return {
        "plan": plan.id,
        "steered": found.steered,
        "plate_mm": found.plate_mm,
        "plate_text": units.error(found.plate_mm),
        "tops": [row | {"worth_text": units.gain(row["worth_mm"])} for row in tops],
        "tops_together_mm": found.tops_together_mm,
        "tops_together_text": units.gain(found.tops_together_mm),
        "logs": [told(one) for one in found.logs],
        "first_round_mm": found.first_round_mm,
        "first_round_text": units.error(found.first_round_mm) if found.first_logs else "",
        "first_logs": [told(one) for one in found.first_logs],
    }


def _as_it_stands(problem: WallProblem, cabin: Cabin, standing: Standing, stack: Stack) -> WallProblem:
    """The plan's problem with the tops that are known by now."""
    drawn = CabinToPlan(
        id=str(cabin.id),
        layout=standing.layout,
        tops_mm=tops_known(stack, standing),
        planned_tops_mm=planned_tops_of(cabin),
    )
    cabins = tuple(
        replace(house, as_built=as_built_of(drawn)) if house.id == drawn.id else house
        for house in problem.cabins
    )
    return replace(problem, cabins=cabins)
