"""Reads of plans."""

from typing import Any
from uuid import UUID

from django.db.models import Exists, F, OuterRef, QuerySet
from django.db.models.functions import Coalesce

from cabins.roof_members.models import RoofMember
from cabins.set_logs.models import SetLog
from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.api.fast_rows import compiled_query
from crews.api.problems import NotFound
from planning.plans.models import Plan, PlannedPiece

_PLAN = [
    "id", "job", "state", "objective", "feasible", "complete", "adopted_at", "adopted_by", "version",
    "created_at", "changed_at",
]  # fmt: skip


def plans_of(crew: Crew) -> QuerySet[Plan, Any]:
    return Plan.objects.of(crew).values(*_PLAN)


def plan_row(crew: Crew, id: UUID) -> dict[str, Any]:
    """One plan with what the judge said of it."""
    said = {"trim_mm": F("problem__params__trim_each_end")}
    row = row_or_not_found(Plan.objects.of(crew).values(*_PLAN, "report", "made_from", **said), id)
    report, made_from, trim_mm = row.pop("report"), row.pop("made_from"), row.pop("trim_mm")
    return row | {
        "cabins": list(made_from["cabins"]),
        "searched": report.get("searched", True),  # plans of before do not say, and were
        "terms": report["terms"],
        "metrics": report["metrics"],
        "shortages": _as_logs(report["shortages"], trim_mm=trim_mm),
        "spare": _as_logs(report.get("spare", []), trim_mm=trim_mm),  # plans of before counted none
        "sure": report["sure"],
        "trade_offs": report["trade_offs"],
    }


def _as_logs(pieces: list[dict[str, Any]], *, trim_mm: float) -> list[dict[str, Any]]:
    """The judge tells what pieces logs are to give; a log for one is longer by the trim at both ends."""
    return [{**piece, "length_mm": piece["length_mm"] + 2 * trim_mm} for piece in pieces]


@compiled_query(PlannedPiece)
def pieces_listed(crew: UUID, plan: UUID) -> QuerySet[PlannedPiece, Any]:
    """Where every piece of a plan goes and which log it is cut from; a member's has no wall, round, piece."""
    return PlannedPiece.objects.filter(plan__crew=crew, plan=plan).values(
        "id", "cabin", "member", "member_kind", "log", "from_butt_mm", "butt_at",
        "wall", "round", "piece",
        length_mm=Coalesce("member_length_mm", F("end_mm") - F("start_mm")),
        log_number=F("log__number"), yard_name=F("log__yard__name"), rack_name=F("log__rack__name"),
    )  # fmt: skip


def still_to_come(pieces: QuerySet[PlannedPiece]) -> QuerySet[PlannedPiece]:
    """Those of the pieces whose place no log fills yet, and whose member is not made yet."""
    place = {name: OuterRef(name) for name in ("cabin", "wall", "round", "piece")}
    filled = SetLog.objects.filter(**place, undone_at=None)
    given = RoofMember.objects.filter(cabin=OuterRef("cabin"), member=OuterRef("member"), undone_at=None)
    return pieces.filter(~Exists(filled), ~Exists(given))


def plan_file(crew: Crew, id: UUID) -> dict[str, Any]:
    """The plan as the planner wrote it, `wall-plan/1`."""
    found = Plan.objects.of(crew).filter(id=id).values_list("job__best", flat=True).first()
    if found is None:
        raise NotFound
    return found
