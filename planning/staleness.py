"""Whether the plan a cabin is built by still fits: what changed under it, told once."""

from datetime import datetime

from django.db.models import F

from cabins.models import SetLog
from cabins.queries import members_given_in
from crews.events import tell
from crews.models_webhooks import Event, EventKind
from inventory.models import Log, LogState
from planning.models import CurrentPlan, PlannedPiece


def stale_because(current: CurrentPlan) -> list[str]:
    """What the cabin's current plan was made from and is no longer so; empty while it fits."""
    cabin, plan = current.cabin, current.plan
    said = []
    if plan.made_from["cabins"][str(cabin.id)]["layout_version"] != cabin.layout_version:
        said.append("The layout was changed.")
    promised = Log.objects.filter(promises__plan=plan, promises__cabin=cabin, promises__ended_at=None)
    said += [
        f"Log {number} was measured again."
        for id, number, version in promised.order_by("number").values_list("id", "number", "measures_version")
        if plan.made_from["logs"].get(str(id)) != version
    ]
    otherwise = (
        SetLog.objects.filter(cabin=cabin, undone_at=None, place__planned__plan=plan)
        .exclude(log=F("place__planned__log"))
        .order_by("round", "wall", "piece")
        .values_list("log__number", "wall", "round")
    )
    said += [f"Log {number} lies in round {r} of wall {w} instead of another." for number, w, r in otherwise]
    kept_for = dict(
        PlannedPiece.objects.filter(plan=plan, cabin=cabin, place=None).values_list("member", "log")
    )
    said += [
        f"{row.member} was made from log {row.log.number} instead of another."
        for row in members_given_in([cabin]).select_related("log")
        if kept_for.get(row.member, row.log_id) != row.log_id
    ]
    gone = PlannedPiece.objects.filter(plan=plan, cabin=cabin, log__state=LogState.GONE)
    numbers = gone.order_by("log__number").values_list("log__number", flat=True).distinct()
    said += [f"Log {number} is gone." for number in numbers]
    return said


def tell_of_stale_plans(*, at: datetime) -> int:
    """Tell each crew once of each cabin whose current plan no longer fits; how many were told."""
    told = 0
    for current in CurrentPlan.objects.select_related("plan", "cabin__crew").order_by("id"):
        because = stale_because(current)
        data = {"plan": str(current.plan_id), "cabin": str(current.cabin_id)}
        known = Event.objects.filter(crew=current.cabin.crew, kind=EventKind.PLAN_STALE, data__contains=data)
        if because and not known.exists():
            tell(current.cabin.crew, EventKind.PLAN_STALE, {**data, "because": because}, at)
            told += 1
    return told
