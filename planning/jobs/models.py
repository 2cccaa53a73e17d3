"""Planning jobs and their independent starts."""

from django.db import models
from django.db.models import Q, Value

from crews.accounts.models import CrewOwned, Member

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
