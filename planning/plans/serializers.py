"""What plans, their changes and two of them side by side look like from outside."""

from rest_framework import serializers

from cabins.roof_members.models import MEMBER_KINDS
from cabins.set_logs.models import End
from crews.api.reading import BodyIn, QueryIn, RowOut
from crews.history.sync import SyncedPage
from planning.jobs.serializers import TradeOffOut
from planning.plans.models import PlanState


class PlanOut(RowOut):
    id = serializers.UUIDField()
    job = serializers.UUIDField()
    state = serializers.ChoiceField(PlanState.choices)
    objective = serializers.FloatField()
    feasible = serializers.BooleanField()
    complete = serializers.BooleanField()
    adopted_at = serializers.DateTimeField(allow_null=True)
    adopted_by = serializers.UUIDField(allow_null=True)
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class PlanPage(SyncedPage):
    items = PlanOut(many=True)
    next = serializers.CharField(allow_null=True)


class ShortageOut(RowOut):
    length_mm = serializers.FloatField(help_text="Least length of a log that would do, trim included.")
    least_middle_mm = serializers.FloatField()
    count = serializers.IntegerField()


class SpareLeftOut(RowOut):
    length_mm = serializers.FloatField(help_text="Least length of a log that would do, trim included.")
    counted = serializers.IntegerField(help_text="As the take-off counts them.")
    left = serializers.IntegerField(help_text="Sound whole logs so long in no place, whatever their middle.")


class SureOut(RowOut):
    cabin = serializers.UUIDField()
    steered = serializers.BooleanField(
        help_text="Each log brought to its height within the layout's own gap band, the plate logs tried "
        "again. False: laid to the target gap. A layout without a band has that row only."
    )
    mean_mm = serializers.FloatField(help_text="Worst wall out of level at the plate, mean of the samples.")
    p90_mm = serializers.FloatField(help_text="The same, nine times in ten not exceeded.")
    steering_mean_mm = serializers.FloatField(help_text="Mean difference of the gap from its target.")
    ends_outside = serializers.FloatField(help_text="Share of ends that wanted more than the band allows.")
    walls_inside = serializers.FloatField(help_text="Share of walls of which no end did.")


class WholePlanOut(PlanOut):
    cabins = serializers.ListField(child=serializers.UUIDField())
    searched = serializers.BooleanField(
        help_text="False: hardly more than a first guess, for it was stopped before a whole short search."
    )
    terms = serializers.DictField(child=serializers.FloatField(), help_text="What each term adds.")
    metrics = serializers.DictField(child=serializers.FloatField(), help_text="In mm where it is a length.")
    shortages = ShortageOut(many=True, help_text="What to order for the places and members that stay empty.")
    spare = SpareLeftOut(many=True, help_text="Logs of the job's spare rounds, longest first.")
    sure = SureOut(many=True, help_text="Expected error at the plate from errors of measuring.")
    trade_offs = TradeOffOut(many=True, help_text="What other presets would give; only if asked for.")


class PlannedPieceOut(RowOut):
    id = serializers.IntegerField()
    cabin = serializers.UUIDField()
    wall = serializers.CharField(allow_null=True, help_text="Null, like round and piece: for a member.")
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField(allow_null=True, help_text="Null: for a place of a wall.")
    member_kind = serializers.ChoiceField(MEMBER_KINDS, allow_null=True)
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    yard_name = serializers.CharField()
    rack_name = serializers.CharField(allow_null=True)
    from_butt_mm = serializers.FloatField()
    butt_at = serializers.ChoiceField(End.choices)
    length_mm = serializers.FloatField()


class PlannedPiecePage(RowOut):
    items = PlannedPieceOut(many=True)
    next = serializers.CharField(allow_null=True)


class OtherPlanQuery(QueryIn):
    other = serializers.UUIDField(help_text="The plan to stand beside it.")


class HeaviestLiftOut(RowOut):
    cabin = serializers.UUIDField()
    round = serializers.IntegerField(allow_null=True, help_text="Null: members beyond the walls.")
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    weight_high_kg = serializers.FloatField(
        allow_null=True, help_text="The top of the range of the log as it hangs; null: no species is known."
    )
    unknown = serializers.IntegerField(help_text="Lifts of this round whose weight is not known.")


class PlanFiguresOut(RowOut):
    plan = serializers.UUIDField()
    state = serializers.ChoiceField(PlanState.choices)
    created_at = serializers.DateTimeField()
    cabins = serializers.ListField(child=serializers.UUIDField())
    usual_objective = serializers.FloatField(help_text="Judged with the usual weights, so that both compare.")
    feasible = serializers.BooleanField()
    complete = serializers.BooleanField()
    plate_out_of_level_mm = serializers.FloatField(help_text="The worst wall at the plate, on paper.")
    expected_plate_error_mm = serializers.FloatField(
        allow_null=True, help_text="The same as crews read and cut, steered by the notch."
    )
    out_of_level_mm = serializers.FloatField(help_text="The worst wall after any round.")
    plate_spread_mm = serializers.FloatField()
    mean_corner_mm = serializers.FloatField()
    worst_corner_mm = serializers.FloatField()
    waste_mm = serializers.FloatField()
    waste_pct = serializers.FloatField()
    notches_off = serializers.FloatField(help_text="Notches not of the best depth.")
    notches_beyond = serializers.FloatField(help_text="Notches beyond their limit.")
    short_places = serializers.FloatField()
    logs_used = serializers.IntegerField()
    logs_left = serializers.IntegerField(help_text="Whole logs, and parts of sawn ones, that no place takes.")
    long_logs_left = serializers.IntegerField(help_text="Those of them that would fill the longest place.")
    longest_left_mm = serializers.FloatField(allow_null=True)
    changed_places = serializers.IntegerField(
        allow_null=True, help_text="Places that the plan in force fills otherwise; null: none is in force."
    )
    lifts = HeaviestLiftOut(many=True, help_text="The heaviest of each round.")


class SideBySideOut(RowOut):
    plans = PlanFiguresOut(many=True, help_text="The plan asked for, then the other.")
    cautions = serializers.ListField(child=serializers.CharField())


class TakeChangesIn(BodyIn):
    id = serializers.UUIDField(
        help_text="Of the plan that comes of it, made by the client: asked twice, one plan."
    )
    against = serializers.ListField(
        child=serializers.UUIDField(), min_length=1, max_length=50,
        help_text="The plans that the changes were listed against.",
    )  # fmt: skip
    changes = serializers.ListField(
        child=serializers.IntegerField(min_value=0, max_value=1000),
        max_length=1000,
        help_text="Numbers of the changes to take; the forced ones are taken anyway.",
    )


class LiesOut(RowOut):
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    from_butt_mm = serializers.FloatField()
    butt_at = serializers.ChoiceField(End.choices)


class PlaceChangeOut(RowOut):
    cabin = serializers.UUIDField()
    wall = serializers.CharField(allow_null=True, help_text="Null, like round and piece: a member.")
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField(allow_null=True)
    before = LiesOut(allow_null=True, help_text="Null: nothing can lie there as the plan in force has it.")
    after = LiesOut(allow_null=True)


class GainOut(RowOut):
    term = serializers.CharField()
    points = serializers.FloatField(help_text="Of the objective: less is better.")
    words = serializers.CharField()


class PlanChangeOut(RowOut):
    number = serializers.IntegerField()
    is_forced = serializers.BooleanField(
        help_text="The plan in force cannot stand there: a log is gone, lies elsewhere or is sawn otherwise."
    )
    text = serializers.CharField()
    objective_change = serializers.FloatField(help_text="Made alone, after the forced ones; less is better.")
    gains = GainOut(many=True, help_text="By term, what it gains first; what it costs last.")
    places = PlaceChangeOut(many=True)


class PlanChangesOut(RowOut):
    plan = serializers.UUIDField()
    against = serializers.ListField(
        child=serializers.UUIDField(), help_text="The plans that its cabins are built by; empty: none yet."
    )
    unchanged = serializers.IntegerField(help_text="Places and members that stay as they are.")
    changes = PlanChangeOut(many=True, help_text="Forced ones first, then by what they gain.")
