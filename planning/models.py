"""What goes where: planning jobs, plans, and the promises a lead made by adopting one."""

from django.db import models
from django.db.models import Q, Value

from cabins.models import MEMBER_KINDS, Cabin, End
from crews.models import CrewOwned, Member
from crews.triggers import AuditTrigger
from inventory.models import Log, MillimetreField

USUAL_PRESET = "usual"


class JobState(models.TextChoices):
    """How far a planning job is."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"


ENDED = [JobState.DONE, JobState.FAILED, JobState.CANCELLED]


class PlanningJob(CrewOwned):
    """One search for a plan: what was asked, how far it is, the best so far."""

    cabins = models.JSONField()
    yards = models.JSONField()
    excluded = models.JSONField(default=list)
    pinned = models.JSONField(default=list)
    # What is planned anew, [{"cabin", "walls", "rounds"}]; empty: everything. The rest stands as it is.
    scope = models.JSONField(default=list, db_default=Value([], models.JSONField()))
    preset = models.CharField(max_length=20, default=USUAL_PRESET)
    weights = models.JSONField(default=dict)
    trade_offs = models.BooleanField(default=False)
    # Spare rounds that the plan is to leave logs over for; jobs of before asked for none.
    spare_rounds = models.PositiveIntegerField(db_default=0)
    seconds = models.PositiveIntegerField()
    seed = models.BigIntegerField()
    asked_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=10, choices=JobState, default=JobState.WAITING)
    cancel_asked = models.BooleanField(default=False)
    reason = models.TextField(blank=True)
    fraction = models.FloatField(default=0)
    moves = models.BigIntegerField(default=0)
    objective = models.FloatField(null=True)
    feasible = models.BooleanField(null=True)
    started_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    # So many independent searches; the best plan of them is the job's.
    starts = models.PositiveSmallIntegerField(db_default=1)
    # The problem when the job was taken up (wall-problem/1), what it was made from, the plan at the end.
    problem = models.JSONField(null=True)
    made_from = models.JSONField(null=True)
    best = models.JSONField(null=True)

    class Meta:
        indexes = [
            models.Index(fields=["crew", "created_at", "id"], name="job_by_age"),
            # The few that are not ended, for the workers.
            models.Index(fields=["crew", "created_at"], condition=~Q(state__in=ENDED), name="job_not_ended"),
        ]


class PlanningStart(models.Model):
    """One of a job's independent searches, with a seed of its own; the job's end takes them all away."""

    job = models.ForeignKey(PlanningJob, on_delete=models.CASCADE, related_name="searches", db_index=False)
    number = models.PositiveSmallIntegerField()
    # Which run of it may write: a worker thought dead that comes back finds another run here.
    run = models.UUIDField(null=True)
    fraction = models.FloatField(default=0)
    moves = models.BigIntegerField(default=0)
    objective = models.FloatField(null=True)
    feasible = models.BooleanField(null=True)
    # The best so far, how it cuts courses that are cut by heights, and at the end the judge's report.
    best = models.JSONField(null=True)
    courses = models.JSONField(null=True)
    report = models.JSONField(null=True)
    reason = models.TextField(blank=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "number"], name="start_of_job_once")]


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


class PromiseEnd(models.TextChoices):
    """How a promise ended."""

    KEPT = "kept"
    REPLACED = "replaced"
    RELEASED = "released"
    # It was set in another cabin's wall all the same.
    TAKEN = "taken"
    # It was written off.
    LOG_GONE = "log_gone"


class Promise(CrewOwned):
    """A log promised to a cabin by an adopted plan. One log, one promise at a time."""

    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="promises")
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, related_name="promises", db_index=False)
    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="promises")
    ended_at = models.DateTimeField(null=True)
    ended_because = models.CharField(max_length=10, choices=PromiseEnd, blank=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="promise"),
            models.UniqueConstraint(fields=["log"], condition=Q(ended_at=None), name="log_promised_once"),
        ]
        indexes = [models.Index(fields=["cabin", "ended_at"], name="promise_by_cabin")]
