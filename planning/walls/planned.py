"""What the plan in force has for a cabin's places, and its own tops: planning's answer to cabins."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db.models import Exists, F, OuterRef, QuerySet

from cabins.cabins.models import Cabin
from cabins.core.course_files import read_courses
from cabins.core.layout_parts import Layout
from cabins.core.places import Spot, counted_columns
from cabins.walls.planned import PlannedWall
from cabins.walls.queries import layout_of
from inventory.logs.models import MEASURES
from inventory.logs.profiles import WOOD
from planning.plans.models import CurrentPlan, Plan, PlannedPiece
from planning.reservations.models import Reservation, ReservationEnd

# {wall: [[start, end, tees as problem files count them] for each round from 0]}, as the judge reports it.
ReportedTops = Mapping[str, Sequence[Sequence[float]]]

# A log may be lost to a plan: written off, or set in another cabin's wall all the same.
_TAKEN = Reservation.objects.filter(
    log=OuterRef("log"), plan=OuterRef("plan"), ended_because=ReservationEnd.TAKEN
)
OF_LOG: dict[str, Any] = {
    "log_number": F("log__number"),
    "log_state": F("log__state"),
    "is_taken": Exists(_TAKEN),
    "seasoning": F("log__seasoning"),
    "instructions": F("log__instructions"),
    "yard_name": F("log__yard__name"),
    "rack_name": F("log__rack__name"),
    **{name: F(f"log__{name}") for name in MEASURES},
    **{f"species_{name}": F(f"log__species__{name}") for name in WOOD},
}


def planned_walls(cabins: Sequence[Cabin]) -> dict[UUID, PlannedWall]:
    """What the plan in force has for each cabin; none where the layout was changed since. Two queries."""
    currents = {
        row["cabin"]: row
        for row in CurrentPlan.objects.filter(cabin__in=cabins).values(
            "cabin", "plan", "tops_mm", made_from=F("plan__made_from__cabins")
        )
    }
    holding = [
        cabin
        for cabin in cabins
        if cabin.id in currents
        and currents[cabin.id]["made_from"][str(cabin.id)]["layout_version"] == cabin.layout_version
    ]
    pieces: dict[UUID, list[dict[str, Any]]] = {cabin.id: [] for cabin in holding}
    if holding:
        for row in _rows(PlannedPiece.objects.filter(plan=F("cabin__current_plan__plan"), cabin__in=holding)):
            pieces[row["cabin"]].append(row)
    return {
        cabin.id: PlannedWall(
            pieces=pieces[cabin.id], tops_mm=tops_by_spot(layout_of(cabin), currents[cabin.id]["tops_mm"])
        )
        for cabin in holding
    }


def wall_of_plan(plan: Plan, cabin: Cabin) -> PlannedWall:
    """What one plan has for a cabin, whether it is built by it or not; one query."""
    return PlannedWall(
        pieces=list(_rows(PlannedPiece.objects.filter(plan=plan, cabin=cabin))),
        tops_mm=tops_by_spot(layout_of(cabin), reported_tops(plan, cabin)),
        courses=read_courses(plan.courses.get(str(cabin.id))),
    )


def _rows(pieces: QuerySet[PlannedPiece]) -> QuerySet[PlannedPiece, Any]:
    in_places: QuerySet[PlannedPiece] = pieces.filter(wall__isnull=False)
    rows: QuerySet[PlannedPiece, Any] = in_places.order_by("round", "wall", "piece").values(
        "cabin", "log", "from_butt_mm", "butt_at", "wall", "round", "piece", "start_mm", "end_mm", **OF_LOG
    )
    return rows


def reported_tops(plan: Plan, cabin: Cabin) -> ReportedTops:
    """The plan's own tops of a cabin as its report has them: without what steering adds, where it says so."""
    report: Mapping[str, Mapping[str, ReportedTops]] = plan.report
    return report.get("planned", report["heights"]).get(str(cabin.id), {})


def tops_by_spot(layout: Layout, reported: ReportedTops) -> dict[Spot, float]:
    """The tops by wall, round and column."""
    columns = counted_columns(layout)
    tops: dict[Spot, float] = {}
    for wall, rounds in reported.items():
        for number, found in enumerate(rounds):
            for column, top in zip(columns[wall], found, strict=True):
                tops[wall, number, column.column] = top
    return tops
