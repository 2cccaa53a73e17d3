"""What two plans side by side look like from outside."""

from rest_framework import serializers

from config.api.reading import QueryIn, RowOut
from planning.models import PlanState


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
