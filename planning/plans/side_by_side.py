"""Two plans side by side: what a lead weighs before adopting one of them."""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from django.db.models.functions import Coalesce

from cabins.cabins.models import Cabin
from crews.accounts.models import Crew
from crews.accounts.versioned_rows import one_of
from planning.core.changes import places_changed
from planning.core.check import judge
from planning.core.problem import WallPlan as CorePlan
from planning.core.problem import WallProblem
from planning.core.weights import USUAL
from planning.core.what_if import place_lengths_mm
from planning.plans.in_force import kept_pieces
from planning.plans.lifting import AS_PLANNED, PlanLifts
from planning.plans.models import CurrentPlan, Plan, PlannedPiece
from planning.sheets.queries import LIFTING
from planning.walls.planned import OF_LOG
from planning.why.queries import stored_plan

Told = dict[str, Any]
_METRICS = {
    "plate_out_of_level_mm": "max_plate_out_of_level",
    "out_of_level_mm": "max_level_any",
    "plate_spread_mm": "plate_spread_max",
    "mean_corner_mm": "mean_corner_mismatch",
    "worst_corner_mm": "max_corner_mismatch",
    "waste_mm": "waste_mm",
    "waste_pct": "waste_pct",
    "notches_off": "notch_off",
    "notches_beyond": "notch_beyond",
    "short_places": "short_places",
}


def side_by_side(crew: Crew, one: UUID, other: UUID) -> Told:
    """What SideBySideOut describes. Raises NotFound."""
    plans = [one_of(Plan, crew=crew, id=id) for id in (one, other)]
    return {"plans": [_figures(plan) for plan in plans], "cautions": [LIFTING]}


def _figures(plan: Plan) -> Told:
    problem, core_plan = stored_plan(plan.crew, plan.id)
    report = judge(problem, core_plan, weights=USUAL)
    cabins = list(Cabin.objects.filter(id__in=list(plan.made_from["cabins"])).order_by("id"))
    return {
        "plan": plan.id,
        "state": plan.state,
        "created_at": plan.created_at,
        "cabins": [cabin.id for cabin in cabins],
        "usual_objective": report.objective,
        "feasible": plan.feasible,
        "complete": plan.complete,
        **{name: report.metrics[of] for name, of in _METRICS.items()},
        "expected_plate_error_mm": _expected(plan),
        **_logs(problem, core_plan),
        **_changes(cabins, problem, core_plan),
        "lifts": _lifts(plan),
    }


def _expected(plan: Plan) -> float | None:
    """Worst wall at the plate as crews build it, steered where it can be: of the worst cabin."""
    by_cabin: dict[str, float] = {}
    for row in sorted(plan.report["sure"], key=lambda row: row["steered"]):
        by_cabin[row["cabin"]] = row["mean_mm"]  # the steered row last
    return max(by_cabin.values(), default=None)


def _logs(problem: WallProblem, plan: CorePlan) -> Told:
    """Logs used and left over. Long: as long as the longest place of these cabins wants."""
    used = {piece.log for piece in plan.pieces}
    of_parts = {log.id: log.part_of or log.id for log in problem.logs}
    trims = 2.0 * problem.params.trim_each_end_mm
    left = [log for log in problem.logs if log.id not in used and log.id not in problem.excluded]
    longest = max(place_lengths_mm(problem).values(), default=0.0)
    return {
        "logs_used": len({of_parts[log] for log in used}),
        "logs_left": len(left),
        "long_logs_left": sum(log.length_mm - trims >= longest for log in left),
        "longest_left_mm": max((log.length_mm for log in left), default=None),
    }


def _changes(cabins: list[Cabin], problem: WallProblem, plan: CorePlan) -> Told:
    """How far the plan is from those that its cabins are built by; None where they have none."""
    if not CurrentPlan.objects.filter(cabin__in=cabins).exists():
        return {"changed_places": None}
    in_force = [kept.piece for kept in kept_pieces(cabins)]
    return {"changed_places": places_changed(problem, in_force, plan)}


def _lifts(plan: Plan) -> list[Told]:
    """The heaviest lift of each round, on the top of its range; members as round null, last."""
    lifts, heaviest = PlanLifts(plan, AS_PLANNED), dict[tuple[UUID, int | None], Mapping[str, Any]]()
    unknown: dict[tuple[UUID, int | None], int] = defaultdict(int)
    rows: QuerySet[PlannedPiece, Any] = PlannedPiece.objects.filter(plan=plan).values(
        "cabin", "round", "log", "from_butt_mm", **OF_LOG,
        piece_mm=Coalesce("member_length_mm", F("end_mm") - F("start_mm")),
    )  # fmt: skip
    for row in rows:
        key = (row["cabin"], row["round"])
        near = float(row["from_butt_mm"])
        kg = lifts.between(near, near + float(row["piece_mm"]), row).weight_high_kg
        if kg is None:
            unknown[key] += 1
        best = heaviest.get(key)
        if best is None or (kg or 0.0) > (best["weight_high_kg"] or 0.0):
            heaviest[key] = {"weight_high_kg": kg, "log": row["log"], "log_number": row["log_number"]}
    return [
        {"cabin": cabin, "round": number, "unknown": unknown[cabin, number], **heaviest[cabin, number]}
        for cabin, number in sorted(heaviest, key=lambda key: (str(key[0]), key[1] is None, key[1] or 0))
    ]
