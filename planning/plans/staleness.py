"""Whether the plan a cabin is built by still fits: what changed under it, told once."""

from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef

from cabins.cabins.models import Cabin
from cabins.core.courses import cut_courses
from cabins.core.pile import PiledTop
from cabins.core.seating import is_beyond_band
from cabins.core.stack import Stack
from cabins.openings.queries import diameter_along, set_courses_of, spaces_of
from cabins.roof_members.queries import members_installed_in
from cabins.set_logs.models import SetLog
from cabins.walls.queries import Rows, Standing, columns_by_name
from crews.events.actions import emit_event
from crews.events.models import Event, EventKind
from crews.history.models import Change
from inventory.core.crew_units import CrewUnits
from inventory.logs.drawing_values import units_of
from inventory.logs.models import Log, LogState
from planning.jobs.sawn_logs import across_saw_cuts
from planning.plans.adoption import PlanStale
from planning.plans.models import CurrentPlan, Plan, PlannedPiece
from planning.plans.queries import still_to_come
from planning.sheets.queries import merged

# Longer than from one look to the next by far: a worker may have been away for a while.
LATELY = timedelta(minutes=10)


def stale_because(current: CurrentPlan) -> list[str]:
    """What the cabin's current plan was made from and is no longer so; empty while it fits."""
    cabin, plan = current.cabin, current.plan
    said = []
    if plan.made_from["cabins"][str(cabin.id)]["layout_version"] != cabin.layout_version:
        said.append("The layout was changed.")
    reserved = Log.objects.filter(
        reservations__plan=plan, reservations__cabin=cabin, reservations__ended_at=None
    )
    said += [
        f"Log {number} was measured again."
        for id, number, version in reserved.order_by("number").values_list("id", "number", "measures_version")
        if plan.made_from["logs"].get(str(id)) != version
    ]
    here = {name: OuterRef(name) for name in ("cabin", "wall", "round", "piece")}
    planned = PlannedPiece.objects.filter(**here, plan=plan)
    otherwise = (
        SetLog.objects.filter(Exists(planned.exclude(log=OuterRef("log"))), cabin=cabin, undone_at=None)
        .order_by("round", "wall", "piece")
        .values_list("log__number", "wall", "round")
    )
    said += [f"Log {number} lies in round {r} of wall {w} instead of another." for number, w, r in otherwise]
    kept_for = dict(
        PlannedPiece.objects.filter(plan=plan, cabin=cabin, wall=None).values_list("member", "log")
    )
    said += [
        f"{row.member} was made from log {row.log.number} instead of another."
        for row in members_installed_in([cabin]).select_related("log")
        if kept_for.get(row.member, row.log_id) != row.log_id
    ]
    said += _by_the_heights_that_stand(plan, cabin)
    to_come = still_to_come(PlannedPiece.objects.filter(plan=plan, cabin=cabin))
    said += [f"Log {row['log_number']} was sawn otherwise." for row in across_saw_cuts(to_come)]
    gone = PlannedPiece.objects.filter(plan=plan, cabin=cabin, log__state=LogState.GONE)
    numbers = gone.order_by("log__number").values_list("log__number", flat=True).distinct()
    said += [f"Log {number} is gone." for number in numbers]
    return said


def _by_the_heights_that_stand(plan: Plan, cabin: Cabin) -> list[str]:
    """What the heights measured make of the plan: walls that the band cannot mend, courses cut otherwise."""
    if plan.made_from["cabins"][str(cabin.id)]["layout_version"] != cabin.layout_version:
        return []
    try:
        standing, coming, stack = merged(plan, cabin)
    except PlanStale:
        return []
    return beyond_the_band(stack, units_of(cabin.crew)) + _courses_fallen_otherwise(
        cabin, standing, coming, stack
    )


def beyond_the_band(stack: Stack, units: CrewUnits) -> list[str]:
    """The ends of walls whose height, measured last, the gaps of the rounds left cannot bring back.

    Only there is planning again of use: what the band can mend moves no log.
    """
    layout = stack.layout
    last: dict[tuple[str, int], PiledTop] = {}
    for top in stack.tops:
        if top.is_measured and 0 < top.round < layout.round_count:
            last[top.wall, top.column] = top
    names = {spot: end for (_, end), spot in columns_by_name(layout).items()}
    return [
        f"Wall {top.wall} stands {units.across(abs(off))} {'above' if off > 0 else 'below'} its plan at its "
        f"{names[spot]} after round {top.round}, more than the gaps of the rounds left bring back."
        for spot, top in sorted(last.items())
        if (off := top.stands_off_mm) is not None
        and is_beyond_band(off, gap=layout.gap, rounds_left=layout.round_count - top.round)
    ]


def _courses_fallen_otherwise(cabin: Cabin, standing: Standing, coming: Rows, stack: Stack) -> list[str]:
    """Openings whose courses would be cut otherwise by the heights that stand now; logs that are set stay."""
    layout = stack.layout
    if not layout.openings:
        return []
    rows = [*standing.pieces, *coming]
    now = cut_courses(
        stack,
        spaces_mm=spaces_of(cabin.crew, layout),
        present=layout.courses,
        set_courses=set_courses_of(standing),
        diameter_at=diameter_along(rows),
    )
    return [
        f"By the heights that stand, openings cut round {number} of wall {wall} otherwise than planned."
        for (wall, number), spans in now.items()
        if spans != layout.courses[wall, number]
    ]


def tell_of_stale_plans(*, at: datetime, changed_within: timedelta | None = LATELY) -> int:
    """Tell each crew once of each cabin whose current plan no longer fits; how many were told.

    Looks at crews in which something was changed lately: nothing else can make a plan stale, and what it
    costs grows with what is done, not with how many crews there are. `changed_within` None: at all crews.
    """
    plans = CurrentPlan.objects.select_related("plan", "cabin__crew").defer("plan__problem", "plan__report")
    if changed_within is not None:
        changed = Change.objects.filter(at__gt=at - changed_within).values("crew").distinct()
        plans = plans.filter(cabin__crew__in=changed)
    return sum(_tell_if_stale(current, at=at) for current in plans.order_by("id").iterator())


def _tell_if_stale(current: CurrentPlan, *, at: datetime) -> bool:
    because, crew = stale_because(current), current.cabin.crew
    data = {"plan": str(current.plan_id), "cabin": str(current.cabin_id)}
    if not because:
        return False
    if Event.objects.filter(crew=crew, kind=EventKind.PLAN_STALE, data__contains=data).exists():
        return False
    emit_event(crew, EventKind.PLAN_STALE, {**data, "because": because}, at)
    return True
