"""What planning's lists can be filtered by."""

from typing import Any
from uuid import UUID

import django_filters as filters
from django.db.models import QuerySet

from planning.jobs.models import JobState, PlanningJob
from planning.plans.models import Plan, PlannedPiece, PlanState
from planning.reservations.models import Reservation


class JobFilters(filters.FilterSet):
    state = filters.ChoiceFilter(choices=JobState.choices, label="Only jobs in this state.")

    class Meta:
        model = PlanningJob
        fields: list[str] = []


class PlanFilters(filters.FilterSet):
    state = filters.ChoiceFilter(choices=PlanState.choices, label="Only plans in this state.")
    job = filters.UUIDFilter(field_name="job", label="The plan of this job.")
    cabin = filters.UUIDFilter(method="for_cabin", label="Only plans made for this cabin too.")

    def for_cabin(self, plans: QuerySet[Plan, Any], name: str, cabin: UUID) -> QuerySet[Plan, Any]:
        return plans.filter(made_from__cabins__has_key=str(cabin))


class PieceFilters(filters.FilterSet):
    cabin = filters.UUIDFilter(field_name="cabin", label="Only pieces for this cabin.")
    wall = filters.CharFilter(field_name="wall", label="Only pieces of this wall.")
    round = filters.NumberFilter(field_name="round", label="Only pieces of this round.")
    member = filters.CharFilter(field_name="member", label="Only the piece for this member.")
    for_members = filters.BooleanFilter(
        field_name="member", lookup_expr="isnull", exclude=True, label="Pieces for members, or for walls."
    )
    log = filters.UUIDFilter(field_name="log", label="Only pieces cut from this log.")

    class Meta:
        model = PlannedPiece
        fields: list[str] = []


class ReservationFilters(filters.FilterSet):
    cabin = filters.UUIDFilter(field_name="cabin", label="Only logs reserved for this cabin.")
    log = filters.UUIDFilter(field_name="log", label="Only reservations of this log.")
    open = filters.BooleanFilter(
        field_name="ended_at",
        lookup_expr="isnull",
        label="Reservations that hold (true) or have ended (false).",
    )

    class Meta:
        model = Reservation
        fields: list[str] = []
