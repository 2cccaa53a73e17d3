"""What planning jobs look like from outside."""

from django.conf import settings
from rest_framework import serializers

from cabins.set_logs.models import End
from crews.api.bounds import BoundedMap, list_of
from crews.api.reading import BodyIn, RowOut
from planning.core.problem import WEIGHT_NAMES
from planning.core.takeoff.take_off import Choices
from planning.jobs.models import USUAL_PRESET, JobState
from planning.jobs.presets import PRESET_NAMES

_SEED_MOST = 2**31 - 1


class PinnedIn(BodyIn):
    """A log that must lie in one place, whatever else the planner does."""

    cabin = serializers.UUIDField()
    wall = serializers.CharField(max_length=40, allow_null=True, default=None)
    round = serializers.IntegerField(min_value=0, max_value=61, allow_null=True, default=None)
    piece = serializers.IntegerField(min_value=0, max_value=60, allow_null=True, default=None)
    member = serializers.CharField(
        max_length=50, allow_null=True, default=None, help_text="By name, as `ridge`, in place of a wall."
    )
    log = serializers.UUIDField()
    from_butt_mm = serializers.FloatField(min_value=0, max_value=50_000, default=25)
    butt_at = serializers.ChoiceField(End.choices, default=End.START)


class ScopeIn(BodyIn):
    """What of a cabin is planned anew."""

    cabin = serializers.UUIDField()
    walls = serializers.ListField(
        child=serializers.CharField(max_length=40), default=list, max_length=100, help_text="Empty: all."
    )
    rounds = serializers.ListField(
        child=serializers.IntegerField(min_value=0, max_value=61), default=list, max_length=100,
        help_text="Empty: all. Members stand where walls or rounds are named.",
    )  # fmt: skip


class PlanningJobIn(BodyIn):
    id = serializers.UUIDField(help_text="Made by the client, so that asking twice gives one job.")
    cabins = serializers.ListField(child=serializers.UUIDField(), min_length=1, max_length=50)
    yards = serializers.ListField(child=serializers.UUIDField(), min_length=1, max_length=50)
    excluded = serializers.ListField(child=serializers.UUIDField(), default=list, max_length=5000)
    pinned = list_of(PinnedIn(), most=2000, default=list)
    scope = list_of(
        ScopeIn(), most=50, default=list,
        help_text="What is planned anew; the rest stands as the plan in force has it. Empty: all of it.",
    )  # fmt: skip
    preset = serializers.ChoiceField(
        PRESET_NAMES, default=USUAL_PRESET, help_text="A named set of weights: see `/planning-presets`."
    )
    weights = BoundedMap(
        most=len(WEIGHT_NAMES),
        child=serializers.FloatField(min_value=0, max_value=1e6),
        default=dict,
        help_text=f"What differs from the preset: {', '.join(WEIGHT_NAMES)}.",
    )
    trade_offs = serializers.BooleanField(
        default=False, help_text="Give half of the time to a table of what other presets would give."
    )
    spare_rounds = serializers.IntegerField(
        min_value=0,
        max_value=10,
        default=Choices().spare_rounds,
        help_text="As many as the take-off counted: in each a whole log for every wall is to be left over. "
        "Where the yards cannot give them, the plan stands all the same and says how many are left.",
    )
    seconds = serializers.IntegerField(min_value=1, max_value=settings.PLANNING_SECONDS_MOST, default=20)
    seed = serializers.IntegerField(min_value=0, max_value=_SEED_MOST, default=1)
    starts = serializers.IntegerField(
        min_value=1,
        max_value=8,
        default=1,
        help_text="So many independent searches, each with `seconds` of its own and the next seed, by as "
        "many workers as are free; the best plan is kept.",
    )


class PinnedOut(RowOut):
    cabin = serializers.UUIDField()
    wall = serializers.CharField(allow_null=True, help_text="Null, like round and piece: a member.")
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField(allow_null=True)
    log = serializers.UUIDField()
    from_butt_mm = serializers.FloatField()
    butt_at = serializers.ChoiceField(End.choices)


class ScopeOut(RowOut):
    cabin = serializers.UUIDField()
    walls = serializers.ListField(child=serializers.CharField())
    rounds = serializers.ListField(child=serializers.IntegerField())


class PlanningJobOut(RowOut):
    id = serializers.UUIDField()
    cabins = serializers.ListField(child=serializers.UUIDField())
    yards = serializers.ListField(child=serializers.UUIDField())
    excluded = serializers.ListField(child=serializers.UUIDField())
    pinned = PinnedOut(many=True)
    scope = ScopeOut(many=True, help_text="What is planned anew; empty: everything.")
    preset = serializers.ChoiceField(PRESET_NAMES)
    weights = serializers.DictField(child=serializers.FloatField())
    trade_offs = serializers.BooleanField()
    spare_rounds = serializers.IntegerField()
    seconds = serializers.IntegerField()
    seed = serializers.IntegerField()
    starts = serializers.IntegerField()
    asked_by = serializers.UUIDField()
    state = serializers.ChoiceField(JobState.choices)
    cancel_asked = serializers.BooleanField()
    reason = serializers.CharField(allow_blank=True, help_text="Why it failed or was cancelled.")
    fraction = serializers.FloatField(
        help_text="How much of its time is over, 0 to 1: the mean of its starts."
    )
    moves = serializers.IntegerField(help_text="Of all starts.")
    objective = serializers.FloatField(allow_null=True, help_text="Of the best plan so far; lower is better.")
    feasible = serializers.BooleanField(
        allow_null=True, help_text="Whether the best so far keeps every rule."
    )
    started_at = serializers.DateTimeField(allow_null=True)
    ended_at = serializers.DateTimeField(allow_null=True)
    plan_id = serializers.UUIDField(allow_null=True, help_text="The plan, once there is one.")
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class PlanningJobPage(RowOut):
    items = PlanningJobOut(many=True)
    next = serializers.CharField(allow_null=True)


class TradeOffOut(RowOut):
    preset = serializers.ChoiceField(PRESET_NAMES)
    usual_objective = serializers.FloatField(help_text="Judged with the usual weights, so that rows compare.")
    feasible = serializers.BooleanField()
    worst_plate_mm = serializers.FloatField()
    mean_level_mm = serializers.FloatField()
    mean_corner_mm = serializers.FloatField()
    waste_pct = serializers.FloatField()
    logs_used = serializers.IntegerField()
    notches_off = serializers.IntegerField()


class PresetOut(RowOut):
    name = serializers.ChoiceField(PRESET_NAMES)
    meaning = serializers.CharField()
    weights = serializers.DictField(child=serializers.FloatField())


class PresetsOut(RowOut):
    presets = PresetOut(many=True)
    meaning = serializers.DictField(child=serializers.CharField(), help_text="What each weight charges.")
