"""The plans that cabins are built by, as the next search takes them: pieces to keep, and tops planned."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import F

from cabins.cabins.models import Cabin
from planning.core.problem import KeptPiece, PlanPiece
from planning.jobs.results import of_whole_log, parts_in
from planning.plans.models import CurrentPlan, PlannedPiece
from planning.plans.queries import still_to_come

# A stored cut is rounded; the plan as the planner made it has it whole, and a cut that fits to the last hair.
_ROUNDED_MM = 1e-4


def planned_tops_of(cabin: Cabin) -> Mapping[str, Sequence[Sequence[float]]]:
    """The tops that the plan in force has, {wall: [[start, end, tees] per round from 0]}.

    Empty without a plan, and where the layout was changed since it was made.
    """
    row = (
        CurrentPlan.objects.filter(cabin=cabin)
        .values("tops_mm", made_from=F("plan__made_from__cabins"))
        .first()
    )
    if row is None or row["made_from"][str(cabin.id)]["layout_version"] != cabin.layout_version:
        return {}
    tops: Mapping[str, Sequence[Sequence[float]]] = row["tops_mm"]
    return tops


def kept_pieces(cabins: Sequence[Cabin]) -> list[KeptPiece]:
    """What is still to come of the plans these cabins are built by; a member is due after the last round."""
    found: list[KeptPiece] = []
    for cabin in cabins:
        current = (
            CurrentPlan.objects.filter(cabin=cabin)
            .values("plan", "plan__job__best", "plan__problem__logs")
            .first()
        )
        if current is None:
            continue
        best: dict[str, Any] = current["plan__job__best"] or {"pieces": []}
        parts = parts_in(current["plan__problem__logs"])
        whole = {_key(piece): _of_whole_log(parts, piece) for piece in best["pieces"]}
        rows = list(
            still_to_come(PlannedPiece.objects.filter(plan=current["plan"], cabin=cabin))
            .order_by("id")
            .values("log", "from_butt_mm", "butt_at", "member", *_PLACE)
        )
        rounds = [row["round"] for row in rows if row["member"] is None]
        first, last = min(rounds, default=0), max(rounds, default=0)
        for row in rows:
            piece = _piece(str(cabin.id), row)
            made = whole.get(_key(_place_of(piece)), {})
            if made.get("log") == piece.log and abs(made["from_butt"] - piece.from_butt_mm) < _ROUNDED_MM:
                piece = _piece(str(cabin.id), row | {"from_butt_mm": made["from_butt"]})
            round_no = last + 1 if row["member"] else row["round"]
            found.append(KeptPiece(piece=piece, due_rounds=round_no - first))
    return found


def _of_whole_log(parts: Mapping[str, tuple[str, float]], piece: Mapping[str, Any]) -> dict[str, Any]:
    log, from_butt = of_whole_log(parts, piece["log"], piece["from_butt"])
    return {**piece, "log": log, "from_butt": from_butt}


_PLACE = ("wall", "round", "piece")


def _piece(cabin: str, row: Mapping[str, Any]) -> PlanPiece:
    where = (
        {"member": row["member"]}
        if row["member"]
        else {"wall": row["wall"], "round": row["round"], "piece": row["piece"]}
    )
    return PlanPiece(
        cabin=cabin,
        log=str(row["log"]),
        from_butt_mm=float(row["from_butt_mm"]),
        butt_at=row["butt_at"],
        **where,
    )


def _place_of(piece: PlanPiece) -> dict[str, Any]:
    if piece.member is not None:
        return {"cabin": piece.cabin, "member": piece.member}
    return {"cabin": piece.cabin, "wall": piece.wall, "round": piece.round, "piece": piece.piece}


def _key(piece: Mapping[str, Any]) -> tuple[Any, ...]:
    if "member" in piece:
        return piece["cabin"], piece["member"]
    return piece["cabin"], piece["wall"], piece["round"], piece["piece"]
