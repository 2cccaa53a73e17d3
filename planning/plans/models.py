"""Plans, their pieces, and which plan a cabin is built by."""

from django.db import models
from django.db.models import Q

from cabins.cabins.models import Cabin
from cabins.roof_members.models import MEMBER_KINDS
from cabins.set_logs.models import End
from crews.accounts.models import CrewOwned, Member
from crews.history.triggers import AuditTrigger
from inventory.logs.models import Log, MillimetreField
from planning.jobs.models import PlanningJob


class PlanState(models.TextChoices):
    """What became of a plan."""

    PROPOSED = "proposed"
    ADOPTED = "adopted"
    REPLACED = "replaced"


class Plan(CrewOwned):
    """A plan as the planner made and judged it."""

    job = models.OneToOneField(PlanningJob, on_delete=models.PROTECT, related_name="plan")
    state = models.CharField(max_length=10, choices=PlanState, default=PlanState.PROPOSED)
    problem = models.JSONField()
    # {"cabins": {id: {"layout_version", "built_version"}}, "logs": {id: measures_version}}
    made_from = models.JSONField()
    report = models.JSONField()
    # How it cuts each cabin: {cabin: {wall: {round: [[start, end], ...]}}} in mm along the walls.
    courses = models.JSONField(default=dict)
    objective = models.FloatField()
    feasible = models.BooleanField()
    complete = models.BooleanField()
    adopted_at = models.DateTimeField(null=True)
    adopted_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [AuditTrigger(kind="plan", leaving_out=["problem", "report", "made_from", "courses"])]
        indexes = [models.Index(fields=["crew", "created_at", "id"], name="plan_by_age")]


class PlannedPiece(models.Model):
    """Which part of which log goes into which place, and which way round; or to which member."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="pieces", db_index=False)
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, related_name="+")
    # Where it goes, as this plan cuts the courses; the cabin's own places follow when the plan is adopted.
    wall = models.CharField(max_length=40, null=True)  # noqa: DJ001 - a member's piece has none
    round = models.PositiveIntegerField(null=True)
    piece = models.PositiveIntegerField(null=True)
    start_mm = MillimetreField(null=True)
    end_mm = MillimetreField(null=True)
    # A member beyond the walls has no place: its name, kind and length are those of the layout planned from.
    member = models.CharField(max_length=50, null=True)  # noqa: DJ001 - a place's piece has none
    member_kind = models.CharField(max_length=20, choices=MEMBER_KINDS, null=True)  # noqa: DJ001 - as above
    member_length_mm = MillimetreField(null=True)
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="+")
    from_butt_mm = MillimetreField()
    butt_at = models.CharField(max_length=5, choices=End)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "cabin", "round", "wall", "piece"], name="planned_once_in_place"
            ),
            models.UniqueConstraint(fields=["plan", "cabin", "member"], name="planned_once_for_member"),
            models.CheckConstraint(
                condition=Q(
                    wall__isnull=False,
                    round__isnull=False,
                    piece__isnull=False,
                    start_mm__isnull=False,
                    end_mm__isnull=False,
                    member__isnull=True,
                    member_kind__isnull=True,
                    member_length_mm__isnull=True,
                )
                | Q(
                    wall__isnull=True,
                    round__isnull=True,
                    piece__isnull=True,
                    start_mm__isnull=True,
                    end_mm__isnull=True,
                    member__isnull=False,
                    member_kind__isnull=False,
                    member_length_mm__isnull=False,
                ),
                name="planned_for_place_or_member",
            ),
        ]


class CurrentPlan(models.Model):
    """The plan that a cabin is built by: the one adopted last."""

    cabin = models.OneToOneField(Cabin, on_delete=models.CASCADE, related_name="current_plan")
    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="current_for")
    # The plan's own tops of this cabin, {wall: [[start, end, tees] for each round from 0]}: what the crew
    # builds to, beside the report so that no sheet has to read all of that.
    tops_mm = models.JSONField(default=dict)
